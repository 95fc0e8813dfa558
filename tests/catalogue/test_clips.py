"""Clips in a bin: read as their part's pictures, known by content, a bad one told."""

import shutil
from pathlib import Path

from reader.catalogue.db.records import PhotoRef
from reader.catalogue.intake.files import find_files
from reader.catalogue.intake.jobs import Job, read_job
from reader.catalogue.intake.photofile import photo_ref
from reader.pipeline import Settings

CLIP = Path(__file__).parents[2] / "fixtures" / "clips" / "h264.mp4"
OURS = Settings(engines=("moulded",))


def test_clips_are_found_beside_photos(tmp_path):
    shutil.copy(CLIP, tmp_path / "a.mp4")
    shutil.copy(CLIP, tmp_path / "b.txt")
    assert [file.path.name for file in find_files([tmp_path])] == ["a.mp4"]


def test_a_clip_is_read_as_its_part(tmp_path):
    one, other = tmp_path / "a.mp4", tmp_path / "moved.mp4"
    shutil.copy(CLIP, one)
    shutil.copy(CLIP, other)
    assert photo_ref(one).digest == photo_ref(other).digest
    outcome = read_job(Job("part", (photo_ref(one),)), OURS)
    best = outcome.findings.shares[0]
    assert (best.bsd, best.width) == (622, 40)
    assert outcome.findings.strip is not None and not outcome.failures


def test_a_clip_that_is_cut_off_is_told_and_stops_nothing(tmp_path):
    short = tmp_path / "short.mp4"
    short.write_bytes(CLIP.read_bytes()[:3000])
    ref: PhotoRef = photo_ref(short)
    outcome = read_job(Job("part", (ref,)), OURS)
    assert outcome.findings is None and list(outcome.failures) == [ref.digest]
    whole = photo_ref(CLIP)
    outcome = read_job(Job("part", (ref, whole)), OURS)
    assert outcome.findings is not None and list(outcome.failures) == [ref.digest]
