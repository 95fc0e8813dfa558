"""The tally as a picture: bars with intervals, PNG or SVG."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reader.catalogue.query.tally import NOT_READ, Line
from reader.errors import CatalogueError, InputError

SURE, MAYBE, INK = "#2f5d50", "#a9c4b4", "#1d1d1b"
MOST = 25  # bars; the rest is summed up in the last one


def plot_tally(lines: Sequence[Line], path: Path, title: str) -> None:
    """Draw horizontal bars: dark what is certain, light what is only probable, a line for 95 %.

    Raises:
        InputError: nothing to draw, or a suffix other than .png and .svg.
        CatalogueError: the file can't be written.
    """
    if path.suffix.lower() not in (".png", ".svg"):
        raise InputError(f"{path.name} is neither .png nor .svg", "name one of the two")
    if not lines:
        raise InputError("there is nothing to draw", "bring parts in first: tyremark bin FOLDER")
    from matplotlib import rc_context
    from matplotlib.figure import Figure
    from matplotlib.ticker import MaxNLocator

    shown = _shown(lines)
    with rc_context({"svg.hashsalt": "tally", "font.size": 10, "axes.edgecolor": INK}):
        figure = Figure(figsize=(8, 1.4 + 0.32 * len(shown)), layout="constrained")
        axes = figure.add_subplot()
        names = [line.name for line in shown]
        axes.barh(names, [line.expected for line in shown], color=MAYBE, label="probable")
        axes.barh(names, [line.certain for line in shown], color=SURE, label="certain")
        for row, line in enumerate(shown):
            if line.high > line.low:
                axes.plot([line.low, line.high], [row, row], color=INK, lw=1.6, marker="|")
            end = max(line.high, line.expected)
            axes.annotate(_count(line), (end, row), (6, 0), textcoords="offset points", va="center")
        axes.invert_yaxis()
        axes.set_xlim(0, max(max(line.high, line.expected) for line in shown) * 1.18)
        axes.set_xlabel("pieces; the black line holds 95 % of what can be")
        axes.set_title(title, loc="left", fontweight="bold")
        axes.spines[["top", "right"]].set_visible(False)
        axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        axes.legend(frameon=False, loc="lower right")
        try:
            figure.savefig(path, dpi=150, metadata={"Date": None} if path.suffix == ".svg" else {})
        except OSError as error:
            remedy = "choose another place with room that you may write"
            raise CatalogueError(f"{path} can't be written ({error.strerror})", remedy) from error


def _count(line: Line) -> str:
    return f"{line.expected:.0f}" if line.high == line.low else f"{line.expected:.1f}"


def _shown(lines: Sequence[Line]) -> list[Line]:
    if len(lines) <= MOST:
        return list(lines)
    unread = [line for line in lines if line.name == NOT_READ]
    read = [line for line in lines if line.name != NOT_READ]
    head, rest = read[: MOST - 2], read[MOST - 2 :]
    total = sum(line.expected for line in rest)
    certain = sum(line.certain for line in rest)
    # Intervals of different sizes don't add up, so the sum shows none.
    summed = Line(f"{len(rest)} others", total, round(total), round(total), certain, 0)
    return [*head, summed, *unread]
