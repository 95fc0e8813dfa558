"""Clips of each codec and container, and files that only pretend to be clips.

The clips are written by `reader.train.render.clipfiles`. What a file's first bytes mean: ISO/IEC
14496-12 section 4.3 (file type box), RFC 8794 section 11.2 (EBML header), WebP container
specification (VP8X flags).
"""

import io
import time
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from reader import processes
from reader.errors import PhotoError
from reader.sweep import clip as clip_module
from reader.sweep.clip import Clip, is_clip

FOLDER = Path(__file__).parents[2] / "fixtures" / "clips"
CLIPS = sorted(FOLDER.iterdir())


@pytest.mark.parametrize("path", CLIPS, ids=lambda path: path.name)
def test_every_codec_is_decoded_upright(path):
    frames = list(Clip(path))
    assert len(frames) >= 10
    assert {frame.pixels.shape for frame in frames} == {(640, 864, 3)}
    seconds = [frame.seconds for frame in frames]
    assert seconds == sorted(seconds) and 1.5 < seconds[-1] < 2.5


def test_a_clip_comes_as_bytes_too():
    frames = list(Clip((FOLDER / "h264.mp4").read_bytes(), "sent.mp4"))
    assert frames[0].pixels.shape == (640, 864, 3)


def test_an_animated_webp_is_a_clip():
    pictures = [Image.new("RGB", (96, 64), (40 * k, 20, 90)) for k in range(5)]
    file = io.BytesIO()
    pictures[0].save(file, "WEBP", save_all=True, append_images=pictures[1:], duration=100)
    assert is_clip(file.getvalue())
    frames = list(Clip(file.getvalue(), "burst.webp"))
    assert len(frames) >= 2 and frames[0].pixels.shape == (64, 96, 3)


def test_stills_are_no_clips():
    samples = Path(__file__).parents[2] / "samples"
    assert not is_clip(samples / "decal-207.jpg")
    file = io.BytesIO()
    Image.new("RGB", (64, 64)).save(file, "WEBP")
    assert not is_clip(file.getvalue())
    assert not is_clip(samples / "no-such-file.mp4")


@pytest.mark.parametrize("name", ["h264.mp4", "hevc.mp4", "vp9.webm", "uneven.mov"])
def test_a_clip_cut_short_is_read_as_far_as_it_goes_or_refused_in_a_line(name):
    whole = (FOLDER / name).read_bytes()
    for share in (0.02, 0.3, 0.7):
        clip = Clip(whole[: int(len(whole) * share)], name)
        try:
            frames = list(clip)
        except PhotoError as error:
            assert "\n" not in str(error) and name in str(error)
        else:
            assert frames and clip.notes


@pytest.mark.parametrize("name", ["h264.mp4", "vp9.webm"])
def test_damaged_bytes_end_in_frames_or_in_a_line(name):
    rng = np.random.default_rng(5)
    for _ in range(4):
        data = bytearray((FOLDER / name).read_bytes())
        for at in rng.integers(64, len(data), 400):
            data[int(at)] = int(rng.integers(256))
        try:
            list(Clip(bytes(data), name))
        except PhotoError as error:
            assert "\n" not in str(error)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"#EXTM3U\n#EXTINF:1,\nfile:///etc/passwd\n",
        b"ffconcat version 1.0\nfile /etc/passwd\n",
        b"\0\0\0\x18ftypisom" + b"\0" * 4000,
        b"\0\0\0\x18ftypisom\0\0\0\0isomiso2" + b"#EXTM3U\nfile:///etc/passwd\n" * 20,
        b"\x1a\x45\xdf\xa3" + b"\xff" * 3000,
        b"RIFF\xff\xff\xff\x7fWEBPVP8X\x0a\0\0\0\x02\0\0\0\xff\xff\xff\xff\xff\xff" + b"\0" * 500,
    ],
)
def test_what_only_pretends_to_be_a_clip_is_refused(data):
    with pytest.raises(PhotoError) as raised:
        list(Clip(data, "strange.mp4"))
    assert "\n" not in str(raised.value)


def test_a_decoder_that_hangs_is_ended(monkeypatch):
    monkeypatch.setattr(clip_module, "PATIENCE", 0.5)
    monkeypatch.setattr(processes, "_DECODE", "import time; time.sleep(60)")
    began = time.monotonic()
    with pytest.raises(PhotoError, match="too long"):
        list(Clip(FOLDER / "h264.mp4"))
    assert time.monotonic() - began < 10


def test_stopping_half_way_ends_the_decoder():
    frames = iter(Clip(FOLDER / "h264.mp4"))
    next(frames)
    frames.close()
