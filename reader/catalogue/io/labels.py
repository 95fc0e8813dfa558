"""Labels to print: the ISO size large, other names, where it lies, and the part's QR code."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

from reader.catalogue.columns import Part
from reader.catalogue.db.codes import new_code, pretty, qr_text
from reader.catalogue.io.sheets import Sheet
from reader.report import percent
from reader.tables import Tables
from reader.text.units import INCH

MM = 72 / INCH  # PDF points
PAD = 3.0  # mm kept free inside each label, as printers are off by one or two
QR_SHARE = 0.38  # of the label's width at most
QUIET = 4  # modules of white around a QR code (ISO/IEC 18004)
FONT, BOLD = "Label", "LabelBold"


def labels_pdf(
    parts: Sequence[Part],
    sheet: Sheet,
    tables: Tables,
    skip: int = 0,
    blank: int = 0,
    at_once: bool = False,
) -> bytes:
    """A PDF of labels, one a part, page after page.

    Args:
        parts: which; a size that is not settled is printed with '?' and how sure it is.
        sheet: the label stock.
        tables: for the other names.
        skip: so many labels of the first page are used up already.
        blank: so many labels more with new codes, for parts yet to come in.
        at_once: whether a viewer opens its print dialogue (PDF 32000-1, 12.6.4.11).
    """
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName
    from reportlab.pdfgen.canvas import Canvas

    _fonts()
    out = BytesIO()
    page = (sheet.page[0] * MM, sheet.page[1] * MM)
    canvas: Any = Canvas(out, pagesize=page, invariant=1)
    canvas.setTitle("Labels")
    if at_once:
        canvas._doc.Catalog.OpenAction = PDFDictionary(
            {"S": PDFName("Named"), "N": PDFName("Print")}
        )
    places = list(sheet.places())
    items: list[Part | str] = [*parts, *(new_code() for _ in range(blank))]
    for index, item in enumerate(items, start=skip % sheet.count):
        if index and index % sheet.count == 0:
            canvas.showPage()
        _label(canvas, item, sheet, places[index % sheet.count], tables)
    canvas.save()
    return out.getvalue()


def _fonts() -> None:
    """DejaVu, shipped in `data`, so that any bin name can be printed."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(__file__).parents[2] / "data" / "fonts"
    if FONT not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(FONT, str(folder / "DejaVuSans.ttf")))
        pdfmetrics.registerFont(TTFont(BOLD, str(folder / "DejaVuSans-Bold.ttf")))


def _label(
    canvas: Any, item: Part | str, sheet: Sheet, place: tuple[float, float], tables: Tables
) -> None:
    code = item if isinstance(item, str) else item.code
    width, height = sheet.label
    canvas.saveState()
    canvas.translate(place[0] * MM, (sheet.page[1] - place[1] - height) * MM)
    canvas.scale(MM, MM)  # from here on in mm, from the label's lower left corner
    side = min(height - 2 * PAD, width * QR_SHARE)
    _qr(canvas, qr_text(code), PAD, (height - side) / 2, side)
    left = PAD + side + 1
    _lines(canvas, lines(item, tables), left, width - left - PAD, height)
    canvas.restoreState()


def _qr(canvas: Any, text: str, x: float, y: float, side: float) -> None:
    import segno

    rows = [list(row) for row in segno.make(text, error="m", micro=False).matrix]
    step = side / (len(rows) + 2 * QUIET)
    for number, row in enumerate(rows):
        top = y + side - (number + QUIET + 1) * step
        for column, dark in enumerate(row):
            if dark:
                canvas.rect(x + (column + QUIET) * step, top, step, step, stroke=0, fill=1)


def lines(item: Part | str, tables: Tables) -> list[tuple[str, float, str]]:
    """What stands on a label: (text, share of the height, font), from the top."""
    if isinstance(item, str):
        return [("", 0.34, BOLD), (pretty(item), 0.2, BOLD)]
    place = " · ".join(filter(None, (item.bin, item.shelf)))
    return [
        (_size(item), 0.34, BOLD),
        (_belief(item), 0.14, FONT),
        (_names(item, tables), 0.13, FONT),
        (place, 0.13, FONT),
        (pretty(item.code), 0.13, FONT),
    ]


def _size(part: Part) -> str:
    if part.kind == "tube" and part.tube_label:
        return part.tube_label
    if part.size is None:
        return "?"
    return str(part.size) if part.settled or part.verdict == "sure" else f"{part.size} ?"


def _belief(part: Part) -> str:
    kind = "part" if part.kind == "unknown" else part.kind
    if part.settled:
        return f"{kind}, checked"
    if part.size is None:
        return f"{kind}, size not read"
    return kind if part.verdict == "sure" else f"{kind}, {percent(part.probability)}: check first"


def _names(part: Part, tables: Tables) -> str:
    from reader.names.synonyms import other_names

    if part.size is None or part.kind == "rim":  # names are those of tyres
        return f"edge {part.rim_kind}" if part.rim_kind else ""
    return ", ".join(other_names(part.size, tables)[:3])


def _lines(
    canvas: Any, texts: list[tuple[str, float, str]], left: float, width: float, height: float
) -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    top = height - PAD
    for text, share, font in texts:
        room = share * (height - 2 * PAD)
        size = room * 0.82
        if text:
            size = min(size, size * width / max(stringWidth(text, font, size), 1e-6))
            canvas.setFont(font, size)
            canvas.drawString(left, top - room * 0.5 - size * 0.36, text)
        top -= room * 1.15
