"""Rendered scenes and their truth, against the camera's inverse."""

import math

import numpy as np
import pytest

# torch comes with the extra "train" only: it is larger than all the rest together, and nothing
# outside reader/train uses it. Install that extra to run these.
torch = pytest.importorskip("torch")
torch.set_num_threads(1)  # waiting for each other costs small tensors more than it gains

from reader.train.render import geometry
from reader.train.render.noise import NoiseBank
from reader.train.render.scenes import render_scene, stack_sheets, truth_maps
from reader.train.render.shade import Dice
from reader.train.render.sheet import Look, draw_sheet
from reader.train.render.texts import draw_line

SIDE, CAP = 256, 20.0


def camera(tilt, radius):
    """A wheel (or flat band) whose sheet's middle is the picture's middle."""
    one = torch.ones(1)
    view = geometry.View(
        tilt=one * tilt,
        azimuth=one * 0.7,
        focal=one * 700,
        axis_x=one * (SIDE - 1) / 2,
        axis_y=one * (SIDE - 1) / 2,
        cap=one * CAP,
        radius=one * radius,
        centre_x=one * 0,
        centre_y=one * 0,
        angle=one * 0.4,
    )
    geometry.place(view, one * (SIDE - 1) / 2, one * (SIDE - 1) / 2)
    return view


@pytest.fixture(params=[(0.0, math.inf), (0.5, math.inf), (0.3, 600.0)], ids=str, scope="module")
def scene(request, fonts):
    sheet = draw_sheet(np.random.default_rng(1), 16, 9, Look(0, density=0.95), fonts, draw_line)
    view = camera(*request.param)
    masks, labels = stack_sheets([sheet])
    backgrounds = torch.rand(2, 64, 64, generator=torch.Generator().manual_seed(1))
    bank, dice = NoiseBank(1, per_kind=2), Dice(8, 1, "cpu")
    kind = torch.zeros(1, 1, 1, dtype=torch.long)
    picture, face, cover = render_scene(
        masks, view, (SIDE, SIDE), kind, bank, dice, backgrounds, filled=1.0
    )
    nothing = torch.zeros_like(cover)
    return sheet, view, picture, face, truth_maps(labels, view, (SIDE, SIDE), face, nothing)


def seen(view, s, r):
    """Where sheet points appear, picture pixels, N x 2."""
    points = [torch.as_tensor(values, dtype=torch.float32)[None] for values in (s, r)]
    x, y = geometry.from_plane(view, *geometry.from_sheet(view, *points))
    return torch.stack([x[0], y[0]], 1).numpy()


def cells(points):
    """Map cells (row, column) of picture pixels, and which of them lie in the picture."""
    at = np.rint((points + 0.5) / 4 - 0.5).astype(int)
    inside = ((at >= 2) & (at < SIDE // 4 - 2)).all(1)
    return at[:, 1], at[:, 0], inside


def test_a_scene_is_a_picture_with_some_contrast(scene):
    _, _, picture, face, _ = scene
    assert picture.shape == (1, SIDE, SIDE)
    assert face.shape == (1, SIDE, SIDE)
    assert ((picture >= 0) & (picture <= 1)).all()
    assert float(picture.std()) > 0.01


def test_the_core_of_every_line_is_text(scene):
    sheet, view, _, _, truth = scene
    checked = 0
    for item in sheet.items:
        inset = 0.6 * item.cap * np.sign(item.end - item.start)
        s = np.linspace(item.start + inset, item.end - inset, 9)
        rows, columns, inside = cells(seen(view, s, np.full(9, item.middle)))
        checked += inside.sum()
        assert (truth.text[0].numpy()[rows[inside], columns[inside]] == 1).all(), item
    assert checked > 10


def test_no_text_is_told_away_from_all_lines(scene):
    sheet, view, _, _, truth = scene
    rows, columns = np.nonzero(truth.text[0].numpy())
    x, y = (torch.from_numpy(v * 4 + 1.5).float()[None] for v in (columns, rows))
    s, r = (v[0].numpy() for v in geometry.to_sheet(view, *geometry.to_plane(view, x, y)))
    owned = np.zeros(len(rows), bool)
    for item in sheet.items:  # labels are cells of an eighth of a cap
        left, right = sorted((item.start, item.end))
        owned |= (
            (s > left - 0.2) & (s < right + 0.2) & (abs(r - item.middle) < 0.4 * item.cap + 0.2)
        )
    assert len(rows) > 50
    assert owned.all()


def test_direction_and_height_are_those_of_the_line(scene):
    sheet, view, _, _, truth = scene
    maps = [getattr(truth, name)[0].numpy() for name in ("along_x", "along_y", "height")]
    for item in sheet.items:
        s = (item.start + item.end) / 2
        ahead = 0.1 * np.sign(item.end - item.start)
        middle, later, top, foot = seen(
            view,
            [s, s + ahead, s, s],
            [item.middle, item.middle, item.middle - item.cap / 2, item.middle + item.cap / 2],
        )
        rows, columns, inside = cells(middle[None])
        if not inside[0]:
            continue
        along_x, along_y, height = (values[rows[0], columns[0]] for values in maps)
        walk = (later - middle) / np.hypot(*(later - middle))
        assert along_x * walk[0] + along_y * walk[1] > 0.995
        across = foot - top
        square = abs(across[0] * walk[1] - across[1] * walk[0])
        assert math.exp(height) == pytest.approx(square, rel=0.05)


def test_the_same_dice_give_the_same_picture(fonts):
    sheet = draw_sheet(np.random.default_rng(1), 10, 5, Look(0), fonts, draw_line)
    masks, _ = stack_sheets([sheet])
    kind, view = torch.zeros(1, 1, 1, dtype=torch.long), camera(0.2, math.inf)
    backgrounds = torch.full((1, 32, 32), 0.5)

    def once(seed):
        bank = NoiseBank(2, per_kind=1)
        dice = Dice(seed, 1, "cpu")
        return render_scene(masks, view, (64, 64), kind, bank, dice, backgrounds)[0]

    assert torch.equal(once(4), once(4))
    assert not torch.equal(once(4), once(5))
