"""Size lines of the benchmark laid straight, for reading by eye.

    python -m reader.train.bench.by_eye accuracy.csv --kinds decal stamped --out FOLDER
    python -m reader.train.bench.by_eye --score FOLDER readings.csv

What the tool did not read is drawn, and as many parts that it did read as --controls says, so that
nobody knows which is which. Pages show numbers, no text; the key lies beside them in key.csv. A
reader who has not seen it writes one line a number into readings.csv: `number,text`, the text empty
where they can't tell. Scored, each reading is right, wrong or open by the plain pattern that the
truth is taken with: by_eye.csv and by_eye.md in the folder tell how many of the missed
parts could be read at all.
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np

from reader.records import Floats, Pixels
from reader.train.bench.markdown import markdown
from reader.train.bench.rows import OURS, Row, load
from reader.train.bench.sets import Case, show, spelled
from reader.train.render.samples import Studio
from reader.train.render.truth import settles

WIDE = 1400  # pixels of a strip
MOST = 110  # pixels of a capital
A_PAGE = 2
AROUND = 2.5, 1.5  # caps shown before and behind the line, above and below it
INTRODUCTION = """# What an eye reads of the parts that the tool missed

Written by `python -m reader.train.bench.by_eye --score FOLDER readings.csv`; the readings stand
beside it in `by_eye.csv`. Shown are size lines of the benchmark's photographs (`accuracy.md`),
laid straight
where they truly lie and stretched in contrast: all that the tool did not tell right, and five a
kind that it did, mixed. The readers knew neither text nor truth, only what such markings look like
and which bead seat diameters exist, and were asked to tell a size only where a mechanic could be
sure. They were general vision-language models at a screen, not people, who may read a few more.
"""
COLUMNS = ("number", "kind", "case", "read_by_tool", "clarity", "part", "truth")


def strip(pixels: Pixels, outline: Floats) -> Pixels:
    """The size line laid straight, twice: as it is, and with its contrast drawn out.

    Args:
        pixels: H x W x 3, RGB.
        outline: 4 x 2, the line's corners in reading order, in picture pixels.

    Returns:
        Grey, WIDE pixels wide at most.
    """
    along, down = outline[1] - outline[0], outline[3] - outline[0]
    caps = float(np.hypot(*along) / np.hypot(*down))
    beside, above = AROUND
    cap = min(MOST, WIDE / (caps + 2 * beside))
    size = round(cap * (caps + 2 * beside)), round(cap * (1 + 2 * above))
    left, top, right, bottom = cap * beside, cap * above, cap * (beside + caps), cap * (above + 1)
    corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]], np.float32)
    turned = cv2.getPerspectiveTransform(outline.astype(np.float32), corners)
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    edge = cv2.BORDER_REPLICATE  # black beyond the edge would eat up the contrast
    plain = cv2.warpPerspective(grey, turned, size, flags=cv2.INTER_CUBIC, borderMode=edge)
    low, high = np.percentile(plain, [1, 99])
    plain = np.clip((plain - low) * (255 / max(1.0, high - low)), 0, 255).astype(np.uint8)
    smooth = cv2.GaussianBlur(plain, (0, 0), max(0.8, cap / 50))
    drawn = cv2.createCLAHE(5.0, (3, max(2, round(caps / 2)))).apply(smooth)
    return np.vstack([np.asarray(plain), drawn])


def known(row: Row) -> bool:
    """Whether the tool read a part."""
    return row.outcome(OURS) == "right"


def choose(rows: Sequence[Row], kinds: Sequence[str], controls: int) -> list[Row]:
    """Parts of these kinds that were not told right, and `controls` a kind that were; mixed."""
    rng = np.random.default_rng(5)
    chosen: list[Row] = []
    for kind in kinds:
        of_kind = [row for row in rows if row.kind == kind]
        right = [row for row in of_kind if known(row)]
        some = rng.permutation(len(right))[:controls]
        chosen += [row for row in of_kind if not known(row)]
        chosen += [right[k] for k in some]
    return [chosen[k] for k in rng.permutation(len(chosen))]


def draw(chosen: Sequence[Row], studio: Studio, out: Path) -> None:
    """Write pages and key."""
    out.mkdir(parents=True, exist_ok=True)
    page: list[Pixels] = []
    with (out / "key.csv").open("w", encoding="utf-8", newline="") as stream:
        key = csv.writer(stream, lineterminator="\n")
        key.writerow(COLUMNS)
        for number, row in enumerate(chosen, 1):
            shown = show(Case(row.kind, row.number), studio)
            for pixels, outline in zip(shown.pictures, shown.outlines, strict=True):
                page.append(_numbered(strip(pixels, outline), number))
            truth = spelled(shown.truth)
            key.writerow([number, row.kind, row.number, known(row), row.clarity, row.part, truth])
            if number % A_PAGE == 0 or number == len(chosen):
                first = (number - 1) // A_PAGE * A_PAGE + 1
                cv2.imwrite(str(out / f"page-{first:03}.png"), np.vstack(page))
                page.clear()


def _numbered(strips: Pixels, number: int) -> Pixels:
    board = np.full((strips.shape[0] + 34, WIDE + 2), 255, np.uint8)
    board[34:, : strips.shape[1]] = strips
    cv2.putText(board, str(number), (6, 26), cv2.FONT_HERSHEY_SIMPLEX, 0.9, 0, 2, cv2.LINE_AA)
    return board


def score(folder: Path, readings: Path) -> str:
    """How many parts of each kind were read by eye, those that the tool read apart, as Markdown.

    Writes the readings beside their truth into by_eye.csv in the folder.

    Raises:
        OSError: a file isn't there.
    """
    with readings.open(encoding="utf-8", newline="") as stream:
        said = {line["number"]: line["text"] or "" for line in csv.DictReader(stream)}
    with (folder / "key.csv").open(encoding="utf-8", newline="") as stream:
        lines = [{**line, "text": said.get(line["number"], "")} for line in csv.DictReader(stream)]
    with (folder / "by_eye.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, [*COLUMNS, "text"], lineterminator="\n")
        writer.writeheader()
        writer.writerows(lines)
    counts: dict[tuple[str, str], Counter[str]] = {}
    for line in lines:
        counts.setdefault((line["kind"], line["read_by_tool"]), Counter())[_result(line)] += 1
    head = ("kind", "of the parts", "shown", "read by eye", "read wrong by eye", "can't tell")
    by = {"True": "read by the tool", "False": "missed by the tool"}
    rows = [
        (kind, by[known], str(n.total()), str(n["right"]), str(n["wrong"]), str(n["open"]))
        for (kind, known), n in sorted(counts.items())
    ]
    return markdown([head, *rows])


def _result(line: dict[str, str]) -> str:
    """'right', 'wrong' or 'open': what a reading comes to."""
    found = spelled(settles(line["text"], line["part"] == "rim"))
    return "open" if not found else "right" if found == line["truth"] else "wrong"


def main(arguments: Sequence[str] | None = None) -> int:
    """Draw pages, or score readings."""
    parser = argparse.ArgumentParser(
        prog="python -m reader.train.bench.by_eye", description=__doc__
    )
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("rows", type=Path, nargs="?", help="accuracy.csv")
    parser.add_argument("--kinds", nargs="+", default=["decal", "stamped", "moulded"])
    parser.add_argument("--controls", type=int, default=5, help="parts a kind that were read")
    parser.add_argument("--carry", type=Path, default=Path("carry"))
    parser.add_argument("--out", type=Path, default=Path("out/eyes"))
    parser.add_argument("--score", type=Path, nargs=2, metavar=("FOLDER", "READINGS"))
    args = parser.parse_args(arguments)
    if args.score:
        table = score(*args.score)
        (args.score[0] / "by_eye.md").write_text(f"{INTRODUCTION}\n{table}\n", encoding="utf-8")
        print(table)
    elif args.rows:
        draw(choose(load(args.rows), args.kinds, args.controls), Studio.open(args.carry), args.out)
    else:
        parser.error("name a table of the benchmark's, or --score")
    return 0


if __name__ == "__main__":
    sys.exit(main())
