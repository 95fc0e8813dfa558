"""What `tyremark slip` and `tyremark clearance` do."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from reader import catalogue as store
from reader.catalogue.query.slip import Slip, slips
from reader.catalogue.query.slip_text import sections
from reader.cli.layout import wrapped
from reader.cli.show import emit
from reader.errors import ExitCode, InputError
from reader.fit.grades import ALLOWED
from reader.language import N_, counted, said
from reader.tables import load_tables


def run_slip(
    texts: list[str], where: str, pdf: Path | None, market: str, as_json: bool
) -> ExitCode:
    """Print the slip, or write it as PDF."""
    tables = load_tables()
    made = slips(texts, tables, catalogue_there(where), market)
    if pdf is not None:
        from reader.catalogue.io.slip_pdf import slip_pdf

        try:
            pdf.write_bytes(slip_pdf(made))
        except OSError as error:
            remedy = error.strerror or N_("try another place")
            raise InputError(f"can't write {pdf}", remedy) from error
        print(f"{pdf}: {counted(len(made), '%(count)s page', '%(count)s pages')}")
    else:
        lines = (line for one in made for line in (*screen(one), ""))
        emit(made[0] if len(made) == 1 else made, lines, as_json, tables)
    barred = any(one.fit is not None and one.fit.grade not in ALLOWED for one in made)
    return ExitCode.NOTHING_READ if barred or len(made) > 1 else ExitCode.OK


def catalogue_there(where: str) -> store.Catalogue | None:
    """The catalogue, or None where the named file does not exist: a slip needs none."""
    if "://" not in where and not os.path.exists(where):  # noqa: PTH110 (a URL is no path)
        return None
    return store.open_catalogue(where, create=False)


def screen(slip: Slip) -> Iterator[str]:
    """The slip as lines of at most 80 columns."""
    what = {"rim": said("rim"), "tyre": said("tyre"), "wheel": said("tyre and rim")}[slip.part]
    seat = said(f"bead seat {slip.size.bsd} mm")
    yield f"{slip.title}  ({what}, {seat})"
    for head, lines in sections(slip):
        yield head
        for line in lines:
            yield from wrapped(line)
