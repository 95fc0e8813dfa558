"""The end of a sweep: strips put together, and where that settles nothing, two frames as stills."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from reader.cascade import read_photo
from reader.errors import EngineError
from reader.ocr import engine
from reader.records import Marking, Photo, Reading, Strip, Verdict
from reader.resolve.resolve import resolve
from reader.sweep.relief import composed
from reader.sweep.tracks import Look, Track, letters_of
from reader.sweep.trust import assured, held
from reader.tables import load_tables
from reader.work import Work

if TYPE_CHECKING:
    from reader.sweep.sweep import Sweep

MOST_LINES = 4  # whose strips are put together
PUT_TOGETHER = 1.0  # weight of such a strip against one look
STILLS = 2  # frames read as photographs where the sweep told nothing
PATIENCE = 1.0  # seconds of two quiet cores for each
TOLD = (Verdict.SURE, Verdict.LIKELY)


def settle(sweep: Sweep) -> Reading:
    """The answer of all frames together."""
    reading = sweep.state.reading
    if reading is None or reading.verdict is not Verdict.SURE:
        read_composed(sweep)
    fused = sweep.fused(painted=True)
    markings = [m for one in fused for m in one.markings]
    reading = assured(resolved(sweep, markings), fused)
    if reading.verdict in TOLD or reading.diameter.verdict in TOLD:
        return reading
    further = read_stills(sweep)
    if not further:
        return reading
    return held(resolved(sweep, [*markings, *further]))  # no second witness: the same frames


def resolved(sweep: Sweep, markings: Sequence[Marking]) -> Reading:
    """What markings come to."""
    return resolve(markings, sweep.part, load_tables(), sweep.settings.market)


def read_stills(sweep: Sweep) -> list[Marking]:
    """Markings of the sharpest frames, read by all the steps that a photograph gets."""
    settings = sweep.settings
    work = Work(settings.engines, settings.market)
    for kept in sweep.sharpest(STILLS):
        photo = Photo(f"{sweep.name}, {kept.seconds:.1f} s", kept.pixels, sweep.part)
        read_photo(photo, work, lambda step, share: None, min(PATIENCE, settings.patience))
    return work.markings


def read_composed(sweep: Sweep) -> int:
    """Put the strips of the lines with numbers together, and count them as further looks."""
    done = 0
    for track in _promising(sweep.tracks)[:MOST_LINES]:
        ahead = track.straight
        strips = composed(track.looks if ahead else track.turned)
        for strip in strips:
            done += _add(track, strip, ahead)
    return done


def _promising(tracks: Sequence[Track]) -> list[Track]:
    def worth(track: Track) -> tuple[int, float]:
        best = track.best
        digits = 0 if best is None else sum(c.isdigit() for c in best.hypothesis.text)
        return min(digits, 4), 0.0 if best is None else best.hypothesis.score

    return sorted((t for t in tracks if worth(t)[0] >= 2), key=worth, reverse=True)


def _add(track: Track, strip: Strip, ahead: bool) -> int:
    try:
        seen = engine("moulded").read([strip])[0]
    except EngineError:
        return 0
    home = next(
        look for look in (track.looks if ahead else track.turned)
        if look.hypothesis.strip is not None and look.hypothesis.strip.region is strip.region
    )  # fmt: skip
    letters = letters_of(seen, home.to_mosaic, PUT_TOGETHER)
    track.add(Look(-1, home.seconds, seen, letters, home.to_mosaic), ahead)
    return 1
