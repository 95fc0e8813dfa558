"""Collects the program's sentences for translators: python -m reader.train.words.

Writes every sentence that code and templates mark into each catalogue of `reader/locale`: new ones
empty, those that nobody uses any more dropped, all others as they were. Sentences that stages make
in English, and that are looked up when they are shown, stand in `locale/made.txt`, one a line, with
%(name)s where something is filled in.
"""

from __future__ import annotations

from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from reader.language import FOLDER, LANGUAGES

ROOT = Path(__file__).parents[1]
METHODS = [("**/templates/**.html", "jinja2"), ("web/**.py", "python"), ("language.py", "python")]
KEYWORDS = {"_": None, "gettext": None, "ngettext": (1, 2), "N_": None}
OPTIONS = {"**/templates/**.html": {"trimmed": "true"}}


def collected() -> Catalog:
    """All sentences, as a catalogue without translations."""
    made = Catalog(charset="utf-8", fuzzy=False)
    found = extract_from_dir(str(ROOT), METHODS, OPTIONS, KEYWORDS)
    for path, line, message, comments, _ in found:
        made.add(message, locations=[(path, line)], auto_comments=comments)
    for text in (FOLDER / "made.txt").read_text(encoding="utf-8").splitlines():
        if text.strip():
            made.add(text.strip())
    return made


def main() -> None:
    """Bring every catalogue up to date."""
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
        with path.open("wb") as file:
            write_po(file, catalogue, width=100, omit_header=False, no_location=True)
        empty = sum(1 for message in catalogue if message.id and not message.string)
        print(f"{name}: {len(catalogue)} sentences, {empty} without a translation")


if __name__ == "__main__":
    main()
