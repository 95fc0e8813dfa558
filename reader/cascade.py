"""How one photo is read: `STEPS`, easy means first, slower ones only while nothing is settled.

Every step adds what it shows to one `Work`. One loop runs them, with one rule when to stop and
one clock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from reader.language import N_
from reader.ocr import ENGINES
from reader.ranking import digits, has_gap, letters_told, reads_well
from reader.records import Hypothesis, Photo, Region, Strip
from reader.view import MORE_CUTS, OURS, View, in_other_cuts
from reader.work import Work

if TYPE_CHECKING:
    from reader.detect.trace import Line
    from reader.ocr.scene_find import Quad

Progress = Callable[[str, float], None]  # name of the step, share done 0..1

PATIENCE = 5.0  # processor seconds that a photo may take; fewer by the clock on several cores
NEARLY_ALL = 0.85  # share of a line that lies on one that was read well
FURTHER = 2.0  # heights by which a line is drawn out where its text may go on
AT_ONCE = 48  # lines read before the clock is asked again; few photos have more
MOST_PRINTS = 30
BOX_AIR = 0.72  # share of a text detector's box that the letters fill, upright
WIDTHS = ("narrowed", "widened")
SPENT = N_(
    "The time for this photo was spent before anything settled the size: photograph the marking "
    "alone, or give more with --patience."
)


@dataclass(frozen=True)
class Step:
    """One way to look at a photo.

    `run` works in pieces and yields after each, so that the loop can stop there. `needs` names the
    engine without which the step can do nothing, '' for none. `budget` bounds the strips it looks
    at. A `late` step is left out once a marking was read clearly, settled or not: a general engine
    seldom settles what ours has read clearly.
    """

    name: str
    run: Callable[[View, int], Iterator[None]]
    needs: str
    budget: int
    late: bool = False


def read_photo(photo: Photo, work: Work, tell: Progress, patience: float = PATIENCE) -> None:
    """Take the steps in order until the size is settled or the time is spent.

    Args:
        photo: what to read.
        work: gets everything that is found; its tools say what reads.
        tell: hears each step's name and the share of steps done.
        patience: processor seconds; what was found until then is kept.

    Raises:
        EngineError: the only engine in use failed.
    """
    _take_steps(photo, work, tell, patience)
    work.doubt_the_lone(photo)
    work.doubt_the_covered(photo)


def _take_steps(photo: Photo, work: Work, tell: Progress, patience: float) -> None:
    began = work.tools.seconds()
    view = View(photo, work, _looks(photo, work))
    for number, step in enumerate(STEPS):
        if (step.needs and step.needs not in work.engines) or (step.late and work.is_clear(photo)):
            continue
        tell(step.name, number / len(STEPS))
        for _ in step.run(view, step.budget):
            if view.settles():
                return
            if work.tools.seconds() - began > patience:
                work.notes.append(SPENT)
                return


def _looks(photo: Photo, work: Work) -> Iterator[list[Line]]:
    """Lines that the finder tells, quick look first; with a box from the user, that first.

    Outside the box nothing is kept.
    """
    from reader.detect.trace import Line
    from reader.photo.rectify import flip, from_box

    if photo.box is None:
        yield from work.tools.lines(photo)
        return
    yield [Line(region, flip(region)) for region in from_box(photo, photo.box)[::2]]
    for lines in work.tools.lines(photo):
        # most of the line
        yield [line for line in lines if _share_inside(line.region, photo.box) > 0.5]


def _share_inside(region: Region, box: tuple[int, int, int, int]) -> float:
    """Share of a region's points that lie in a box."""
    x, y, width, height = box
    line = region.centreline
    return float(((line >= (x, y)) & (line <= (x + width, y + height))).all(1).mean())


def _lines(view: View, budget: int) -> Iterator[None]:
    """Lines that the finder sees in the shrunk photo, at its full size, and enlarged, read.

    The user's box comes first. Each size is looked at only if those before settled nothing.
    """
    for lines in view.looks:
        yield from _read_lines(_unread(lines, view.seen), view, budget)


def _unread(lines: Sequence[Line], seen: Sequence[Hypothesis]) -> list[Line]:
    """Lines that have not been read well before, as found at a smaller size."""
    from reader.detect.nms import covers

    well = [h.strip.region for h in seen if h.strip and reads_well(h)]
    return [line for line in lines if not any(covers(one, line.region, NEARLY_ALL) for one in well)]


def _read_lines(lines: Sequence[Line], view: View, budget: int) -> Iterator[None]:
    """Read lines with our own recogniser: the told way round, and where that says little the other.

    Each line stays the way it reads better; both ways, unread, where our recogniser is not in use.
    """
    for begin in range(0, len(lines), budget):
        some = lines[begin : begin + budget]
        strips = view.lay(line.region for line in some)
        seen = view.work.read(OURS, strips)
        view.work.regions += [line.region for line in some]
        if seen:
            _turn_round(some, strips, seen, view)
        else:
            strips = view.lay(way for line in some for way in line.ways)
        view.strips += strips
        view.seen += seen or [Hypothesis("", "", 0.0, strip) for strip in strips]
        yield


def _turn_round(
    lines: Sequence[Line], strips: list[Strip], seen: list[Hypothesis], view: View
) -> None:
    """Read the lines that said little from their other end, and keep the better way of each."""
    poor = [k for k, one in enumerate(seen) if not reads_well(one) or has_gap(one)]
    turned = view.work.read(OURS, view.lay(lines[k].turned for k in poor))
    view.work.regions += [lines[k].turned for k in poor]
    for k, one in zip(poor, turned, strict=False):  # none of them if the engine failed
        if letters_told(one) > letters_told(seen[k]) and one.strip:
            strips[k], seen[k] = one.strip, one


def _joined(view: View, budget: int) -> Iterator[None]:
    """Lines put together of two that continue each other, one of them with a digit at least."""
    from reader.detect.merge import joined

    lettered = [k for k in range(len(view.seen)) if view.seen[k].text.strip()]
    order = sorted(lettered, key=lambda k: letters_told(view.seen[k]), reverse=True)
    able = [k for k in order if digits(view.seen[k]) or not reads_well(view.seen[k])]
    pieces = view.lay(joined([view.strips[k].region for k in able[:budget]]))
    seen = view.work.read(OURS, pieces)
    view.strips += [strip for strip, _ in zip(pieces, seen, strict=False)]
    view.seen += seen
    yield


def _widths(view: View, budget: int) -> Iterator[None]:
    """The best lines with their letters narrowed and widened."""
    view.work.read(OURS, _enhanced(view, budget, WIDTHS))
    yield


def _cuts(view: View, budget: int) -> Iterator[None]:
    """The best lines cut lower and higher: no height that the finder tells is exact."""
    view.work.read(OURS, view.lay(in_other_cuts(view.best(budget), MORE_CUTS)))
    yield


def _again(engine: str, view: View, budget: int) -> Iterator[None]:
    """The best lines read by another engine."""
    view.work.read(engine, view.best(budget))
    yield


def _longer(view: View, budget: int) -> Iterator[None]:
    """The best lines drawn out at both ends: the finder loses faint letters there first."""
    from reader.photo.rectify import lengthen

    view.work.read(OURS, view.lay(lengthen(strip.region, FURTHER) for strip in view.best(budget)))
    yield


def _enhanced(view: View, budget: int, variants: Iterable[str]) -> list[Strip]:
    best = view.best(budget)
    return [view.work.tools.enhance(strip, variant) for strip in best for variant in variants]


def _prints(engine: str, view: View, budget: int) -> Iterator[None]:
    """Straight lines that a general engine's own detector sees, read by it and by ours."""
    from reader.errors import EngineError

    try:
        quads = view.work.tools.prints(view.photo)
    except EngineError as error:
        view.work.notes.append(str(error))
        return
    regions = [region for quad in quads[:budget] for region in _upright(view.photo, quad)]
    view.work.regions += regions
    view.prints = view.lay(regions)
    view.work.read(OURS, view.prints)
    view.work.read(engine, view.prints)
    yield


def _upright(photo: Photo, quad: Quad) -> Iterator[Region]:
    """A text detector's box as a region, if letters can be read in it."""
    import numpy as np

    corners = quad.corners
    ends = np.stack([(corners[0] + corners[3]) / 2, (corners[1] + corners[2]) / 2])
    height = float(np.hypot(*(corners[0] - corners[3]))) * BOX_AIR
    if height >= 4 and np.hypot(*(ends[1] - ends[0])) >= height:  # lower letters can't be read
        yield Region(photo, ends.astype(np.float32), height, quad.score, "scene")


def _last(engine: str, view: View, budget: int) -> Iterator[None]:
    """The best lines, and those of the general detector, read by an engine that costs much."""
    view.work.read(engine, view.best(budget) + view.prints[:budget])
    yield


def _steps() -> Iterator[Step]:
    """All steps, cheap ones and those that settle most first."""
    ours, *others = ENGINES
    # Few strips a step, by judgement: each costs time, and the likeliest come first.
    yield Step(N_("finding lines of letters"), _lines, "", AT_ONCE)
    yield Step(N_("joining pieces of lines"), _joined, ours.name, 6)
    yield Step(N_("trying other widths"), _widths, ours.name, 4)
    yield Step(N_("cutting lines anew"), _cuts, ours.name, 6)
    for kind in others:
        if not kind.late:
            yield Step(N_("reading letters again"), partial(_again, kind.name), kind.name, 6)
    yield Step(N_("looking past the ends of lines"), _longer, ours.name, 4)
    for kind in others:
        if kind.finds:
            run = partial(_prints, kind.name)
            yield Step(N_("looking for print"), run, kind.name, MOST_PRINTS, late=True)
    for kind in others:
        if kind.late:
            run = partial(_last, kind.name)
            yield Step(N_("reading letters once more"), run, kind.name, 4, late=True)


STEPS = tuple(_steps())
