"""Lists out and in: CSV and Parquet with the same columns."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from reader.catalogue.columns import LISTED
from reader.catalogue.db.codes import pretty
from reader.catalogue.db.parts import PARTS
from reader.catalogue.db.store import Catalogue
from reader.errors import CatalogueError, InputError
from reader.records import Size

SIZE = "size"  # written for people and other programs, not read back
# name -> (type, what it holds); the order is that of the file.
COLUMNS: Mapping[str, tuple[type, str]] = {
    **{name: (LISTED[name].type, LISTED[name].about.meaning) for name in ("code", "kind")},
    SIZE: (str, "ISO size, width-diameter; written only, not read back"),
    **{name: (one.type, one.about.meaning) for name, one in LISTED.items()},
}
RISKY = ("=", "+", "-", "@", "\t", "\r", "\n")  # a spreadsheet runs what begins so
SAVE = "choose another place with room that you may write"


def guard(text: str) -> str:
    """A text that no spreadsheet takes for a formula; `unguard` gives the text back.

    >>> guard("=1+1"), guard("'quoted'"), guard("47-507")
    ("'=1+1", "''quoted'", '47-507')
    """
    return f"'{text}" if text.startswith((*RISKY, "'")) else text


def unguard(text: str) -> str:
    """The text before `guard`.

    >>> unguard("'=1+1"), unguard("'tis")
    ('=1+1', "'tis")
    """
    return text[1:] if text[:1] == "'" and text[1:].startswith((*RISKY, "'")) else text


def rows(catalogue: Catalogue) -> Iterator[dict[str, Any]]:
    """All parts, by place and code, with the columns of `COLUMNS`."""
    c = PARTS.c
    places = [(name, LISTED[name].name) for name in COLUMNS if name != SIZE]
    with catalogue.read() as connection:
        query = sa.select(PARTS).order_by(c.bin, c.shelf, c.code)
        for row in connection.execution_options(yield_per=1000).execute(query).mappings():
            size = "" if row["bsd"] is None else str(Size(row["bsd"], row["width"]))
            values = {name: row[column] for name, column in places}
            values["code"] = pretty(row["code"])
            yield {name: size if name == SIZE else values[name] for name in COLUMNS}


def write_list(catalogue: Catalogue, path: Path) -> int:
    """Write all parts to a CSV or Parquet file, by its suffix; an old one stays until it is whole.

    Returns:
        How many parts.

    Raises:
        InputError: another suffix.
        CatalogueError: the file can't be written.
    """
    writers = {".csv": _write_csv, ".parquet": _write_parquet}
    writer = writers.get(path.suffix.lower())
    if writer is None:
        raise InputError(f"{path.name} is neither .csv nor .parquet", "name one of the two")
    part = path.with_name(path.name + ".part")
    try:
        count = writer(part, rows(catalogue))
        part.replace(path)
    except OSError as error:
        raise CatalogueError(f"{path} can't be written ({error.strerror})", SAVE) from error
    finally:
        if part.exists():
            part.unlink()
    return count


def _write_csv(path: Path, found: Iterator[dict[str, Any]]) -> int:
    count = 0
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        for row in found:
            writer.writerow(guard(v) if isinstance(v, str) else v for v in row.values())
            count += 1
    return count


def _arrow() -> tuple[Any, Any]:
    """The library that knows Parquet.

    Raises:
        InputError: it is not installed.
    """
    try:
        import pyarrow as pa
        from pyarrow import parquet
    except ImportError as error:
        remedy = 'use a .csv file, or install it with: pip install "tyremark[parquet]"'
        raise InputError("Parquet files need the library pyarrow", remedy) from error
    return pa, parquet


def _write_parquet(path: Path, found: Iterator[dict[str, Any]]) -> int:
    pa, parquet = _arrow()
    types = {str: pa.string(), int: pa.int64(), float: pa.float64()}
    fields = [
        pa.field(name, types[kind], metadata={"meaning": meaning})
        for name, (kind, meaning) in COLUMNS.items()
    ]
    table = pa.Table.from_pylist(list(found), schema=pa.schema(fields))
    parquet.write_table(table, path)
    return int(table.num_rows)


def read_rows(path: Path) -> tuple[list[str], list[dict[str, Any]]]:
    """The columns of a CSV or Parquet file, and its rows; '' where nothing stands.

    Each row has the columns of the file, and under 'line' where it stands.

    Raises:
        InputError: not such a file, cut off, unknown columns.
    """
    if not path.is_file():
        raise InputError(f"{path} is not there", "check the file's name")
    suffix = path.suffix.lower()
    if suffix not in (".csv", ".parquet"):
        raise InputError(f"{path.name} is neither .csv nor .parquet", "name one of the two")
    return _read_csv(path) if suffix == ".csv" else _read_parquet(path)


def check_columns(names: Sequence[str], path: Path) -> None:
    """Refuse columns that mean nothing here, twice the same one, and a list without parts."""
    unknown = [name for name in names if name not in COLUMNS]
    if unknown:
        near = [get_close_matches(name, COLUMNS, 1, 0.5) for name in unknown]
        meant = ", ".join(dict.fromkeys(one[0] for one in near if one))
        known = f"near are {meant}; all are" if meant else "known columns:"
        remedy = f"lengths are in mm, as bsd_mm and width_mm; {known} {', '.join(COLUMNS)}"
        raise InputError(f"{path.name} has unknown columns: {', '.join(unknown)}", remedy)
    if len(set(names)) < len(names):
        raise InputError(f"{path.name} has a column twice", "keep one of them")
    if "code" not in names:
        missing = {"kind", "bsd_mm"} - set(names)
        if missing:
            remedy = "the first line must name the columns; new parts need these two"
            raise InputError(f"{path.name} lacks the column {', '.join(sorted(missing))}", remedy)


def _read_csv(path: Path) -> tuple[list[str], list[dict[str, Any]]]:
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{path.name} is not UTF-8 text", "save it as CSV UTF-8") from error
    except OSError as error:
        what = f"{path} can't be read ({error.strerror})"
        raise InputError(what, "check the file and your right to read it") from error
    header = text.split("\n", 1)[0]
    mark = ";" if header.count(";") > header.count(",") else ","  # spreadsheets in many countries
    # Lines end as the reader sees them, not at every character that ends a line in some text.
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    found: list[dict[str, Any]] = []
    try:
        names = [name.strip() for name in next(reader, [])]
        check_columns(names, path)
        for cells in reader:
            if len(cells) != len(names) and cells:
                what = (
                    f"line {reader.line_num} of {path.name} has {len(cells)} of {len(names)} cells"
                )
                raise InputError(what, "the file is cut off or damaged; save it again")
            if cells:
                values = dict(zip(names, map(unguard, cells), strict=True))
                found.append({**values, "line": reader.line_num})
    except csv.Error as error:
        what = f"line {reader.line_num} of {path.name} can't be read ({error})"
        raise InputError(what, "the file is cut off or damaged; save it again") from error
    return names, found


def _read_parquet(path: Path) -> tuple[list[str], list[dict[str, Any]]]:
    pa, parquet = _arrow()
    try:
        table = parquet.read_table(path)
    except (OSError, pa.ArrowException) as error:
        raise InputError(f"{path.name} is no whole Parquet file", "write it again") from error
    check_columns(table.column_names, path)
    return list(table.column_names), [
        {**{k: "" if v is None else v for k, v in row.items()}, "line": number}
        for number, row in enumerate(table.to_pylist(), start=1)
    ]
