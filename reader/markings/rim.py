"""The rim's own marking: bead seat diameter and inner width in mm, in either order.

Sources: 'SS 400x20' is the example of ISO 5775-2:2015 (ulstandardspdf.com extract); '622x15c',
'622 x 19', '622x19' and '19-622' were read on rims and pages (bicycles.stackexchange.com/11255,
mtboverview, fahrrad-abenteuer-reisen.de). Rim kinds straight side (SS, TSS), crochet (C, TC) and
beaded edge (HB): ISO 5775-2:2021 as summarised at en.wikipedia.org/wiki/ISO_5775; their use as
suffixes (622x25 TSS) is from memory. Which number is which is told by magnitude. A letter C here
means crochet, and not the French diameter letter of 700x28C.

>>> [(m.text, m.numbers["kind"], m.numbers["order"]) for m in find("SS 400x20")]
[('400x20 SS', 'SS', 'bsd')]
>>> [(m.text, m.numbers["width_mm"]) for t in ("19-622", "622x15c") for m in find(t)]
[('19-622', 19), ('622x15C', 15)]
>>> list(find("700x28C"))
[]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from reader.markings.edges import glue, pair_stands
from reader.markings.known import is_rim, tables
from reader.markings.notation import Kind, Notation, Numbers, PairAsked, Tells
from reader.markings.pairs import Pair, Part, bsd_first, width_first
from reader.records import Marking

NAME = "rim"
MODERN = (349, 406, 451, 507, 559, 584, 622)  # common practice, no source
WIDEST = 50  # mm inside, where the order of the numbers shows that a rim is meant; as above
_KIND = r"(?:\s?(TSS|TC|SS|HB|C|I)(?![A-Z]))?"  # I: inner width
_BEFORE = r"(?:(?<![A-Z0-9])(TSS|TC|SS|HB|C)\s?)?"
_BSD_FIRST = re.compile(
    rf"{_BEFORE}(\d{{3}}(?=\s?[X*-])|9[34](?=\s?[X*]))\s?[X*-]\s?(1[0-3]\d|\d\d(?:[.,][1-9])?){_KIND}"
)
_WIDTH_FIRST = re.compile(
    rf"{_BEFORE}(1[0-3]\d|\d\d(?:[.,][1-9])?){_KIND}\s?[X*-]\s?(\d{{3}}|9[34](?!\d)){_KIND}"
)
_FRENCH_LETTER = re.compile(r"\s?[ABD](?![A-Z])")

_RIM = Part(
    "CX*-",
    is_rim,
    lambda bsd: tables().rim_widths_at(bsd),
    lambda bsd: tables().rim_widths_at(bsd),
    re.compile(r"(?:TSS|TC|SS|HB|C)(?![A-Z])"),
)


def clean(line: str) -> Iterator[Marking]:
    """Undamaged rim markings of a folded text."""
    for match in _BSD_FIRST.finditer(line):
        yield from _checked(line, match, 2, 3, match[4] or match[1] or "", "bsd")  # groups
    for match in _WIDTH_FIRST.finditer(line):
        # groups
        yield from _checked(line, match, 4, 2, match[5] or match[3] or match[1] or "", "width")


def _checked(
    line: str, match: re.Match[str], bsd_at: int, width_at: int, kind: str, order: str
) -> Iterator[Marking]:
    bsd, width = int(match[bsd_at]), float(match[width_at].replace(",", "."))
    core = match.start(min(bsd_at, width_at)), match.end(max(bsd_at, width_at))
    widest = WIDEST if order == "bsd" or match[3] else 0  # 44C-194 can be no tyre
    if not is_rim(width, bsd, widest) or not pair_stands(line, *core):
        return
    if _FRENCH_LETTER.match(line, match.end()):  # 400x32A is a French name
        return
    kind = kind.replace("I", "")
    yield _marking(bsd, width, kind, order, match.span(), glue(line, *match.span()))


def damaged(line: str) -> Iterator[Marking]:
    """Damaged rim markings of a folded text; a kind may follow."""
    found: list[tuple[Pair, str]] = [(pair, "bsd") for pair in bsd_first(line, _RIM)]
    found += [(pair, "width") for pair in width_first(line, _RIM)]
    for pair, order in found:
        kind = re.compile(_KIND).match(line, pair.span[1])
        end = kind.end() if kind else pair.span[1]
        name = ((kind and kind[1]) or ("C" if "C" in pair.sign else "")).replace("I", "")
        yield _marking(pair.bsd, pair.width, name, order, (pair.span[0], end), pair.cost)


def spellings() -> Iterator[tuple[str, Mapping[str, float | str]]]:
    """Every diameter with every plausible width, in both orders; all kinds where made today."""
    for bsd in sorted(row.bsd for row in tables().seats if row.kind == "wired"):
        for width in _widths(bsd):
            for kind in ("", "C", "TC", "TSS", "SS") if bsd in MODERN else ("", "C", "TC"):
                gap = "" if kind in ("", "C") else " "
                yield f"{bsd}X{width:g}{gap}{kind}", _numbers(bsd, width, kind, "bsd")
            if is_rim(width, bsd):
                yield f"{width:g}-{bsd}", _numbers(bsd, width, "", "width")
            yield f"{width:g}C-{bsd}", _numbers(bsd, width, "C", "width")
            if bsd > 99:  # 94-20 would be any two numbers
                yield f"{bsd}-{width:g}", _numbers(bsd, width, "", "bsd")
    for bsd in sorted(row.bsd for row in tables().seats if row.kind == "beaded"):
        for width in (20, 25, 27):  # JIS D 9421:2009, Table 8
            yield f"HB {bsd}X{width}", _numbers(bsd, width, "HB", "bsd")


def _widths(bsd: int) -> list[float]:
    """Inner widths in mm: those listed, and every whole one that may be."""
    # mm: none is narrower
    whole = (width for width in range(10, WIDEST + 1) if is_rim(width, bsd, WIDEST))
    return sorted({*tables().rim_widths_at(bsd), *map(float, whole)})


def _numbers(bsd: int, width: float, kind: str, order: str) -> dict[str, float | str]:
    tidy = int(width) if width == int(width) else width
    return {"bsd_mm": bsd, "width_mm": tidy, "kind": kind, "order": order}


def _marking(
    bsd: int, width: float, kind: str, order: str, span: tuple[int, int], cost: float
) -> Marking:
    text = f"{bsd}x{width:g}" if order == "bsd" else f"{width:g}-{bsd}"
    text += kind if kind in ("", "C") else f" {kind}"
    return Marking(NAME, text, _numbers(bsd, width, kind, order), span, cost)


def _asks(numbers: Numbers) -> PairAsked:
    """A width that stands first may be a tyre's, unless the rim's edge is told."""
    edge = str(numbers.get("kind", ""))
    marked = numbers.get("order") != "width" or bool(edge)
    return PairAsked(float(numbers["width_mm"]), int(numbers["bsd_mm"]), edge, marked)


NOTATION = Notation(
    name=NAME,
    kind=Kind.SIZE,
    tells=Tells.PAIR,
    label="rim marking read",
    title="rim marking",
    clean=clean,
    damaged=damaged,
    asks=_asks,
    spellings=spellings,
)
find = NOTATION.find
