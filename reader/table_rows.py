"""Typed rows of the data files, and how a CSV line becomes one.

Every row carries `source` (a key of sources.csv) and `basis`: 'read' in that source, 'single' (a
lone transcription, unverified), 'memory' or 'practice' (common practice, no source). Row formats:
reader/data/README.md.
"""

from __future__ import annotations

from dataclasses import dataclass

ROLES = ("range", "measuring", "minimum", "maker", "shown")
LOADS = ("", "none", "light", "ridden")
BASES = ("read", "single", "memory", "practice")
Cells = dict[str, str]


@dataclass(frozen=True, kw_only=True)
class Sourced:
    """What every row of knowledge carries."""

    source: str
    basis: str
    note: str = ""

    @property
    def from_memory(self) -> bool:
        """True unless the row was read in a source; nothing resting on it alone is sure."""
        return self.basis != "read"


@dataclass(frozen=True)
class BeadSeat(Sourced):
    """A bead seat diameter that exists; kind is 'wired' or 'beaded' (beaded-edge rims only)."""

    bsd: int
    kind: str


@dataclass(frozen=True)
class InchWidth(Sourced):
    """A printed inch width and the nominal tyre widths in mm that it stands for."""

    style: str  # 'decimal' or 'fraction'
    text: str
    tyre_mm: float
    also_mm: float | None


@dataclass(frozen=True)
class NominalWidth(Sourced):
    """A tyre width or a rim's inner width in mm that exists on these bead seat diameters."""

    part: str
    width: float
    weight: float
    bsd_from: int
    bsd_to: int


@dataclass(frozen=True)
class WidthRule(Sourced):
    """One edition's word on tyre widths (mm) for a rim's inner width (mm).

    `role` says what the word is worth: 'range' (allowed from..to), 'measuring' (the rim on which
    the width is measured: it goes there, and nothing is said of other rims), 'minimum' (least width
    on that rim and wider ones), 'maker' (a maker's word for its own parts) or 'shown' (told, not
    counted). `order` is larger for newer editions. `open_top`: the table has no wider column.
    """

    edition: str
    order: int
    role: str
    rim_kinds: frozenset[str]  # empty: any rim for wired beads
    rim_from: float
    rim_to: float
    tyre_from: float
    tyre_to: float  # infinite where only a minimum is known
    open_top: bool
    bsd: int | None


@dataclass(frozen=True)
class PressureLimit(Sourced):
    """A limit in kPa that holds for tyre widths `tyre_from`..`tyre_to` mm on some kinds of rim."""

    limit: str  # 'max' or 'min'
    rim_kinds: frozenset[str]
    use: str  # '', 'road' or 'off-road'
    tyre_from: float
    tyre_to: float
    kpa: float
    edition: str


@dataclass(frozen=True)
class NearMiss(Sourced):
    """Two bead seat diameters that people mix up, why, and what one source says of trying it.

    `verdict` is 'no', 'some mix' or '' where no opinion was found.
    """

    bsds: frozenset[int]
    why: str
    opinion: str
    verdict: str


@dataclass(frozen=True)
class Circumference(Sourced):
    """A published rolling circumference in mm of one size.

    `load` is 'none', 'light' or 'ridden' where it was measured, '' in a list that does not say;
    `inferred`: the list gives the name `sold_as` only, and the ISO size was concluded from it.
    """

    width: float
    bsd: int
    sold_as: str
    mm: float
    load: str
    inferred: bool


@dataclass(frozen=True)
class TubeLabel(Sourced):
    """A label printed on tubes: width range in mm and the bead seat diameters that it lists."""

    text: str
    width_min: float
    width_max: float
    bsds: tuple[int, ...]


def inches(text: str) -> float:
    """Value in inches of a printed number: whole, decimal or with a fraction.

    >>> inches('12 1/2'), inches('1 3/8'), inches('2.125'), inches('3/4')
    (12.5, 1.375, 2.125, 0.75)
    """
    whole = 0.0
    for piece in text.split():
        top, slash, bottom = piece.partition("/")
        whole += float(top) / float(bottom) if slash else float(piece)
    return whole


def _source(cells: Cells) -> dict[str, str]:
    basis = _one_of(cells["basis"], BASES)
    return {"source": cells["source"], "basis": basis, "note": cells.get("note", "")}


def make_seat(cells: Cells) -> BeadSeat:
    """A line of seats.csv."""
    return BeadSeat(int(cells["bsd_mm"]), cells["kind"], **_source(cells))


def make_inch_width(cells: Cells) -> InchWidth:
    """A line of inch_widths.csv."""
    also = float(cells["also_mm"]) if cells["also_mm"] else None
    return InchWidth(cells["style"], cells["text"], float(cells["tyre_mm"]), also, **_source(cells))


def make_width(cells: Cells) -> NominalWidth:
    """A line of widths.csv."""
    return NominalWidth(
        cells["part"],
        float(cells["width_mm"]),
        float(cells["weight"]),
        int(cells["bsd_from"]),
        int(cells["bsd_to"]),
        **_source(cells),
    )


def make_rule(cells: Cells) -> WidthRule:
    """A line of rim_tyre.csv."""
    return WidthRule(
        cells["edition"],
        int(cells["order"]),
        _one_of(cells["role"], ROLES),
        _kinds(cells),
        float(cells["rim_from"]),
        float(cells["rim_to"]),
        float(cells["tyre_from"]),
        float(cells["tyre_to"] or "inf"),
        cells["top"] == "open",
        int(cells["bsd_mm"]) if cells["bsd_mm"] else None,
        **_source(cells),
    )


def make_limit(cells: Cells) -> PressureLimit:
    """A line of pressure_limits.csv."""
    return PressureLimit(
        cells["limit"],
        _kinds(cells),
        cells["use"],
        float(cells["tyre_from"]),
        float(cells["tyre_to"]),
        float(cells["kpa"]),
        cells["edition"],
        **_source(cells),
    )


def make_near_miss(cells: Cells) -> NearMiss:
    """A line of near_misses.csv."""
    pair = frozenset((int(cells["bsd_a"]), int(cells["bsd_b"])))
    return NearMiss(pair, cells["why"], cells["opinion"], cells["verdict"], **_source(cells))


def make_circumference(cells: Cells) -> Circumference:
    """A line of circumference.csv."""
    return Circumference(
        float(cells["width_mm"]),
        int(cells["bsd_mm"]),
        cells["sold_as"],
        float(cells["circumference_mm"]),
        _one_of(cells["load"], LOADS),
        cells["inferred"] == "yes",
        **_source(cells),
    )


def make_tube_label(cells: Cells) -> TubeLabel:
    """A line of tube_labels.csv."""
    return TubeLabel(
        cells["label"],
        float(cells["width_min"]),
        float(cells["width_max"]),
        tuple(int(bsd) for bsd in cells["bsds"].split("|")),
        **_source(cells),
    )


def _kinds(cells: Cells) -> frozenset[str]:
    return frozenset(kind for kind in cells["rim_kinds"].split("|") if kind)


def _one_of(text: str, known: tuple[str, ...]) -> str:
    if text not in known:
        raise ValueError(f"'{text}' is not one of {', '.join(known)}")
    return text


def make_plausible(cells: Cells) -> tuple[str, tuple[float, float]]:
    """A row of plausible.csv: what, and between which values it lies on parts that are made."""
    low, high = float(cells["low"]), float(cells["high"])
    if not 0 < low < high:
        raise ValueError(f"{low:g} to {high:g} is no range")
    return cells["what"], (low, high)
