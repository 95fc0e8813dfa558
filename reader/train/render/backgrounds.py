"""Build the packs of photographs and textures that stand behind and in front of rendered wheels.

    python -m reader.train.render.backgrounds --out carry/backgrounds

The pictures listed in backgrounds.csv come from Debian packages with open licences. Pictures with
readable text or with people were left out after looking at each. A large photograph gives a second
picture: its middle, closer. Both are in the same set. Nothing of it is part of the repository.
"""

from __future__ import annotations

import argparse
import csv
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, fields, replace
from fnmatch import fnmatch
from pathlib import Path

from PIL import Image

from reader.errors import ReaderError
from reader.train.fonts import fetch as fontfetch

ROWS = Path(__file__).parent / "backgrounds.csv"
LONGEST = 1200  # pixels of the longer side
_LARGE = 2000  # pixels from which the middle is worth a picture of its own
_QUALITY = 80


@dataclass(frozen=True)
class BackgroundRow:
    """One picture of the packs."""

    name: str
    set: str  # 'train' or 'held-out'
    package: str
    version: str
    licence: str
    file: str  # within the package


def read_rows(path: Path = ROWS) -> list[BackgroundRow]:
    """Rows of backgrounds.csv."""
    with path.open(newline="", encoding="utf-8") as file:
        return [BackgroundRow(**row) for row in csv.DictReader(file)]


def write_rows(rows: Sequence[BackgroundRow], path: Path = ROWS) -> None:
    """Write backgrounds.csv."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, [f.name for f in fields(BackgroundRow)], lineterminator="\n")
        writer.writeheader()
        writer.writerows(asdict(row) for row in rows)


def with_sources(rows: Sequence[BackgroundRow], work: Path) -> list[BackgroundRow]:
    """The rows with version and licence as the fetched packages tell them."""
    return [
        replace(
            row,
            version=fontfetch.debian_version(row.package, work),
            licence=file_licence(row.package, row.file, work),
        )
        for row in rows
    ]


def file_licence(package: str, file: str, work: Path) -> str:
    """Licence that a package's copyright file gives for one file: the last pattern that fits."""
    path = fontfetch.debian_folder(package, work) / "usr/share/doc" / package / "copyright"
    found = ""
    for paragraph in path.read_text(errors="replace").split("\n\n"):
        patterns, licence = _files_and_licence(paragraph)
        base = file.rsplit("/", 1)[-1]
        if any(p == "*" or fnmatch(base, p.rsplit("/", 1)[-1]) and p[-1] != "*" for p in patterns):
            found = licence or found
    return found


def _files_and_licence(paragraph: str) -> tuple[list[str], str]:
    """File patterns and short licence name of one paragraph of a copyright file."""
    patterns: list[str] = []
    licence, field = "", ""
    for line in paragraph.splitlines():
        if line[:1].strip() and ":" in line:
            field, _, rest = line.partition(":")
            if field == "License":
                licence = rest.strip()
        else:
            rest = line
        if field == "Files":
            patterns += rest.split()
    return patterns, licence


def cuts(picture: Image.Image) -> Iterator[Image.Image]:
    """The picture, and its middle where it is large, none wider or higher than `LONGEST`."""
    plain = picture.convert("RGB")
    width, height = plain.size
    yield _small(plain)
    if max(width, height) >= _LARGE:
        yield _small(plain.crop((width // 3, height // 3, 2 * width // 3, 2 * height // 3)))


def _small(picture: Image.Image) -> Image.Image:
    copy = picture.copy()
    copy.thumbnail((LONGEST, LONGEST), Image.Resampling.LANCZOS)
    return copy


def build(rows: Sequence[BackgroundRow], work: Path, out: Path) -> list[Path]:
    """Write OUT/train/*.jpg and OUT/held-out/*.jpg; returns their paths.

    Raises:
        InputError: a package is no longer to be had.
    """
    fontfetch.fetch_debian({row.package: row.version for row in rows}, work)
    written = []
    for name in ("train", "held-out"):
        shutil.rmtree(out / name, ignore_errors=True)
        (out / name).mkdir(parents=True)
    for row in rows:
        with Image.open(fontfetch.debian_folder(row.package, work) / row.file) as picture:
            for number, cut in enumerate(cuts(picture)):
                path = out / row.set / f"{row.name}{'-close' * number}.jpg"
                cut.save(path, quality=_QUALITY)
                written.append(path)
    return written


def main() -> None:
    """Entry of `python -m reader.train.render.backgrounds`."""
    parser = argparse.ArgumentParser(description="Build the background packs.")
    parser.add_argument("--out", type=Path, default=Path("carry/backgrounds"))
    parser.add_argument("--work", type=Path, default=Path("out/background-packages"))
    parser.add_argument("--record", action="store_true", help="note versions and licences anew")
    chosen = parser.parse_args()
    try:
        written = build(read_rows(), chosen.work, chosen.out)
    except ReaderError as trouble:
        raise SystemExit(str(trouble)) from None
    if chosen.record:
        write_rows(with_sources(read_rows(), chosen.work))
    size = sum(path.stat().st_size for path in written)
    held = sum(path.parent.name == "held-out" for path in written)
    print(f"{len(written)} pictures, {held} held out, {size / 1e6:.1f} MB in {chosen.out}")


if __name__ == "__main__":
    main()
