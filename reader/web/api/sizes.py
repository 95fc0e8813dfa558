"""Sizes and their names, for programs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request

from reader.names.meanings import other_names
from reader.names.typed import parse
from reader.records import PartKind
from reader.tables import load_tables
from reader.web.api.forms import DiameterOut, MeaningOut, SizeOut
from reader.web.service import diameters as listed

ROUTER = APIRouter(tags=["sizes"])
SizeText = Annotated[str, Query(min_length=1, max_length=60, examples=["37-590", "26 x 1 3/8"])]


@ROUTER.get("/sizes")
def sizes(
    request: Request,
    text: Annotated[str, Query(min_length=1, max_length=60, examples=["26 x 1 3/8"])],
    part: PartKind = "unknown",
) -> list[MeaningOut]:
    """Everything that a marking can mean, most likely first."""
    found = parse(text, load_tables(), request.app.state.settings.market).on(part).meanings
    return [
        MeaningOut(
            size=str(one.size),
            bsd_mm=one.size.bsd,
            width_mm=one.size.width,
            part=one.part,
            share=round(one.share, 4),
            why=one.why,
            from_memory=one.from_memory,
        )
        for one in found
    ]


@ROUTER.get("/names")
def names(size: SizeText) -> SizeOut:
    """All other names of one size."""
    meant = parse(size, load_tables()).one().size
    return SizeOut(
        size=str(meant),
        bsd_mm=meant.bsd,
        width_mm=meant.width,
        names=list(other_names(meant, load_tables())),
    )


@ROUTER.get("/diameters")
def diameters(request: Request) -> list[DiameterOut]:
    """All bead seat diameters, largest first."""
    return [
        DiameterOut(
            bsd_mm=row.bsd,
            kind="beaded" if row.kind == "beaded" else "wired",
            names=list(row.names),
            share=row.share,
            note=row.note,
            source=row.source,
            from_memory=row.from_memory,
        )
        for row in listed(request.app.state.settings.market)
    ]
