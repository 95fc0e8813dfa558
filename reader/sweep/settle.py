"""The end of a sweep: strips put together, and where that settles nothing, two frames as stills."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from reader.cascade import read_photo
from reader.errors import EngineError
from reader.ocr import engine
from reader.records import Judgement, Marking, Photo, Reading, Strip, Verdict
from reader.resolve.resolve import resolve
from reader.sweep.relief import composed
from reader.sweep.tracks import Look, Track, letters_of
from reader.tables import load_tables
from reader.work import Work

if TYPE_CHECKING:
    from reader.sweep.sweep import Sweep

Value = TypeVar("Value")
MOST_LINES = 4  # whose strips are put together
PUT_TOGETHER = 1.0  # weight of such a strip against one look
STILLS = 2  # frames read as photographs where the sweep told nothing
PATIENCE = 1.0  # seconds of two quiet cores for each
MOST_BY_STILLS = 0.97  # they show what the sweep has seen already: no second witness
TOLD = (Verdict.SURE, Verdict.LIKELY)


def settle(sweep: Sweep) -> Reading:
    """The answer of all frames together."""
    reading = sweep.state.reading
    if reading is None or reading.verdict is not Verdict.SURE:
        read_composed(sweep)
    markings = [m for one in sweep.fused(painted=True) for m in one.markings]
    reading = resolved(sweep, markings)
    if reading.verdict in TOLD or reading.diameter.verdict in TOLD:
        return reading
    further = read_stills(sweep)
    return held(resolved(sweep, [*markings, *further])) if further else reading


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


def held(reading: Reading) -> Reading:
    """The answer, not called sure."""
    return replace(
        reading,
        verdict=Verdict.LIKELY if reading.verdict is Verdict.SURE else reading.verdict,
        candidates=tuple(
            replace(one, probability=min(one.probability, MOST_BY_STILLS))
            for one in reading.candidates
        ),
        diameter=_least(reading.diameter),
        width=_least(reading.width),
        bsd_probability=min(reading.bsd_probability, MOST_BY_STILLS),
    )


def _least(one: Judgement[Value]) -> Judgement[Value]:
    verdict = Verdict.LIKELY if one.verdict is Verdict.SURE else one.verdict
    return replace(one, verdict=verdict, probability=min(one.probability, MOST_BY_STILLS))


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
