"""What `tyremark clearance` does: the largest tyre that a frame takes, and those in the bins."""

from __future__ import annotations

from dataclasses import dataclass

from reader.catalogue.columns import Part
from reader.catalogue.query.room import tyres_through
from reader.cli.layout import Laid, shown
from reader.cli.part_run import line
from reader.cli.show import emit
from reader.cli.slip_run import catalogue_there
from reader.errors import ExitCode
from reader.fit.parts import Rim, parse_range
from reader.fit.room import Room, largest, openings
from reader.language import said
from reader.names.parts import rim_of
from reader.names.typed import parse
from reader.tables import load_tables


@dataclass(frozen=True)
class Measured:
    """What was measured on the frame, mm; None where it was not."""

    fork: float | None
    stay: float | None
    mudguard: float | None
    height: float | None
    gap: float
    rim_allows: str = ""


def run(wheel: str, measured: Measured, where: str, why: bool, as_json: bool) -> ExitCode:
    """Print the largest tyre that keeps the gap, and what lies in the bins."""
    tables = load_tables()
    passed = openings(measured.fork, measured.stay, measured.mudguard, measured.gap)
    rim, bsd = _wheel(wheel, measured.rim_allows)
    room = largest(passed, tables, bsd, rim, measured.height, measured.gap)
    catalogue = catalogue_there(where)
    parts, unsure = tyres_through(catalogue, room) if catalogue else ([], 0)
    data = {"room": room, "bins": [part.code for part in parts], "unsure": unsure}
    emit(data, shown(_laid(room, rim, bsd, parts, unsure), why), as_json, tables)
    return ExitCode.OK if room.surely else ExitCode.NOTHING_READ


def _wheel(text: str, allows: str) -> tuple[Rim | None, int]:
    """The rim, if its inner width was given, and the wheel's bead seat diameter."""
    tables = load_tables()
    typed = parse(text, tables)
    meant = typed.one("rim" if typed.kind == "rim" else "tyre")
    if typed.kind != "rim":
        return None, meant.size.bsd
    rim = rim_of(meant, tables)
    span = parse_range(allows) if allows else None
    return Rim(rim.size, rim.kind, tyre_range=span), rim.size.bsd


def _laid(room: Room, rim: Rim | None, bsd: int, parts: list[Part], unsure: int) -> Laid:
    on = str(rim) if rim is not None else f"{bsd} mm"
    if room.surely is None:
        laid = Laid(said(f"no tyre on {on} surely keeps the gap"))
    else:
        laid = Laid(said(f"up to {room.surely.size} on {on}: {room.surely.width} wide"))
        if room.surely.grade is not None:
            laid.lines.append(said(f"on that rim: {room.surely.grade.value}"))
    tight = room.tightest
    laid.lines.append(
        said(
            f"tightest at the {tight.name}, {tight.width:g} mm: {tight.free:g} mm for the tyre, "
            f"{tight.gap:g} mm of air on either side"
        )
    )
    if room.perhaps is not None and room.perhaps != room.surely:
        laid.lines.append(said(f"perhaps {room.perhaps.size}: mount it and measure before riding"))
    if rim is None:
        laid.lines.append(said("give the rim, such as 622x19C: a tyre grows with its inner width"))
    if room.height is None:
        laid.why.append(
            said("height: not given; --height from the axle to crown, bridge or mudguard")
        )
    else:
        laid.why.append(
            said(f"height: ISO's envelope and {room.gap:g} mm stay under {room.height:g} mm")
        )
    laid.lines += [line(part) for part in parts[:2]]
    laid.why += [line(part) for part in parts[2:]]
    if unsure:
        laid.why.append(said(f"{unsure} more in the bins must be read again first"))
    laid.why.append(
        said(
            "gaps: 6 mm from memory, a mudguard 5 mm on either side by common practice, no source; "
            "mud, a bent wheel and the chain ask for more"
        )
    )
    laid.why.append(
        said("width on a rim: 0.4 to 0.64 mm more per mm of rim (from memory, a forum)")
    )
    return laid
