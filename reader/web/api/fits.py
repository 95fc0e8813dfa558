"""Fit and the wheel's figures, for programs."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel

from reader.errors import InputError
from reader.fit.estimate import Estimate
from reader.fit.grades import Grade
from reader.fit.pressure import PressureRange, pressure_range
from reader.fit.tube import labels_for
from reader.fit.wheel import outer_diameter, rolling
from reader.names.typed import parse
from reader.tables import load_tables
from reader.web.sides import KINDS, Side, paired, side, tyre_of

ROUTER = APIRouter(tags=["fit"])
Press = Annotated[str, Query(max_length=30, description="as printed: '65 psi', '4.5-6.5 bar'")]
Widths = Annotated[
    str, Query(max_length=30, description="mm that the part's maker allows, from and to: '25-47'")
]
Answer = Literal["", "yes", "no"]
Edge = Literal["", "C", "TC", "SS", "TSS", "HB", "TUBULAR"]


Name = Annotated[str, Query(max_length=40)]


class BoundOut(BaseModel):
    """A pressure limit and who sets it."""

    kpa: float
    by: str
    from_memory: bool


class FitOut(BaseModel):
    """How tyre and rim go together; `if_right` is the grade if both are read rightly."""

    tyre: str
    rim: str
    grade: Grade
    if_right: Grade
    reasons: list[str]
    checks: list[str]
    cautions: list[str]
    at_least: BoundOut | None
    at_most: BoundOut | None


class EstimateOut(BaseModel):
    """A length with its error bar."""

    mm: float
    low_mm: float
    high_mm: float
    how: str
    from_memory: bool


class WheelOut(BaseModel):
    """A tyre's figures; lengths are missing where its width is not known."""

    tyre: str
    outer_diameter: EstimateOut | None
    circumference: EstimateOut | None
    tubes: list[str]
    at_least: BoundOut | None
    at_most: BoundOut | None


@ROUTER.get("/fit")
def grade(
    request: Request,
    tyre: Annotated[str, Query(max_length=60, examples=["47-507"])] = "",
    rim: Annotated[str, Query(max_length=60, examples=["507x21C"])] = "",
    tyre_part: Name = "",
    rim_part: Name = "",
    edge: Edge = "",
    tubeless: Answer = "",
    hookless: Answer = "",
    folding: Answer = "",
    tyre_min: Press = "",
    tyre_max: Press = "",
    rim_max: Press = "",
    rim_allows: Widths = "",
    tyre_allows: Widths = "",
    use: Literal["road", "off-road"] = "road",
) -> FitOut:
    """Does the tyre go on the rim. Makers' limits overrule every table.

    Name each by its size, or by the `id` of a part that was read (`tyre_part`, `rim_part`): then
    the doubt of its reading stays in the grade.
    """
    query = {
        "tyre": tyre,
        "rim": rim,
        "tyre_part": tyre_part,
        "rim_part": rim_part,
        "edge": edge,
        "tubeless": tubeless,
        "hookless": hookless,
        "folding": folding,
        "tyre_min": tyre_min,
        "tyre_max": tyre_max,
        "rim_max": rim_max,
        "rim_allows": rim_allows,
        "tyre_allows": tyre_allows,
    }
    state = request.app.state
    market = state.settings.market
    sides = [side(kind, query, state.bench, market, guess=True) for kind in KINDS]
    for one in sides:
        clear(one)
    result, read = paired(sides[0], sides[1], query, use)
    assert result is not None
    return FitOut(
        tyre=str(result.tyre.size),
        rim=str(result.rim),
        grade=read.grade if read else result.grade,
        if_right=result.grade,
        reasons=list(result.reasons),
        checks=list(result.checks),
        cautions=list(result.cautions),
        **bounds(result.pressure),
    )


def clear(one: Side) -> None:
    """Make sure that the side means one size.

    Raises:
        InputError: nothing was named, nothing was read, or the text means several sizes.
    """
    if one.options:
        sizes = " or ".join(str(meant.size) for meant in one.options)
        raise InputError(f"{one.typed!r} can be {sizes}", "name the ISO size that it is")
    if one.meant is None:
        raise InputError(f"the {one.kind} has no size", f"give {one.kind} or {one.kind}_part")


@ROUTER.get("/wheel")
def wheel(
    request: Request,
    tyre: Annotated[str, Query(min_length=1, max_length=60, examples=["47-507"])],
) -> WheelOut:
    """Outer diameter, circumference for a computer, tubes, pressure."""
    meant = parse(tyre, load_tables(), request.app.state.settings.market).one("tyre")
    tables, size = load_tables(), meant.size
    known = size.width is not None
    return WheelOut(
        tyre=str(size),
        outer_diameter=estimated(outer_diameter(size)) if known else None,
        circumference=estimated(rolling(size, tables).computer) if known else None,
        tubes=[label.text for label in labels_for(size, tables)],
        **bounds(pressure_range(tyre_of(meant, {}), None, tables)),
    )


def bounds(found: PressureRange | None) -> dict[str, BoundOut | None]:
    """Both limits as the API shows them."""
    low, high = (found.low, found.high) if found else (None, None)
    return {
        name: BoundOut(kpa=one.kpa, by=one.by, from_memory=one.from_memory) if one else None
        for name, one in (("at_least", low), ("at_most", high))
    }


def estimated(one: Estimate) -> EstimateOut:
    """An estimate as the API shows it."""
    return EstimateOut(
        mm=one.value,
        low_mm=one.low,
        high_mm=one.high,
        how=one.formula,
        from_memory=one.from_memory,
    )
