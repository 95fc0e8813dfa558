"""Reading photos, for programs."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Request

from reader.catalogue import Place
from reader.web import service
from reader.web.api.forms import PartOut, PlaceIn, SizeIn
from reader.web.parts import Part
from reader.web.refusals import Refusal
from reader.web.service import arrived, decided_kind, part_of
from reader.web.stock import Entry

ROUTER = APIRouter(prefix="/parts", tags=["photos"])
Name = Annotated[str, Path(max_length=40, pattern="^[A-Za-z0-9_-]+$")]

PHOTOS: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "required": ["photo"],
                    "properties": {
                        "photo": {
                            "type": "array",
                            "items": {"type": "string", "format": "binary"},
                            "description": "all photos of ONE part; JPEG, PNG, WebP, TIFF, HEIC",
                        },
                        "kind": {"type": "string", "enum": ["tyre", "rim", "tube", "unknown"]},
                    },
                }
            }
        },
    },
    "responses": {
        "408": {"description": "the upload was too slow"},
        "413": {"description": "too large, or too many photos"},
        "415": {"description": "not a photo"},
    },
}


@ROUTER.post("", status_code=202, openapi_extra=PHOTOS)
async def send(request: Request) -> PartOut:
    """Send the photos of one part. Ask for its address until `state` is done or failed."""
    part, _ = await arrived(request, "send the field 'photo' as multipart/form-data")
    return part_out(part)


@ROUTER.get("/{part}")
def look(request: Request, part: Name) -> PartOut:
    """How far reading is, and the answer once it is there."""
    return part_out(part_of(request))


@ROUTER.post("/{part}/size")
def choose(request: Request, part: Name, said: SizeIn) -> PartOut:
    """A person's word on the size; the reading stays."""
    found = part_of(request)
    service.choose(found, *service.said_size(found, said.size))
    return part_out(found)


@ROUTER.post("/{part}/place")
def place(request: Request, part: Name, where: PlaceIn) -> PartOut:
    """Put the part into a bin of the catalogue."""
    found = part_of(request)
    person = request.state.person
    entry = Entry(Place(where.bin, where.shelf), where.condition, where.quantity, person)
    known = service.put_away(service.stock_of(request), found, entry)
    if known is not None:
        remedy = f"change the pieces of {known.code}, or photograph the other part"
        raise Refusal(409, f"these photos are in the catalogue already as {known.code}", remedy)
    return part_out(found)


def part_out(part: Part) -> PartOut:
    """A part as the API shows it."""
    outcome, best = part.outcome, part.reading.best if part.reading else None
    size = part.chosen or (best.size if best else None)
    views = [picture.view for picture in part.pictures if picture.view]
    return PartOut(
        id=part.id,
        state=part.state,
        step=part.step,
        share=round(part.share, 3),
        kind=decided_kind(part),
        size=str(size) if size else None,
        chosen=part.chosen is not None,
        error=outcome.error if outcome else "",
        remedy=outcome.remedy if outcome else "",
        pictures=[f"/part/{part.id}/picture/{view}" for view in views],
        in_catalogue=part.stored,
        reading=dict(outcome.document) if outcome and outcome.document else None,
    )
