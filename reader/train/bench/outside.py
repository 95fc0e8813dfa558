"""Pictures that nobody here drew: is a size named on them, and which engine reads their words?

    python -m reader.train.bench.outside --out reader/train/bench/outside.md

Read are the photographs of fixtures/ocr (from Debian's opencv-doc; provenance and licences in the
README there) and the pictures that the package scikit-image installs (its own data/README.txt and
LICENSE.txt; pip install tyremark[test]). None shows a bicycle tyre's size.
"""

from __future__ import annotations

import argparse
import csv
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from reader.ocr.alphabet import fold
from reader.ocr.moulded import Moulded
from reader.ocr.scene import Scene
from reader.ocr.tesseract import Tesseract
from reader.photo.load import load
from reader.pipeline import read
from reader.records import Hypothesis, Photo, Verdict
from reader.train.bench.baselines import box_texts, scene_texts, strips_of, tesseract_texts
from reader.train.bench.markdown import markdown

FIXTURES = Path(__file__).parents[3] / "fixtures" / "ocr"
COLUMNS = (
    "our recogniser on our lines", "scene engine on our lines", "tesseract on our lines",
    "our recogniser on the scene engine's boxes", "scene engine plainly", "tesseract plainly",
)  # fmt: skip
# Pictures of scikit-image: a motorcycle, print, handwriting, coins, textures, a clock.
SCIKIT_IMAGE = (
    "motorcycle_left.png", "motorcycle_right.png", "page.png", "text.png", "coins.png", "brick.png",
    "gravel.png", "grass.png", "clock_motion.png", "coffee.png", "rocket.jpg", "color.png",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Result:
    """What came of one picture; `found` counts words by engine, empty without known words."""

    name: str
    size: str  # the size that the tool names, '' for none
    verdict: Verdict
    words: int = 0
    found: dict[str, int] = field(default_factory=dict)

    @property
    def told(self) -> bool:
        """Whether a size was told, which is wrong here."""
        return bool(self.size) and self.verdict in (Verdict.SURE, Verdict.LIKELY)


def photographs() -> Iterator[tuple[Photo, str]]:
    """Every picture with its words, '' where none are listed.

    Raises:
        ModuleNotFoundError: scikit-image is not installed.
    """
    with (FIXTURES / "texts.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            yield load(FIXTURES / row["file"], row["file"]), row["text"]
    import skimage

    for name in SCIKIT_IMAGE:
        path = Path(skimage.__file__).parent / "data" / name
        yield load(path, f"scikit-image: {name}"), ""


def judge(photo: Photo, words: str = "") -> Result:
    """Read one picture with the whole tool and, if it has known words, with every engine."""
    reading = read([photo])
    size = str(reading.best.size) if reading.best else ""
    if not words:
        return Result(photo.name, size, reading.verdict)
    strips = strips_of(photo)
    seen: list[Sequence[Hypothesis]] = [
        Moulded().read(strips), Scene().read(strips), Tesseract().read(strips),
        box_texts(photo, Moulded()), scene_texts(photo), tesseract_texts(photo),
    ]  # fmt: skip
    found = {
        column: matches(words, " ".join(one.text for one in texts))
        for column, texts in zip(COLUMNS, seen, strict=True)
    }
    return Result(photo.name, size, reading.verdict, len(fold(words).split()), found)


def matches(words: str, text: str) -> int:
    """How many of the words stand in a text, each as often as it does; case is let pass.

    >>> matches("NO PARKING NO PARKING", "No parking, no")
    2
    """
    wanted, got = (Counter(fold(one).upper().split()) for one in (words, text))
    return sum((wanted & got).values())


def table(results: Sequence[Result]) -> str:
    """The report as Markdown."""
    worded = [one for one in results if one.words]
    rows = [["picture", "size named", "words", *COLUMNS]]
    for one in results:
        named = f"{one.size}, {one.verdict}" if one.size else str(one.verdict)
        cells = [str(one.found[column]) if one.words else "" for column in COLUMNS]
        rows.append([one.name, named, str(one.words or ""), *cells])
    sums = [str(sum(one.found[column] for one in worded)) for column in COLUMNS]
    rows.append(["all", "", str(sum(one.words for one in worded)), *sums])
    told = sum(one.told for one in results)
    head = (
        "# Pictures from outside\n\nWritten by `python -m reader.train.bench.outside`; where the "
        f"pictures come from stands there.\nSizes told (sure or likely) where none is: {told} of "
        f"{len(results)} pictures. Words read exactly:\n"
    )
    return f"{head}\n{markdown(rows)}\n"


def main(arguments: Sequence[str] | None = None) -> None:
    """Read all and write the table."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.bench.outside")
    parser.add_argument("--out", type=Path, help="Markdown file; printed as well")
    chosen = parser.parse_args(arguments)
    text = table([judge(photo, words) for photo, words in photographs()])
    print(text)
    if chosen.out:
        chosen.out.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
