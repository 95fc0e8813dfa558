"""From the benchmark's rows to its table: accuracy.md and the plots beside accuracy.csv."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

from reader.train.bench import lines as bench_lines
from reader.train.bench import rows as bench_rows
from reader.train.bench.markdown import markdown
from reader.train.bench.plots import draw_lines, draw_photos
from reader.train.bench.rows import ENGINES, OURS, Row
from reader.train.bench.sets import EMPTY, KINDS
from reader.train.calibrate.reliability import calibration_error
from reader.train.fonts.packs import read_rows

LEGIBLE = 0.15  # clarity from which a person reads most size lines, see `LEGIBLE_WHY`
LEGIBLE_WHY = """Clarity is the correlation of the edges seen with the edges drawn in the worst
quarter of the size line, 0 to 1 (`reader/train/clarity.py`); it looks at the picture only, not at
what any engine says. The bound of 0.15 was set by eye, on 27 moulded, worn and dirty lines of other
seeds, laid straight and stretched in contrast: below it one of eight could be read, between it and
0.25 five of six, above that all but two of thirteen."""
# Contrasts of single lines, grey levels of 255: edges of the bins, and what counts as low.
CONTRASTS = (0.0, 2.0, 3.5, 5.0, 8.0, 12.0, 20.0, 256.0)
LOW = 5.0
WANTED = {
    "decal": "98 %", "stamped": "98 %", "engraved": "98 %", "printed": "97 %", "moulded": "90 %",
    "worn": "70 %", "worn, 3 photos": "85 %",
    "nothing": "≤ 1 % named", "other texts": "≤ 1 % named",
}  # fmt: skip
FREE = ("hand", "display")  # kinds of fonts.csv that no mould, stamp or rim label is set in
LETTERED = ("decal", "stamped", "engraved", "printed", "moulded", "worn")
OUTCOMES = ("right", "wrong, sure", "wrong, told", "can't tell")


def write_report(rows_path: Path, lines_path: Path) -> str:
    """Write accuracy.md and the plots beside the rows; returns the text.

    Raises:
        InputError: a table is none of the benchmark's.
    """
    rows = bench_rows.load(rows_path)
    lines = bench_lines.load(lines_path)
    folder = rows_path.parent
    parts = ["# Benchmark\n\n" + INTRODUCTION]
    if rows:
        parts += [kinds_table(rows), lettering_table(rows), beside_table(rows), trust(rows)]
        draw_photos(rows, folder, LEGIBLE)
        parts.append(PLOTS)
    if lines:
        parts.append(lines_table(lines))
        draw_lines(lines, CONTRASTS, folder / "lines.png")
        parts.append("![Single lines against contrast](lines.png)")
    text = "\n\n".join(parts) + "\n"
    (folder / "accuracy.md").write_text(text, encoding="utf-8")
    return text


def kinds_table(rows: Sequence[Row]) -> str:
    """This tool's answers by kind: over all photographs, and over the legible ones."""
    table = [[
        "kind", "parts", "right, told", "wanted", "right diameter, told", "wrong, sure",
        "wrong, told", "can't tell",
        f"right of clarity ≥ {LEGIBLE}", "median s",
    ]]  # fmt: skip
    for kind, some in _by_kind(rows):
        counts = count(some, OURS)
        clear = [row for row in some if row.clarity >= LEGIBLE]
        shown = count(clear, OURS)["right"]
        empty = kind in EMPTY
        table.append([
            kind, str(len(some)), "–" if empty else _share(counts["right"], len(some)),
            WANTED.get(kind, ""), "–" if empty else str(sum(row.diameter(OURS) for row in some)),
            str(counts["wrong, sure"]), str(counts["wrong, told"]), str(counts["can't tell"]),
            "–" if empty else f"{_share(shown, len(clear))} of {len(clear)}",
            f"{statistics.median(row.answers[OURS].seconds for row in some):.1f}",
        ])  # fmt: skip
    wrong = count(rows, OURS)["wrong, sure"]
    sized = [row for row in rows if row.kind not in EMPTY]
    faint = sum(row.clarity < LEGIBLE for row in sized)
    below = (
        f"Wrong while sure: {wrong} of {len(rows)} ({wrong / len(rows):.2%}; wanted ≤ 0.3 %). "
        f"{faint} of {len(sized)} size lines lie below the bound of clarity."
    )
    return "## This tool, by kind\n\n" + markdown(table) + "\n\n" + below


def lettering_table(rows: Sequence[Row]) -> str:
    """This tool's answers to legible parts, in usual letters and in free ones."""
    free = {row.name for row in read_rows() if row.kind in FREE}
    table = [["kind", "usual letters: right, told", "wrong", "free letters: right, told", "wrong"]]
    for kind, some in _by_kind(rows):
        if kind not in LETTERED:
            continue
        cells = [kind]
        for wanted in (False, True):
            mine = [
                r for r in some if r.clarity >= LEGIBLE and (Path(r.font).stem in free) == wanted
            ]
            counts = count(mine, OURS)
            wrong = counts["wrong, sure"] + counts["wrong, told"]
            cells += [f"{_share(counts['right'], len(mine))} of {len(mine)}", str(wrong)]
        table.append(cells)
    return "## By lettering\n\n" + LETTERING + "\n\n" + markdown(table)


def beside_table(rows: Sequence[Row]) -> str:
    """All engines side by side, on the parts that all of them read."""
    both = [row for row in rows if set(ENGINES) <= set(row.answers)]
    if not both:
        return "## Beside general engines\n\nThe general engines were not asked."
    table = [["kind", "parts", *ENGINES]]
    kinds = [*_by_kind(both)]
    kinds.append(("all with a size", [row for row in both if row.kind not in EMPTY]))
    for kind, some in kinds:
        cells = []
        for engine in ENGINES:
            counts = count(some, engine)
            wrong = counts["wrong, sure"] + counts["wrong, told"]
            cells.append(f"{wrong} named" if kind in EMPTY else f"{counts['right']}, {wrong} wrong")
        table.append([kind, str(len(some)), *cells])
    seconds = [
        f"{statistics.median(row.answers[engine].seconds for row in both):.1f}"
        for engine in ENGINES
    ]
    table.append(["median s", "", *seconds])
    return "## Beside general engines\n\n" + BESIDE + "\n\n" + markdown(table)


def trust(rows: Sequence[Row]) -> str:
    """How far the probabilities hold: calibration error, and the share right by verdict."""
    named = [row for row in rows if row.answers[OURS].size and row.kind != "names alone"]
    if not named:
        return "## Confidence\n\nNo size was named."
    said = np.array([row.answers[OURS].probability for row in named])
    right = np.array([float(row.kind not in EMPTY and row.right(OURS)) for row in named])
    table = [["verdict", "answers that name a size", "right"]]
    for verdict in ("sure", "likely", "can't tell"):
        chosen = np.array([row.answers[OURS].verdict == verdict for row in named])
        table.append([verdict, str(int(chosen.sum())), _share(right[chosen].sum(), chosen.sum())])
    error = calibration_error(said, right)
    return (
        f"## Confidence\n\nExpected calibration error {error:.3f} over {len(named)} answers that "
        "name a size (ten bins of equal count; wanted ≤ 0.03), names alone left out as no set of "
        f"pictures tells which size they mean.\n\n{markdown(table)}"
    )


def lines_table(lines: Sequence[bench_lines.LineRow]) -> str:
    """Exact readings of single lines by contrast."""
    table = [["contrast", "lines", "ours", "scene engine", "tesseract", "ours / best of them"]]
    for low, high in zip(CONTRASTS[:-1], CONTRASTS[1:], strict=True):
        some = [row for row in lines if low <= row.contrast < high]
        name = f"{low:g} to {high:g}" if high < 256 else f"{low:g} and more"
        table.append([name, *_exact(some)])
    table.append([f"low: below {LOW:g}", *_exact([row for row in lines if row.contrast < LOW])])
    table.append(["all", *_exact(lines)])
    return "## Single lines of moulded lettering\n\n" + SINGLE + "\n\n" + markdown(table)


def _exact(some: Sequence[bench_lines.LineRow]) -> list[str]:
    ours, scene, tesseract = (
        sum(row.exact(getattr(row, name)) for row in some)
        for name in ("ours", "scene", "tesseract")
    )
    best = max(scene, tesseract)
    ratio = f"{ours / best:.2f}" if best else "–"
    return [str(len(some)), *(_share(n, len(some)) for n in (ours, scene, tesseract)), ratio]


def count(rows: Iterable[Row], engine: str) -> dict[str, int]:
    """How often each outcome came."""
    seen = [row.outcome(engine) for row in rows]
    return {outcome: seen.count(outcome) for outcome in OUTCOMES}


def _by_kind(rows: Sequence[Row]) -> Iterable[tuple[str, list[Row]]]:
    for kind in KINDS:
        some = [row for row in rows if row.kind == kind]
        if some:
            yield kind, some


def _share(part: float, whole: float) -> str:
    return f"{int(part)} ({part / whole:.0%})" if whole else "0"


INTRODUCTION = f"""Written by `python -m reader.train.bench.accuracy --report accuracy.csv` from
the rows
beside it; how to make the rows stands in `reader/train/bench/accuracy.py`. Rendered photographs
with frozen seeds;
fonts, textures, backgrounds and invented names were kept out of training. Sizes are drawn with rare
ones far more often than in a workshop. Nobody tells the engines what part they see. An answer is
right when bead seat diameter and width are those of the drawn text and the verdict is sure or
likely. Every size line holds an ISO pair or a rim's marking, but for 'names alone', whose inch and
French names leave the size open: there "can't tell" is a proper answer and any size that the names
can mean is right.

{LEGIBLE_WHY}

This is the third frozen set of photographs; the two before were looked at while grammar, ladder and
places were mended, so that figures of different sets compare only roughly. What an eye reads of the
parts that this tool missed stands in [by_eye.md](by_eye.md)."""
LETTERING = f"""Parts of clarity ≥ {LEGIBLE}. Free letters: handwriting and display faces, which
stand on few tyres and rims, but are drawn as often as any other held-out font."""
BESIDE = """Right and wrong answers told (sure or likely). 'Plainly': the engine gets the whole
photo, as its own package would read it. 'Located': it gets the straightened lines of this tool's
finder. The same grammar and the same resolver work on what it reads."""
PLOTS = """![Accuracy against clarity](clarity.png)

![Accuracy against letter height](height.png)"""
SINGLE = """The same strips for all: rendered moulded lettering, already found and laid straight,
cut out as badly as a finder does. Exact means every letter; blanks and the case of letters are let
pass. Contrast: root mean square, in grey levels of 255, of what the lettering changes in the
picture."""
