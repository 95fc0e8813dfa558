"""Build the packs of open fonts that rendered markings are drawn with.

    python -m reader.train.fonts.packs --out carry/fonts           rebuilds what fonts.csv lists
    python -m reader.train.fonts.packs --out carry/fonts --choose  chooses from font_sources.csv

Each font is cut down to the letters that markings need and written to OUT/train or OUT/held-out,
with OUT/index.csv beside them. Fonts are not part of the repository; only where they come from is.
"""

from __future__ import annotations

import argparse
import csv
import logging
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, fields, replace
from io import BytesIO
from pathlib import Path

from reader.errors import InputError, ReaderError
from reader.train.fonts import check as fontcheck
from reader.train.fonts import fetch as fontfetch
from reader.train.fonts import split as fontsplit
from reader.train.fonts.pick import Found, find_files

HERE = Path(__file__).parent
ROWS, SOURCES = HERE / "fonts.csv", HERE / "font_sources.csv"
_TOO_BIG = 120_000  # bytes: distressed designs with thousands of points


@dataclass(frozen=True)
class FontRow:
    """One font file of the packs; `lacks` are the useful letters that it does not have."""

    name: str
    family: str
    style: str
    kind: str  # 'wide', 'condensed', 'din', …
    set: str  # 'train' or 'held-out'
    package: str
    version: str
    licence: str
    file: str  # within the package
    axes: str  # of a variable font: 'wdth=125,wght=700'
    lacks: str
    group: str  # families that share a design share it


def read_rows(path: Path = ROWS) -> list[FontRow]:
    """Rows of fonts.csv."""
    with path.open(newline="", encoding="utf-8") as file:
        return [FontRow(**row) for row in csv.DictReader(file)]


def write_rows(rows: Sequence[FontRow], path: Path = ROWS) -> None:
    """Write fonts.csv, sorted by name."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, [f.name for f in fields(FontRow)], lineterminator="\n")
        writer.writeheader()
        writer.writerows(asdict(row) for row in sorted(rows, key=lambda row: row.name))


def cut_down(path: Path, axes: str = "") -> tuple[bytes, set[int]]:
    """A font with only the letters that markings need, and the code points it came with.

    A font without a times sign gets its x in that place, as markings are set.

    Raises:
        InputError: not a font that fontTools can read.
    """
    from fontTools import subset
    from fontTools.ttLib import TTFont, TTLibError

    try:
        font = TTFont(path, lazy=True, recalcTimestamp=False)
        if "fvar" in font:
            font = _instance(font, axes)
        options = subset.Options(
            hinting=False, layout_features=[], notdef_outline=True, name_IDs=[0, 1, 2, 13, 14],
            glyph_names=False, drop_tables=["GSUB", "GPOS", "GDEF", "kern", "DSIG"],
        )  # fmt: skip
        cutter = subset.Subsetter(options)
        cutter.populate(text=fontcheck.WANTED)
        cutter.subset(font)
        have = set(font.getBestCmap())
        _times_as_x(font)
        font.flavor = None
        packed = BytesIO()
        font.save(packed)
        return packed.getvalue(), have
    except (TTLibError, KeyError, AssertionError, ValueError) as trouble:
        raise InputError(f"{path.name} can't be converted ({trouble})", "leave it out") from None


def _times_as_x(font) -> None:  # type: ignore[no-untyped-def]
    """Map the times sign to x where a font lacks it."""
    for table in font["cmap"].tables:
        if table.isUnicode() and ord("x") in table.cmap:
            table.cmap.setdefault(ord("×"), table.cmap[ord("x")])


def _instance(font, axes: str):  # type: ignore[no-untyped-def]
    """One fixed cut of a variable font; axes not named stay at their default."""
    from fontTools.varLib import instancer

    place = {axis.axisTag: axis.defaultValue for axis in font["fvar"].axes}
    wanted = dict(part.split("=") for part in axes.split(",") if part)
    place.update({tag: float(value) for tag, value in wanted.items() if tag in place})
    return instancer.instantiateVariableFont(font, place, inplace=True)


def choose(work: Path, sources: Path = SOURCES) -> Iterator[tuple[FontRow, bytes]]:
    """Fonts fit for use from the packages in font_sources.csv, not yet split, and their bytes."""
    with sources.open(newline="", encoding="utf-8") as file:
        listed = list(csv.DictReader(file))
    fetch({row["package"]: "" for row in listed}, work)
    taken: set[str] = set()
    for source in listed:
        for found in find_files(source["package"], source["pick"], work):
            if found.name in taken:
                continue
            made = _try(found, source["class"])
            if made:
                taken.add(found.name)
                yield made


def _try(found: Found, kind: str) -> tuple[FontRow, bytes] | None:
    """The row and bytes of one font file, or `None`, with the reason printed."""
    try:
        data, covered = cut_down(found.path, found.axes)
    except InputError as trouble:
        print(f"left out {found.name}: {trouble.message}")
        return None
    wrong = fontcheck.faults(data, covered)
    if len(data) > _TOO_BIG:
        wrong.append(f"{len(data)} bytes")
    if not fontfetch.is_open(found.licence):
        wrong.append(f"licence {found.licence!r} is not clearly open")
    if not fontfetch.may_train(found.licence):
        wrong.append(f"licence {found.licence!r} has no exception for fonts")
    if wrong:
        print(f"left out {found.name}: {', '.join(wrong[:3])}")
        return None
    row = FontRow(
        found.name, found.family, found.style, kind, "", found.package, found.version,
        found.licence, found.file, found.axes, fontcheck.lacks(covered), "",
    )  # fmt: skip
    return row, data


def split(chosen: Sequence[tuple[FontRow, bytes]]) -> list[tuple[FontRow, bytes]]:
    """The same fonts, each given to the training or the held-out set."""
    keys = [fontsplit.family_key(row.family) for row, _ in chosen]
    groups = fontsplit.join_twins(keys, [fontsplit.digit_shape(data) for _, data in chosen])
    kinds: dict[str, str] = {}
    for group, (row, _) in zip(groups, chosen, strict=True):
        kinds.setdefault(group, row.kind)
    out = fontsplit.held_out(kinds)
    return [
        (replace(row, group=group, set="held-out" if group in out else "train"), data)
        for group, (row, data) in zip(groups, chosen, strict=True)
    ]


def rebuild(rows: Sequence[FontRow], work: Path) -> Iterator[tuple[FontRow, bytes]]:
    """The fonts that the rows list, and their bytes.

    Raises:
        InputError: a package or a file in it is no longer to be had.
    """
    fetch({row.package: row.version for row in rows}, work)
    for row in rows:
        yield row, cut_down(package_folder(row.package, work) / row.file, row.axes)[0]


def fetch(packages: dict[str, str], work: Path) -> None:
    """Fetch npm packages (names with '@') and Debian packages (all others)."""
    fontfetch.fetch_npm({n: v for n, v in packages.items() if n[0] == "@"}, work / "npm")
    fontfetch.fetch_debian({n: v for n, v in packages.items() if n[0] != "@"}, work / "debian")


def package_folder(package: str, work: Path) -> Path:
    """Where a fetched package's files lie."""
    if package[0] == "@":
        return fontfetch.npm_folder(package, work / "npm")
    return fontfetch.debian_folder(package, work / "debian")


def write_packs(made: Sequence[tuple[FontRow, bytes]], out: Path) -> int:
    """Write OUT/train, OUT/held-out and OUT/index.csv; returns the bytes written."""
    for name in ("train", "held-out"):
        shutil.rmtree(out / name, ignore_errors=True)
        (out / name).mkdir(parents=True)
    with (out / "index.csv").open("w", newline="", encoding="utf-8") as file:
        index = csv.writer(file, lineterminator="\n")
        index.writerow(["path", "set", "family", "style", "class", "lacks", "group"])
        for row, data in made:
            end = "otf" if data[:4] == b"OTTO" else "ttf"
            path = Path(row.set) / f"{row.name}.{end}"
            (out / path).write_bytes(data)
            index.writerow([path, row.set, row.family, row.style, row.kind, row.lacks, row.group])
    return sum(len(data) for _, data in made)


def main() -> None:
    """Entry of `python -m reader.train.fonts.packs`."""
    parser = argparse.ArgumentParser(description="Build the font packs.")
    parser.add_argument("--out", type=Path, default=Path("carry/fonts"))
    parser.add_argument("--work", type=Path, default=Path("out/font-packages"))
    parser.add_argument("--choose", action="store_true", help="choose anew and rewrite fonts.csv")
    chosen = parser.parse_args()
    # tables that fontTools leaves out are none that drawing needs
    logging.getLogger("fontTools").setLevel(logging.ERROR)
    try:
        if chosen.choose:
            made = split(list(choose(chosen.work)))
            write_rows([row for row, _ in made])
        else:
            made = list(rebuild(read_rows(), chosen.work))
    except ReaderError as trouble:
        raise SystemExit(str(trouble)) from None
    size = write_packs(made, chosen.out)
    held = sum(row.set == "held-out" for row, _ in made)
    print(f"{len(made)} fonts, {held} held out, {size / 1e6:.1f} MB in {chosen.out}")


if __name__ == "__main__":
    main()
