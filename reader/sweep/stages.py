"""What a sweep did, as numbered pictures: its frames laid together, and each line's looks."""

from __future__ import annotations

from pathlib import Path

from reader.records import Reading
from reader.sweep.sweep import Sweep

MOST_LINES = 6  # whose looks are laid out


def write_stages(sweep: Sweep, reading: Reading, folder: Path) -> None:
    """Write the frames laid together, the lines on them, each line's looks, and the answer.

    Raises:
        PhotoError: the folder can't be made, or a picture can't be written.
    """
    from reader.detect.debug import StageWriter

    writer = StageWriter(folder)
    fused = sweep.fused(painted=True)
    strips = [one.hypothesis.strip for one in fused if one.hypothesis.strip is not None]
    if not strips:
        return
    canvas = strips[0].region.photo
    writer.photo(canvas)
    writer.regions(canvas, [strip.region for strip in strips])
    numbered = sorted(fused, key=lambda one: -sum(c.isdigit() for c in one.hypothesis.text))
    for one in numbered[:MOST_LINES]:
        looks = one.track.looks if one.track.straight else one.track.turned
        seen = [look for look in looks if look.hypothesis.strip is not None]
        writer.strips(
            canvas,
            [look.hypothesis.strip for look in seen if look.hypothesis.strip is not None],
            [f"{look.seconds:.2f} s: {look.hypothesis.text}" for look in seen],
        )
    writer.answer(canvas, reading)
