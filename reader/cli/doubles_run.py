"""What `tyremark doubles` does: pairs that look like one part, and a person's word on them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from reader import catalogue as store
from reader.catalogue.db.codes import pretty
from reader.catalogue.io.lists import SAVE
from reader.cli.screen import print_json
from reader.errors import CatalogueError, InputError
from reader.language import N_, said
from reader.report import percent

HOW = N_("Say so: tyremark doubles CODE CODE --same, or --different; --picture FILE shows both.")


@dataclass(frozen=True)
class Wishes:
    """What was asked for."""

    parts: tuple[str, ...]
    said: str  # '', same, different
    person: str
    bin: str
    settled: bool
    picture: Path | None
    json: bool


def run(where: str, wishes: Wishes) -> None:
    """Compare what is new, list the pairs, or keep a person's word.

    Raises:
        InputError: one code or more than two, or nothing to say of them.
    """
    if len(wishes.parts) not in (0, 2):
        raise InputError(f"{len(wishes.parts)} codes", "give two codes, or none to list all")
    if wishes.said and not wishes.parts:
        raise InputError("no codes", "give the codes of the two parts")
    catalogue = store.open_catalogue(where, create=False)
    store.assure_known(catalogue, bin=wishes.bin)
    if wishes.parts and wishes.picture is not None:
        _show(catalogue, wishes.parts, wishes.picture)
    if wishes.parts and wishes.said:
        one, other = wishes.parts
        print(line(store.say(catalogue, one, other, wishes.said, wishes.person)))
    elif not wishes.parts:
        _list(catalogue, wishes)
    elif wishes.picture is None:
        raise InputError("nothing is said of the two", "add --same, --different or --picture FILE")


def _list(catalogue: store.Catalogue, wishes: Wishes) -> None:
    compare(catalogue)
    pairs = store.doubles(catalogue, wishes.settled, wishes.bin)
    if wishes.json:
        print_json([as_dict(pair) for pair in pairs])
        return
    for pair in pairs:
        print(line(pair))
    print(said(HOW) if pairs else said("No two parts look like one."))


def compare(catalogue: store.Catalogue) -> int:
    """Compare new parts with those of their size, with a bar where somebody looks on."""
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(said("comparing looks"), total=None)
        return store.suggest(
            catalogue, lambda done, total: bar.update(task, completed=done, total=total)
        ).pairs


def line(pair: store.Double) -> str:
    """A pair in one line."""
    sides = (f"{pretty(one.code)} {one.told_size or '?'} {one.bin}" for one in _both(pair))
    if pair.said == "same":
        word = said(f"the same: {pretty(pair.gone)} no longer counts")
    elif pair.said:
        word = said("not the same")
    else:
        word = said(f"alike: {percent(pair.likeness)}")
    return f"{' + '.join(side.strip() for side in sides)}  {word}"


def _both(pair: store.Double) -> tuple[store.Part, store.Part]:
    return pair.part, pair.other


def as_dict(pair: store.Double) -> dict[str, object]:
    """A pair as JSON tells it."""
    sides = [
        {"code": one.code, "size": str(one.told_size or ""), "bin": one.bin, "depot": one.depot}
        for one in _both(pair)
    ]
    return {"parts": sides, "likeness": pair.likeness, "said": pair.said, "gone": pair.gone}


def _show(catalogue: store.Catalogue, parts: tuple[str, ...], picture: Path) -> None:
    png = store.side_by_side(catalogue, *parts)
    if png is None:
        remedy = "they were added without photo or read by an older tyremark: read them again"
        raise InputError("no pictures of these parts are kept", remedy)
    try:
        picture.write_bytes(png)
    except OSError as error:
        raise CatalogueError(f"{picture} can't be written ({error.strerror})", SAVE) from error
    print(said(f"{picture}: the first above, the second below"))
