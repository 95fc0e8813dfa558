"""What a camera does, against ITU-T T.81 (1992) through Pillow's JPEG, and OpenCV's blur."""

import io

import cv2
import numpy as np
import pytest
from PIL import Image

# torch comes with the extra "train" only: it is larger than all the rest together, and nothing
# outside reader/train uses it. Install that extra to run these.
torch = pytest.importorskip("torch")
torch.set_num_threads(1)  # waiting for each other costs small tensors more than it gains

from reader.train.render import camera as weather
from reader.train.render.shade import Dice, blur


class Loaded:
    """Dice that always fall on one number."""

    def __init__(self, number):
        self.number = number

    def between(self, low, high):
        return torch.full((1, 1, 1), float(self.number))

    def chance(self, share):
        return torch.ones(1, 1, 1)


@pytest.fixture
def picture():
    """Soft blotches with sharp letters on them, in whole grey levels."""
    rng = np.random.default_rng(1)
    soft = cv2.GaussianBlur(rng.normal(0, 1, (120, 200)).astype(np.float32), (0, 0), 6) * 300
    canvas = np.clip(soft + 120, 30, 220).astype(np.uint8)
    cv2.putText(canvas, "47-507", (10, 75), cv2.FONT_HERSHEY_SIMPLEX, 1.4, 235, 3)
    return canvas


def pillows(pixels, quality):
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "JPEG", quality=quality)
    return Image.open(stream)


def test_the_steps_are_those_of_annex_k():
    # quality 50 leaves the standard's luminance table (K.1) as it stands
    table = pillows(np.zeros((8, 8), np.uint8), 50).quantization[0]
    assert weather._STEPS.flatten().tolist() == [float(step) for step in table]


@pytest.mark.parametrize("quality", [35, 60, 75, 90])
def test_coding_leaves_what_a_jpeg_file_leaves(picture, quality):
    ours = weather.jpeg(torch.from_numpy(picture)[None].float() / 255, Loaded(quality), 1.0)
    ours = ours[0].numpy() * 255
    theirs = np.asarray(pillows(picture, quality)).astype(np.float32)
    lost = np.abs(theirs - picture).mean()
    assert np.abs(ours - theirs).mean() < 0.35 * lost + 0.3


def test_a_side_that_is_no_multiple_of_eight_stays_as_long(picture):
    odd = torch.from_numpy(picture[:61, :83].copy())[None].float() / 255
    assert weather.jpeg(odd, Loaded(80), 1.0).shape == odd.shape


@pytest.mark.parametrize("sigma", [0.6, 1.5, 3.5])
def test_blur_is_opencvs_gaussian(picture, sigma):
    ours = blur(torch.from_numpy(picture)[None].float(), sigma)[0].numpy()
    side = 2 * int(np.ceil(2.5 * sigma)) + 1
    theirs = cv2.GaussianBlur(
        picture.astype(np.float32), (side, side), sigma, borderType=cv2.BORDER_REPLICATE
    )
    assert np.abs(ours - theirs).max() < 0.01


def test_a_wide_blur_is_near_enough(picture):
    ours = blur(torch.from_numpy(picture)[None].float(), 12.0)[0].numpy()
    theirs = cv2.GaussianBlur(
        picture.astype(np.float32), (0, 0), 12, borderType=cv2.BORDER_REPLICATE
    )
    middle = np.s_[24:-24, 24:-24]
    assert np.abs(ours - theirs)[middle].max() < 4


@pytest.mark.parametrize("shrink", [1, 2])
def test_a_photograph_is_a_picture(shrink):
    radiance = torch.rand(3, 64, 96, generator=torch.Generator().manual_seed(2)) * 4
    seen = weather.photograph(radiance, Dice(5, 3, "cpu"), shrink)
    assert seen.shape == (3, 64 // shrink, 96 // shrink)
    assert ((seen >= 0) & (seen <= 1)).all()
