"""What `tyremark labels`, `export`, `import` and `training` do."""

from __future__ import annotations

from pathlib import Path

from reader import catalogue as store
from reader.catalogue.io.lists import SAVE
from reader.errors import CatalogueError, InputError
from reader.language import N_, said
from reader.tables import load_tables

ALL = 100_000  # labels of one run
SHOWN = 200  # changes that a dry run lists


def labels(
    where: str,
    out: Path,
    codes: list[str],
    of: tuple[str, str],
    sheet: tuple[str, str],
    skip: int,
    blank: int,
) -> None:
    """Write the PDF; parts by code, or by bin and kind."""
    if skip < 0 or blank < 0:
        raise InputError("--skip and --blank can't be below 0", "give 0 or more")
    stock = _own(sheet[1]) if sheet[1] else store.sheet_named(sheet[0])
    only_blank = blank > 0 and not codes and not any(of)
    catalogue = store.open_catalogue(where, create=only_blank)
    parts = [store.get_part(catalogue, code) for code in codes]
    if not codes and not only_blank:
        parts = store.search(catalogue, bin=of[0], kind=of[1], limit=ALL)
    if not parts and not blank:
        raise InputError("no part to print a label for", "look with: tyremark find")
    try:
        out.write_bytes(store.labels_pdf(parts, stock, load_tables(), skip, blank))
    except OSError as error:
        raise CatalogueError(f"{out} can't be written ({error.strerror})", SAVE) from error
    print(said(f"{len(parts) + blank} labels in {out}. Print at 100 %, not 'fit to page'."))


def _own(text: str) -> store.Sheet:
    try:
        n = [float(part) for part in text.split(",")]
        columns, rows = int(n[4]), int(n[5])
        page, label, margin, gap = (n[0], n[1]), (n[2], n[3]), (n[6], n[7]), (n[8], n[9])
    except (ValueError, IndexError) as error:
        remedy = N_("give ten numbers in mm, e.g. 210,297,70,37,3,8,0,0.5,0,0")
        raise InputError(f"--own {text!r} is no sheet", remedy) from error
    return store.Sheet(page, label, columns, rows, margin, gap)


def export(where: str, out: Path) -> None:
    """Write the list."""
    count = store.write_list(store.open_catalogue(where, create=False, whole=True), out)
    print(said(f"{count} parts in {out}."))


def bring(where: str, file: Path, dry_run: bool, again: bool, person: str) -> None:
    """Read the list, or tell what it would change."""
    brought = store.read_list(store.open_catalogue(where, whole=True), file, dry_run, again, person)
    for line in brought.details[:SHOWN] if dry_run else ():
        print(said(line))
    if dry_run and len(brought.details) > SHOWN:
        print(said(f"… and {len(brought.details) - SHOWN} more"))
    would = f"{said('Would be:')} " if dry_run else ""
    did = said(f"{brought.new} new, {brought.changed} changed, {brought.same} as before.")
    print(would + did)


def training(where: str, folder: Path) -> None:
    """Write the training material."""
    count = store.export_training(store.open_catalogue(where, create=False), folder)
    print(said(f"{count} pictures of markings in {folder}."))
