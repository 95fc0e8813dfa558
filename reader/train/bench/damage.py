"""Twenty ways in which a catalogue's file gets damaged, and which commands notice each.

`python -m reader.train.bench.damage` prints the table that stands in catalogue.md.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import partial
from pathlib import Path

from typer.testing import CliRunner

from reader.catalogue import open_catalogue
from reader.cli import app
from reader.errors import CatalogueError

GOOD = Path(__file__).parents[3] / "fixtures" / "catalogues" / "v0001.db"
COMMANDS = {
    "tally": ["tally"],
    "export": ["export", "out.csv"],
    "bin": ["bin", "photos"],
    "check": ["check"],
}
Damage = Callable[[Path], None]


def _cut(path: Path, share: float) -> None:
    with path.open("r+b") as file:
        file.truncate(int(path.stat().st_size * share))


def _over(path: Path, at: int, data: bytes) -> None:
    with path.open("r+b") as file:
        file.seek(at)
        file.write(data)


def _page(path: Path) -> int:
    return int.from_bytes(path.read_bytes()[16:18])


def _zeroed(path: Path, name: str) -> None:
    """The first page of a table or index becomes zeros."""
    with closing(sqlite3.connect(path)) as connection:
        query = "SELECT rootpage FROM sqlite_master WHERE name = ?"
        (root,) = connection.execute(query, (name,)).fetchone()
    _over(path, (root - 1) * _page(path), bytes(_page(path)))


def _noise(path: Path, seed: int) -> None:
    """The first 512 bytes of some page become noise."""
    dice = random.Random(seed)
    size = _page(path)
    page = dice.randrange(2, path.stat().st_size // size)
    _over(path, page * size, dice.randbytes(512))


def _swapped(path: Path) -> None:
    size, data = _page(path), path.read_bytes()
    one, other = data[2 * size : 3 * size], data[9 * size : 10 * size]
    _over(path, 2 * size, other)
    _over(path, 9 * size, one)


def _statement(path: Path, text: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(text)


DAMAGES: dict[str, Damage] = {
    **{f"cut off at {share:.1%}": partial(_cut, share=share) for share in (0.25, 0.5, 0.9, 0.999)},
    "first 100 bytes zero": partial(_over, at=0, data=bytes(100)),
    "page size changed": partial(_over, at=16, data=b"\x02\x00"),
    **{
        f"first page of {name} zero": partial(_zeroed, name=name)
        for name in ("parts", "candidates", "photos", "readings", "history", "parts_by_size")
    },
    **{f"noise over some page, {k}": partial(_noise, seed=3_000_000 + k) for k in (1, 2, 3)},
    "two pages in each other's place": _swapped,
    "a table is gone": partial(_statement, text="DROP TABLE candidates"),
    "an index is gone": partial(_statement, text="DROP INDEX parts_by_place"),
    "parts are gone, the rest is there": partial(_statement, text="DELETE FROM parts"),
    "a column is gone": partial(_statement, text="ALTER TABLE parts DROP COLUMN holes"),
}


def noticed(folder: Path, name: str) -> dict[str, bool]:
    """Which commands refuse a catalogue that is damaged in this way, in one line."""
    where, photos = folder / "parts.db", folder / "photos"
    for rest in folder.glob("parts.db*"):
        rest.unlink()
    photos.mkdir(exist_ok=True)
    shutil.copy(GOOD, where)
    open_catalogue(where).close()  # brings it to this version
    DAMAGES[name](where)
    found = {}
    for command, words in COMMANDS.items():
        words = [str(folder / one) if one in ("photos", "out.csv") else one for one in words]
        result = CliRunner().invoke(app, [*words, "--catalogue", str(where)])
        found[command] = result.exit_code == 6 or isinstance(result.exception, CatalogueError)
    found["serve"] = _serve(where)
    return found


def _serve(where: Path) -> bool:
    from reader.web.stock import Stock

    try:
        Stock(str(where), where.parent / "kept").close()
    except CatalogueError:
        return True
    return False


def rows() -> Iterator[tuple[str, str]]:
    """One line a damage, then the sum."""
    whole = 0
    with tempfile.TemporaryDirectory() as name:
        for damage in DAMAGES:
            found = noticed(Path(name), damage)
            missed = [command for command, seen in found.items() if not seen]
            whole += not missed
            yield damage, "noticed by all" if not missed else f"NOT by {', '.join(missed)}"
    yield "noticed by tally, export, bin, check and serve", f"{whole} of {len(DAMAGES)}"


if __name__ == "__main__":
    print("| damage | noticed |\n|---|---|")
    for what, seen in rows():
        print(f"| {what} | {seen} |")
