"""What `tyremark review` does: one part after the other, and one answer for each."""

from __future__ import annotations

from rich.console import Console

from reader import catalogue as store
from reader.catalogue.db.codes import pretty
from reader.cli.strip_view import strip_text
from reader.errors import ReaderError
from reader.names.typed import parse
from reader.report import percent
from reader.tables import Tables, load_tables

WORTH_SHOWING = 0.005
KEYS = "1-9 accept, or the right size (47-507), a: photograph again, s: skip, q: stop"


def run(where: str, bin: str, person: str) -> None:
    """Ask until nothing is left or the person stops; each answer is kept at once."""
    console = Console(highlight=False)
    catalogue = store.open_catalogue(where, create=False)
    tables = load_tables()
    done = 0
    seen: set[str] = set()
    try:
        while (item := _next(catalogue, bin, seen)) is not None:
            left = store.waiting(catalogue)["queue"]
            _show(console, item, left)
            if not _ask(console, catalogue, item, tables, person):
                break
            seen.add(item.part.code)
            done += 1
    except EOFError:
        pass
    finally:
        console.print(f"{done} parts looked at, {store.waiting(catalogue)['queue']} left.")
        catalogue.close()


def _next(catalogue: store.Catalogue, bin: str, seen: set[str]) -> store.ReviewItem | None:
    """The first that was not shown in this sitting; a skipped one comes back in the next."""
    for item in store.review_queue(catalogue, limit=len(seen) + 1, bin=bin):
        if item.part.code not in seen:
            return item
    return None


def _show(console: Console, item: store.ReviewItem, left: int) -> None:
    part = item.part
    console.rule(f"{pretty(part.code)}  {part.kind}  {part.bin} {part.shelf}  ({left} to go)")
    if item.strip:
        colours = console.color_system in ("256", "truecolor")
        console.print(strip_text(item.strip, console.width, colours), end="")
    for path in item.photos:
        console.print(f"  {path}", markup=False)
    for text in item.document.get("read", ()):
        console.print(f"  read: {text}", markup=False)
    for rank, share in enumerate(item.shares[:9], start=1):
        if rank == 1 or share.probability >= WORTH_SHOWING:
            console.print(f"  {rank}  {share.size} {share.kind}  {percent(share.probability)}")
    if not item.shares:
        console.print("  no size was read")


def _ask(
    console: Console,
    catalogue: store.Catalogue,
    item: store.ReviewItem,
    tables: Tables,
    person: str,
) -> bool:
    """One answer; False to stop."""
    code = item.part.code
    while True:
        answer = console.input(f"{KEYS}\n> ").strip()
        try:
            if answer == "q":
                return False
            if answer == "s":
                store.skip(catalogue, code, person)
            elif answer == "a":
                store.photograph_again(catalogue, code, person)
            elif len(answer) == 1 and answer.isdigit():
                store.accept(catalogue, code, int(answer), person)
            else:
                meant = parse(answer, tables).one(item.part.kind)
                store.correct(catalogue, code, meant.size, "", answer, person, meant.edge)
            return True
        except ReaderError as error:
            console.print(str(error), markup=False)
