"""What `tyremark check` and `tyremark failures` do."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Iterator
from pathlib import Path

from reader import catalogue as store
from reader.catalogue.db.check import photos_missing, troubles
from reader.catalogue.intake.intake import failed_photos
from reader.catalogue.io.backup import SAVE, backup
from reader.catalogue.io.lists import guard
from reader.cli.ending import told
from reader.cli.screen import print_json
from reader.errors import CatalogueError, EngineError, ExitCode, ReaderError
from reader.language import said

SHOWN = 5  # missing photos that are named
LOW = 500 * 2**20  # bytes free, below which an intake may end early

Line = tuple[str, str, ExitCode]  # about what, what was found, what it means


def check(where: str, copy: Path | None) -> ExitCode:
    """Look after everything and print a line each; the status is that of the worst."""
    worst = ExitCode.OK
    for about, found, code in _lines(where):
        print(f"{said(about):10} {said(found)}")
        worst = max(worst, code, key=lambda one: (one is ExitCode.CATALOGUE, int(one)))
    if copy is not None:
        opened = store.open_catalogue(where, create=False)
        try:
            size = backup(opened, copy)
        finally:
            opened.close()
        whole = said(f"{copy}, {size / 1e6:.1f} MB, whole")
        print(f"{said('copy'):10} {whole}")
    return worst


def _lines(where: str) -> Iterator[Line]:
    yield from _catalogue(where)
    yield from _packaged()
    yield from _engines()
    yield _versions()
    yield _space(where)


def _catalogue(where: str) -> Iterator[Line]:
    try:
        catalogue = store.open_catalogue(where, create=False)
    except ReaderError as error:
        yield "catalogue", told(error), ExitCode.CATALOGUE
        return
    try:
        found = list(troubles(catalogue))
        for trouble in found:
            yield "catalogue", said(f"damaged: {trouble}"), ExitCode.CATALOGUE
        if found:
            remedy = said("bring back a copy, or read the photos into a new catalogue")
            yield "", remedy, ExitCode.CATALOGUE
            return
        yield "catalogue", said(f"whole: {catalogue.name}"), ExitCode.OK
        yield from _photos(catalogue)
    except CatalogueError as error:
        yield "catalogue", told(error), ExitCode.CATALOGUE
    finally:
        catalogue.close()


def _photos(catalogue: store.Catalogue) -> Iterator[Line]:
    count, missing = photos_missing(catalogue)
    if not missing:
        yield "photos", said(f"all {count} are where they were read"), ExitCode.OK
        return
    text = said(f"{len(missing)} of {count} are not where they were read; what was read is kept")
    yield "photos", text, ExitCode.BAD_PHOTO
    for path in missing[:SHOWN]:
        yield "", str(path), ExitCode.BAD_PHOTO


def _packaged() -> Iterator[Line]:
    from reader.checksums import troubles as damaged

    found = [told(error) for error in damaged()]
    for text in found:
        yield "package", text, ExitCode.ENGINE
    if not found:
        yield "package", said("models and tables are whole"), ExitCode.OK


def _engines() -> Iterator[Line]:
    from reader.ocr import ENGINES

    for kind in ENGINES:
        try:
            yield "engine", f"{kind.name}: {said(kind().describe())}", ExitCode.OK
        except EngineError as error:
            text = f"{kind.name}: {said('not in use')}; {told(error)}"
            yield "engine", text, ExitCode.ENGINE


def _versions() -> Line:
    import platform
    from importlib.metadata import PackageNotFoundError, version

    from reader.ocr.stamp import LIBRARIES

    found = [f"Python {platform.python_version()}"]
    for library in LIBRARIES:
        try:
            found.append(f"{library} {version(library)}")
        except PackageNotFoundError:
            found.append(said(f"{library} missing"))
    return "versions", ", ".join(found), ExitCode.OK


def _space(where: str) -> Line:
    folder = Path.cwd() if "://" in where else Path(where).absolute().parent
    try:
        free = shutil.disk_usage(folder).free
    except OSError as error:
        return "disk", said(f"{folder} can't be looked at ({error.strerror})"), ExitCode.CATALOGUE
    text = said(f"{free / 1e9:.1f} GB free at {folder}")
    if free < LOW:
        return "disk", said(f"{text}: make room"), ExitCode.CATALOGUE
    return "disk", text, ExitCode.OK


def failures(where: str, folders: list[Path], as_csv: Path | None, as_json: bool) -> ExitCode:
    """Print every photo that could not be read, with the reason and what to do."""
    found = failed_photos(store.open_catalogue(where, create=False), folders)
    if as_csv is not None:
        try:
            with as_csv.open("w", newline="", encoding="utf-8", errors="backslashreplace") as file:
                writer = csv.writer(file)
                writer.writerow(("photo", "reason"))
                writer.writerows((guard(one.path), guard(one.reason)) for one in found)
        except OSError as error:
            raise CatalogueError(f"{as_csv} can't be written ({error.strerror})", SAVE) from error
    if as_json:
        rows = [{"photo": one.path, "reason": one.reason} for one in found]
        print_json(rows)
    else:
        for one in found:
            print(f"{one.path}: {said(one.reason)}")
        print(said(f"{len(found)} photos could not be read."))
    return ExitCode.BAD_PHOTO if found else ExitCode.OK
