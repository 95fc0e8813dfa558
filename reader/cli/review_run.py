"""What `tyremark review` does: one part after the other, and one answer for each."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from reader import catalogue as store
from reader.catalogue.db.codes import pretty
from reader.catalogue.io.lists import SAVE
from reader.cli.ending import told
from reader.cli.inline_picture import inline
from reader.cli.strip_view import strip_text
from reader.errors import CatalogueError, ReaderError
from reader.language import N_, said
from reader.names.typed import parse
from reader.report import percent
from reader.tables import Tables, load_tables

WORTH_SHOWING = 0.005
KEYS = N_(
    "1-9 accept, or the right size (47-507), a: photograph again, f: no bicycle part, s: skip, "
    "b: back, q: stop"
)
A_SITTING = 10  # parts, after which the person is asked whether to go on


class Back(Exception):
    """The person wants to see the part before once more."""


def run(where: str, bin: str, person: str, picture: Path | None = None) -> None:
    """Ask until nothing is left or the person stops; each answer is kept at once.

    Args:
        where: the catalogue.
        bin: only parts in this bin; '' for all.
        person: who answers.
        picture: where to write the strip of the part that is shown, as PNG.
    """
    console = Console(highlight=False)
    catalogue = store.open_catalogue(where, create=False)
    tables = load_tables()
    done = 0
    seen: list[str] = []
    store.assure_known(catalogue, bin=bin)
    again = ""
    try:
        while (item := _next(catalogue, bin, seen, again)) is not None:
            again = ""
            left = store.waiting(catalogue)["queue"]
            _show(console, item, left, picture)
            try:
                if not _ask(console, catalogue, item, tables, person):
                    break
            except Back:
                again = _back(console, catalogue, seen, person) or item.part.code
                done -= again != item.part.code
                continue
            seen.append(item.part.code)
            done += 1
            if done % A_SITTING == 0 and not _go_on(console, done):
                break
    except EOFError:
        pass
    finally:
        console.print(said(f"{done} parts looked at, {store.waiting(catalogue)['queue']} left."))
        catalogue.close()


def _go_on(console: Console, done: int) -> bool:
    answer = console.input(said(f"{done} parts done. Enter: go on, q: stop") + "\n> ").strip()
    return answer != "q"


def _back(console: Console, catalogue: store.Catalogue, seen: list[str], person: str) -> str:
    """Take back what was said of the part before; its code, '' if there is none."""
    if not seen:
        console.print(said("This is the first one."))
        return ""
    code = seen.pop()
    if store.get_part(catalogue, code).state != "open":
        store.reopen(catalogue, code, person)
    return code


def _next(
    catalogue: store.Catalogue, bin: str, seen: list[str], again: str
) -> store.ReviewItem | None:
    """The first that was not shown in this sitting; a skipped one comes back in the next."""
    if again:
        return store.review_item(catalogue, again)
    for item in store.review_queue(catalogue, limit=len(seen) + 1, bin=bin):
        if item.part.code not in seen:
            return item
    return None


def _show(console: Console, item: store.ReviewItem, left: int, picture: Path | None = None) -> None:
    part = item.part
    to_go = said(f"{left} to go")
    console.rule(f"{pretty(part.code)}  {said(part.kind)}  {part.bin} {part.shelf}  ({to_go})")
    if item.strip:
        drawn = inline(item.strip, console.width) if console.is_terminal else ""
        if drawn:
            console.file.write(drawn)
        else:
            colours = console.color_system in ("256", "truecolor")
            console.print(strip_text(item.strip, console.width, colours), end="")
    if item.strip and picture is not None:
        _write(picture, item.strip)
        console.print(said(f"  strip: {picture}"), markup=False)
    for path in item.photos:
        console.print(f"  {path}", markup=False)
    for text in item.document.get("read", ()):
        console.print(said(f"  read: {text}"), markup=False)
    if part.width_open:
        console.print(said(f"  the diameter is sure, {part.bsd} mm; the width is open"))
    for rank, share in enumerate(item.shares[:9], start=1):
        if rank == 1 or share.probability >= WORTH_SHOWING:
            belief = said(percent(share.probability))
            console.print(f"  {rank}  {share.size} {said(share.kind)}  {belief}")
    if not item.shares:
        console.print(said("  no size was read"))


def _write(picture: Path, strip: bytes) -> None:
    try:
        picture.write_bytes(strip)
    except OSError as error:
        raise CatalogueError(f"{picture} can't be written ({error.strerror})", SAVE) from error


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
        answer = console.input(f"{said(KEYS)}\n> ").strip()
        try:
            if answer == "q":
                return False
            if answer == "b":
                raise Back
            if answer == "f":
                store.set_aside(catalogue, code, person)
            elif answer == "s":
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
            console.print(told(error), markup=False)
