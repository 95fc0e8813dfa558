"""The counter's slip as a page to print: A4, one page a slip, whatever it holds."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reader.catalogue.io.labels import BOLD, FONT, _fonts
from reader.catalogue.query.slip import Slip
from reader.catalogue.query.slip_text import sections
from reader.report import kept
from reader.text.units import INCH

MM = 72 / INCH  # PDF points
MARGIN = 16  # mm
WARN = ("Never, though it sounds alike", "Not settled")  # set apart by a bar beside them


def slip_pdf(made: Sequence[Slip]) -> bytes:
    """Pages of slips; a long one is set smaller until it fits its page."""
    from reportlab.lib.pagesizes import A4
    from reportlab.platypus import BaseDocTemplate, Frame, KeepInFrame, PageBreak, PageTemplate

    _fonts()
    out = BytesIO()
    wide, high = A4[0] - 2 * MARGIN * MM, A4[1] - 2 * MARGIN * MM
    document = BaseDocTemplate(out, pagesize=A4, title="Slip", invariant=1)
    frame = Frame(MARGIN * MM, MARGIN * MM, wide, high, 0, 0, 0, 0)
    document.addPageTemplates([PageTemplate(frames=[frame])])
    story: list[Any] = []
    for one in made:
        if story:
            story.append(PageBreak())
        story.append(KeepInFrame(wide, high, _page(one, wide), mode="shrink"))
    document.build(story)
    return out.getvalue()


def _page(slip: Slip, wide: float) -> list[Any]:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import HRFlowable, Paragraph, Table, TableStyle

    title = ParagraphStyle("title", fontName=BOLD, fontSize=30, leading=36)
    head = ParagraphStyle("head", fontName=BOLD, fontSize=13, leading=17, spaceBefore=11)
    text = ParagraphStyle("text", fontName=FONT, fontSize=11.5, leading=15.5)
    what = {"rim": "Rim", "tyre": "Tyre", "wheel": "Tyre and rim"}[slip.part]
    flow: list[Any] = [
        Paragraph(escape(slip.title), title),
        Paragraph(f"{what}, bead seat diameter {slip.size.bsd} mm", text),
        HRFlowable(width="100%", thickness=1.2, color="black", spaceBefore=6, spaceAfter=2),
    ]
    for name, lines in sections(slip):
        body = [Paragraph(escape(name), head), *(Paragraph(f"– {escape(kept(line))}", text)
                                                 for line in lines)]  # fmt: skip
        if name not in WARN:
            flow += body
            continue
        boxed = Table([[body]], colWidths=[wide], spaceBefore=11)
        boxed.setStyle(TableStyle([("LINEBEFORE", (0, 0), (0, -1), 4, "black"),
                                   ("LEFTPADDING", (0, 0), (-1, -1), 9),
                                   ("TOPPADDING", (0, 0), (-1, -1), 0)]))  # fmt: skip
        flow.append(boxed)
    return flow
