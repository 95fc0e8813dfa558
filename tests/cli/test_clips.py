"""`tyremark read` with clips, bursts and both; truth in samples/labels.csv."""

import json
import shutil
from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

from reader.cli import app
from reader.errors import ExitCode
from reader.sweep import Clip

ROOT = Path(__file__).parents[2]
CLIP = ROOT / "fixtures" / "clips" / "h264.mp4"


def run(*words):
    return CliRunner().invoke(app, ["read", "--engine", "moulded", *map(str, words)])


def test_a_clip_is_read_and_drawn(tmp_path):
    done = run(CLIP, "--json", "--overlay", tmp_path)
    assert done.exit_code == ExitCode.OK, done.output
    (reading,) = json.loads(done.stdout)["readings"]
    assert reading["diameter"]["value"] == 622 and reading["width"]["value"] == 40
    assert reading["photos"] == [str(CLIP)]
    assert [path.name for path in tmp_path.iterdir()] == ["h264.read.jpg"]


def test_a_folder_of_clips_is_read_each_a_part(tmp_path):
    shutil.copy(CLIP, tmp_path / "one.mp4")
    (tmp_path / "two.webm").write_bytes(b"\x1a\x45\xdf\xa3" + bytes(900))
    done = run(tmp_path, "--json")
    assert done.exit_code == ExitCode.BAD_PHOTO
    found = json.loads(done.stdout)
    assert len(found["readings"]) == 1
    assert [Path(one["photo"]).name for one in found["problems"]] == ["two.webm"]


def test_a_clip_and_a_photo_of_one_part_are_read_together():
    done = run(CLIP, ROOT / "samples" / "moulded-111.jpg", "--together", "--json")
    (reading,) = json.loads(done.stdout)["readings"]
    assert reading["diameter"]["value"] == 622
    assert len(reading["photos"]) == 2


def test_a_burst_names_no_photo_as_the_place(tmp_path, monkeypatch):
    """Its marking stands on what all photos show together, not in the first one."""
    frames = list(Clip(CLIP, "clip"))
    for number, frame in enumerate(frames[:: max(1, len(frames) // 8)]):
        Image.fromarray(frame.pixels).save(tmp_path / f"IMG_{number:03d}.jpg", quality=95)
    monkeypatch.chdir(tmp_path)
    done = run(*sorted(path.name for path in tmp_path.iterdir()), "--together")
    assert done.exit_code == ExitCode.OK, done.output
    (line,) = [line for line in done.output.splitlines() if line.startswith("read ")]
    assert "'" in line and "IMG_" not in line and ".jpg" not in line


@pytest.mark.parametrize("words", [(), ("--json",)])
def test_no_clip_at_all_is_one_line(tmp_path, words):
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(CLIP.read_bytes()[:4000])
    done = run(broken, *words)
    assert done.exit_code == ExitCode.BAD_PHOTO
    assert "Traceback" not in done.output and "broken.mp4" in done.output
