"""Collects the program's sentences for translators: python -m reader.train.words.

Writes every sentence into each catalogue of `reader/locale`: new ones empty, those that nobody uses
any more dropped, all others as they were. Where sentences come from:

- what code and templates mark with `_`, `gettext`, `ngettext`, `N_` and `said`; an f-string becomes
  a sentence with %(name)s where something is filled in;
- messages and remedies of errors (every call of a class whose name ends in Error);
- help of the command line, and the words of the library that prints it (`locale/library.txt`);
- columns of the tables that hold sentences (`TOLD`);
- `locale/made.txt`, one sentence a line: what can't be marked where it is made.
"""

from __future__ import annotations

import argparse
import ast
import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from reader.language import FOLDER, LANGUAGES, PLACE
from reader.markings import NOTATIONS

ROOT = Path(__file__).parents[1]
METHODS = [("**/templates/**.html", "jinja2"), ("**.py", "python")]
KEYWORDS = {"_": None, "gettext": None, "ngettext": (1, 2), "counted": (2, 3)}
OPTIONS = {"**/templates/**.html": {"trimmed": "true"}}
MADE = datetime(2026, 1, 1, tzinfo=UTC)  # always the same: no two branches differ in it alone
MARKS = {"said", "N_", "words"}
ERRORS = re.compile(
    r"(?:Input|Photo|Engine|Catalogue|Server|UnknownCode|DamagedFile)Error|UnkeptText|UnknownSize|"
    r"BadParameter|LeftOut|Refusal|__init__"
)
JOINING = re.compile(r"\b(?:to|or|and|mm|x)\b")  # all that a list of numbers holds
TOLD = (
    ("near_misses.csv", "why"), ("near_misses.csv", "opinion"), ("rim_tyre.csv", "note"),
    ("rim_tyre.csv", "edition"), ("pressure_limits.csv", "edition"),
)  # fmt: skip
WORD = re.compile(r"[A-Za-z]{2,}")
NO_NAMES = {  # words of code that tell a translator nothing
    "abs", "ascii", "error", "format", "join", "len", "map", "one", "percent", "pretty", "round",
    "printable", "said", "self", "sorted", "str", "strip", "text", "value",
}  # fmt: skip


def collected() -> Catalog:
    """All sentences, as a catalogue without translations."""
    made = Catalog(charset="utf-8", fuzzy=False)
    found = extract_from_dir(str(ROOT), METHODS, OPTIONS, KEYWORDS)
    for path, line, message, comments, _ in found:
        made.add(message, locations=[(path, line)], auto_comments=comments)
    for text in [*listed("made.txt"), *listed("library.txt")]:
        made.add(text)
    for text in [*marked(), *helped(), *tabled(), *(one.label for one in NOTATIONS)]:
        if WORD.search(JOINING.sub("", PLACE.sub("", text))):
            made.add(text.strip())
    return made


def listed(name: str) -> list[str]:
    """The sentences of a list in `locale`."""
    lines = (FOLDER / name).read_text(encoding="utf-8").splitlines()
    return [line.strip() for line in lines if line.strip()]


def tabled() -> Iterator[str]:
    """Sentences in the data's tables."""
    for name, column in TOLD:
        with (ROOT / "data" / name).open(encoding="utf-8", newline="") as file:
            yield from (row[column] for row in csv.DictReader(file) if row[column])


def helped() -> Iterator[str]:
    """Help of every command, argument and option."""
    from typer.main import get_command

    from reader.cli import app
    from reader.cli.speaking import helps

    for _, _, text in helps(get_command(app)):
        yield text


def marked() -> Iterator[str]:
    """Sentences in code: of marked texts and of errors."""
    for path in sorted(ROOT.rglob("*.py")):
        if "train" in path.relative_to(ROOT).parts:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        named: dict[str, list[ast.AST]] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                named.setdefault(node.targets[0].id, []).append(node.value)
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                yield from _of_call(node, named)


def _of_call(call: ast.Call, named: Mapping[str, Sequence[ast.AST]]) -> Iterator[str]:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    if name in MARKS or ERRORS.fullmatch(name):
        for argument in call.args:
            values = named.get(argument.id, ()) if isinstance(argument, ast.Name) else (argument,)
            for value in values:  # a remedy is often written on a line of its own
                yield from _texts(value)


def _texts(node: ast.AST) -> Iterator[str]:
    """The sentences that an expression can be, and words that it fills in by a choice."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.JoinedStr):
        yield _sentence(node)
        for part in node.values:
            if isinstance(part, ast.FormattedValue) and isinstance(part.value, ast.IfExp):
                yield from _texts(part.value)
    elif isinstance(node, ast.IfExp):
        yield from _texts(node.body)
        yield from _texts(node.orelse)
    elif isinstance(node, ast.BoolOp):
        for one in node.values:
            yield from _texts(one)


def _sentence(node: ast.JoinedStr) -> str:
    """An f-string with a named place for everything that is filled in."""
    names: dict[str, str] = {}
    text = ""
    for part in node.values:
        if isinstance(part, ast.FormattedValue):
            text += f"%({_name(part, names)})s"
        else:
            assert isinstance(part, ast.Constant)
            text += str(part.value)
    return text


def _name(part: ast.FormattedValue, names: dict[str, str]) -> str:
    whole = ast.unparse(part)
    if whole not in names:
        words = re.sub(r"'[^']*'|\"[^\"]*\"", "", ast.unparse(part.value))
        found = [word.strip("_") for word in re.findall(r"[A-Za-z_]\w*", words)]
        name = next((word for word in reversed(found) if word.lower() not in NO_NAMES), "text")
        taken = set(names.values())
        numbered = (name if n == 1 else f"{name}{n}" for n in range(1, 99))
        names[whole] = next(one for one in numbered if one not in taken)
    return names[whole]


def main() -> None:
    """Bring every catalogue up to date, or only list what lacks a translation."""
    parser = argparse.ArgumentParser(description="Collect sentences for translators.")
    parser.add_argument("--lacking", action="store_true", help="print what has no translation")
    lacking = parser.parse_args().lacking
    template = collected()
    for name in LANGUAGES:
        path = FOLDER / f"{name}.po"
        if name == "en":
            continue
        catalogue = Catalog(locale=name, charset="utf-8", fuzzy=False)
        if path.exists():
            with path.open("rb") as file:
                catalogue = read_po(file, locale=name)
        catalogue.update(template, no_fuzzy_matching=True)
        catalogue.obsolete.clear()
        catalogue.creation_date = MADE
        with path.open("wb") as file:
            write_po(file, catalogue, width=100, omit_header=False, no_location=True)
        empty = [message.id for message in catalogue if message.id and not _full(message.string)]
        print(f"{name}: {len(catalogue)} sentences, {len(empty)} without a translation")
        if lacking:
            print(*map(repr, empty), sep="\n")


def _full(text: Any) -> bool:
    return all(text) if isinstance(text, tuple) else bool(text)


if __name__ == "__main__":
    main()
