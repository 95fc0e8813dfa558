"""What `tyremark size` does: explain a text, list the names of an ISO size, weigh a measurement."""

from __future__ import annotations

from reader.cli.layout import Laid, shown, sources
from reader.cli.show import emit
from reader.errors import ExitCode, InputError
from reader.fit import measure
from reader.names.meaning import Meaning, Standing
from reader.names.meanings import other_names
from reader.names.typed import Typed, parse
from reader.names.verdicts import Trust
from reader.records import Size
from reader.report import percent
from reader.tables import Tables, load_tables

_WAYS = {"seat": "round the bead seat", "hub": "from hub to seat"} | {
    how: how for how in ("around", "across")
}
_WORDS = {"tyre": "a tyre", "rim": "a rim", "tube": "a tube", "unknown": "a tyre or rim"}
SHOWN = 3  # meanings told without --why
WORTH_TELLING = 0.005  # rarer ones stand under --why


def explain_text(text: str, market: str, why: bool, as_json: bool) -> ExitCode:
    """Print what a text can mean, most likely first; status 1 where it settles nothing."""
    tables = load_tables()
    found = parse(text, tables, market)
    names = {one: _names(one, tables) for one in found.meanings}
    answer = {"size": found, "diameters": found.diameters, "names": [*names.values()]}
    emit(answer, shown(_laid(found, names, tables, market), why), as_json, tables)
    return ExitCode.NOTHING_READ if found.verdict is Trust.CANT_TELL else ExitCode.OK


def _names(one: Meaning, tables: Tables) -> tuple[str, ...]:
    """Names of a tyre's size; a rim's inner width is no part of any name."""
    return other_names(one.size if one.part == "tyre" else Size(one.size.bsd), tables)


def _laid(found: Typed, names: dict[Meaning, tuple[str, ...]], tables: Tables, market: str) -> Laid:
    laid = Laid(f"{found.text}: {_headline(found)}")
    laid.lines += [f"CONTRADICTION: {one}" for one in found.contradictions]
    if found.unread:
        laid.lines.append(f"not understood: {', '.join(found.unread)}")
    every = _each(found)
    told = [(one, share) for one, share in every if share >= WORTH_TELLING] or every[:1]
    laid.why += [_if_it_is(one, share) for one, share in every[len(told) :]]
    if len(told) > 1 and found.kind != "tube":
        either = [_if_it_is(one, share) for one, share in told]
        laid.lines += either[:SHOWN]
        laid.why += either[SHOWN:]
    elif also := [name for name in names[told[0][0]] if name != found.text]:
        laid.lines.append(f"also called {', '.join(also[:6])}")
        laid.why += [f"also called {', '.join(also[6:])}"] if also[6:] else []
    if found.suggestions:
        alike = parse(found.suggestions[0], tables, market).meanings[0].size.bsd
        other = f"not to be mixed up with {found.suggestions[0]}, which is {alike}"
        (laid.lines if len(told) < SHOWN else laid.why).append(other)
    laid.lines += [*found.advice[:1], *found.cautions, *found.advice[1:]]
    laid.why += [one.why for one in found.meanings]
    laid.why += sources((one.source for one in found.meanings), dict(tables.sources))
    return laid


def _each(found: Typed) -> list[tuple[Meaning, float]]:
    """One meaning for each diameter, with the diameter's share."""
    first = {one.size.bsd: one for one in reversed(found.meanings)}
    return [(first[bsd], share) for bsd, share in found.diameters]


def _if_it_is(one: Meaning, share: float) -> str:
    """One line, as one answers on the telephone."""
    width = "" if one.size.width is None else f" {one.size},"
    who = {
        Standing.AGREED: f", in {one.tables} independent tables",
        Standing.SINGLE: ", in one table alone",
        Standing.UNVERIFIED: ", in an unchecked list",
        Standing.MEMORY: ", from memory",
    }.get(one.standing, "")
    return f"if it is {one.size.bsd}:{width} {percent(share)}{who}"


def _headline(found: Typed) -> str:
    """The answer in a few words: the size, how sure, and on what part."""
    told = _each(found)
    if found.profile:
        return "a maker's shape of rim and no size: ask for the wheel's diameter"
    if found.verdict is Trust.CANT_TELL:
        listed = ", ".join(str(one.size.bsd) for one, _ in told[: SHOWN + 1])
        if len(told) == 1:
            return f"can't tell: rather {told[0][0].size}"
        return f"can't tell: {listed}{' and others' if len(told) > SHOWN + 1 else ''}"
    if found.kind == "tube":
        return f"{found.verdict}: a tube for {' and '.join(str(one.size.bsd) for one, _ in told)}"
    best, share = told[0]
    size = f"bead seat {best.size.bsd} mm" if best.size.width is None else str(best.size)
    sure = (
        str(found.verdict) if found.verdict is Trust.SURE else f"{found.verdict}, {percent(share)}"
    )
    return f"{size}, {_WORDS[found.kind]}: {sure}"


def explain_tape(
    rim: str,
    tyre: str,
    width: float | None,
    error: float | None,
    market: str,
    why: bool,
    as_json: bool,
) -> None:
    """Print the sizes that a measurement can mean."""
    tables = load_tables()
    taped = measure.parse_taped(rim or tyre, error)
    if rim:
        found = measure.from_rim(taped, tables, market)
    else:
        found = measure.from_tyre(taped, tables, width, market)
    if not found:
        raise InputError(
            f"no size that exists measures {taped.diameter:.0f} mm across",
            "measure again, over the rim's outer edge or over the tread",
        )
    laid = _laid_tape(taped, found, rim != "")
    emit({"measured": taped, "matches": found}, shown(laid, why), as_json, tables)


def _laid_tape(taped: measure.Taped, found: tuple[measure.Match, ...], rim: bool) -> Laid:
    """Diameters first: those that a tape leaves open, each with its likeliest width."""
    first: dict[int, measure.Match] = {}
    shares: dict[int, float] = {}
    for one in found:
        first.setdefault(one.size.bsd, one)
        shares[one.size.bsd] = shares.get(one.size.bsd, 0.0) + one.share
    order = sorted(shares, key=lambda bsd: (-shares[bsd], bsd))
    told = ", ".join(f"{bsd} ({percent(shares[bsd])})" for bsd in order[:3])
    laid = Laid(f"{taped.taken:g} mm {_WAYS[taped.how]}: bead seat diameter {told}")
    for bsd in order[:3]:
        one = first[bsd]
        size = str(bsd) if rim else str(one.size)
        slack = f"give or take {2 * one.sigma:.0f} mm"
        memory = " (from memory)" if one.from_memory else ""
        laid.lines.append(f"{size} would measure {one.expected:.0f} mm across, {slack}{memory}")
    laid.lines.append("A tape never settles it: read the ISO pair, or try a known part.")
    laid.why.append(
        f"measured {taped.diameter:.1f} mm across, give or take {2 * taped.sigma:.1f} mm (the tape "
        f"give or take {taped.error:g} mm)"
    )
    laid.why += [
        f"{one.size.bsd if rim else one.size}: {percent(one.share)}, would measure "
        f"{one.expected:.0f} mm"
        for one in found[:20]
    ]
    return laid
