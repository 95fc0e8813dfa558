"""The looks of drawn sweeps, kept in a few files, so that all can be told anew in seconds."""

from __future__ import annotations

import lzma
import pickle
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from reader.records import Reading
from reader.resolve.resolve import resolve
from reader.sweep.fuse import Fitted
from reader.sweep.sweep import Sweep
from reader.sweep.tracks import Look, Track
from reader.sweep.trust import assured
from reader.tables import load_tables
from reader.train.bench.sweep_sets import SweepCase

FAINTEST = -10.0  # natural-log probability kept of frames
STEPS = 4  # a natural-log unit
LENGTH = 8  # bytes before each clip that say how many follow
NAME, LARGEST = "kept-{}.bin", 14_000_000  # bytes of a file


def packed(sweep: Sweep, case: SweepCase, truth: str) -> bytes:
    """All looks of a sweep's lines with numbers; the sweep is of no further use."""
    tracks = [track for track in sweep.tracks if _has_numbers(track)]
    for track in tracks:
        track.kept = None
        for look in [*track.looks, *track.turned]:
            look.costs.clear()
            _shrink(look)
    content: dict[str, Any] = {
        "case": case, "truth": truth, "tracks": tracks, "outlines": sweep.outlines,
    }  # fmt: skip
    return lzma.compress(pickle.dumps(content))


def append(folder: Path, clip: bytes) -> None:
    """Add a packed clip to the folder's last file, or begin another where that is full."""
    files = files_of(folder)
    last = files[-1] if files else folder / NAME.format(0)
    if last.exists() and last.stat().st_size + len(clip) > LARGEST:
        last = folder / NAME.format(len(files))
    with last.open("ab") as stream:
        stream.write(len(clip).to_bytes(LENGTH, "big") + clip)


def files_of(folder: Path) -> list[Path]:
    """The files of a folder that hold clips, in order."""
    return sorted(folder.glob(NAME.format("*")))


def load(folder: Path) -> Iterator[dict[str, Any]]:
    """The clips of a folder, as `packed` had them; one cut short at a file's end is left out."""
    for file in files_of(folder):
        with file.open("rb") as stream:
            while head := stream.read(LENGTH):
                clip = stream.read(int.from_bytes(head, "big"))
                if len(clip) == int.from_bytes(head, "big"):
                    yield pickle.loads(lzma.decompress(clip))


def told_again(kept: dict[str, Any], numbers: Fitted | None = None) -> Reading:
    """The answer to kept looks by the numbers in use now, or by others."""
    sweep = Sweep(name="sweep.mp4")
    sweep.tracks, sweep.outlines = kept["tracks"], kept["outlines"]
    for track in sweep.tracks:
        track.kept = None
    fused = sweep.fused(numbers=numbers)
    markings = [m for one in fused for m in one.markings]
    return assured(resolve(markings, "unknown", load_tables()), fused)


def _shrink(look: Look) -> None:
    seen = look.hypothesis
    if seen.log_probs is not None:
        rough = np.round(np.maximum(seen.log_probs, FAINTEST) * STEPS) / STEPS
        short = rough.astype(np.float16)
        object.__setattr__(seen, "log_probs", short)
        object.__setattr__(look.letters, "frames", short)
    object.__setattr__(seen, "strip", None)  # its photo would be kept, too


def _has_numbers(track: Track) -> bool:
    return any(
        sum(c.isdigit() for c in look.hypothesis.text) >= 3
        for look in [*track.looks, *track.turned]
    )
