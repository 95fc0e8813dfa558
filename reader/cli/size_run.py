"""What `tyremark size` does: explain a text, list the names of an ISO size, weigh a measurement."""

from __future__ import annotations

from reader.cli.layout import Laid, shown, sources
from reader.cli.show import emit
from reader.errors import ExitCode, InputError
from reader.fit import measure
from reader.language import N_, both, said, words
from reader.names.meaning import Meaning, Standing
from reader.names.meanings import other_names
from reader.names.typed import Typed, parse
from reader.names.verdicts import Trust
from reader.records import Size
from reader.report import percent
from reader.tables import Tables, load_tables

_WAYS = {"seat": N_("round the bead seat"), "hub": N_("from hub to seat")} | {
    how: how for how in ("around", "across")
}
_WORDS = {
    "tyre": N_("a tyre"),
    "rim": N_("a rim"),
    "tube": N_("a tube"),
    "unknown": N_("a tyre or rim"),
}
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
    laid.lines += [f"{said('CONTRADICTION')}: {said(one)}" for one in found.contradictions]
    if found.unread:
        laid.lines.append(said(f"not understood: {', '.join(found.unread)}"))
    every = _each(found)
    told = [(one, share) for one, share in every if share >= WORTH_TELLING] or every[:1]
    laid.why += [_if_it_is(one, share) for one, share in every[len(told) :]]
    if len(told) > 1 and found.kind != "tube":
        either = [_if_it_is(one, share) for one, share in told]
        laid.lines += either[:SHOWN]
        laid.why += either[SHOWN:]
    elif also := [name for name in names[told[0][0]] if name != found.text]:
        laid.lines.append(said(f"also called {', '.join(also[:6])}"))
        laid.why += [said(f"also called {', '.join(also[6:])}")] if also[6:] else []
    if found.suggestions:
        alike = parse(found.suggestions[0], tables, market).meanings[0].size.bsd
        other = said(f"not to be mixed up with {found.suggestions[0]}, which is {alike}")
        (laid.lines if len(told) < SHOWN else laid.why).append(other)
    laid.lines += words(*found.advice[:1], *found.cautions, *found.advice[1:])
    laid.why += words(*(one.why for one in found.meanings))
    laid.why += sources((one.source for one in found.meanings), dict(tables.sources))
    return laid


def _each(found: Typed) -> list[tuple[Meaning, float]]:
    """One meaning for each diameter, with the diameter's share."""
    first = {one.size.bsd: one for one in reversed(found.meanings)}
    return [(first[bsd], share) for bsd, share in found.diameters]


def _if_it_is(one: Meaning, share: float) -> str:
    """One line, as one answers on the telephone."""
    width = "" if one.size.width is None else f"{one.size}, "
    who = {
        Standing.AGREED: said(f"in {one.tables} independent tables"),
        Standing.SINGLE: said("in one table alone"),
        Standing.UNVERIFIED: said("in an unchecked list"),
        Standing.MEMORY: said("from memory"),
    }.get(one.standing, "")
    rest = f"{width}{said(percent(share))}{who and ', '}{who}"
    return said(f"if it is {one.size.bsd}: {rest}")


def _headline(found: Typed) -> str:
    """The answer in a few words: the size, how sure, and on what part."""
    told = _each(found)
    if found.profile:
        return said("a maker's shape of rim and no size: ask for the wheel's diameter")
    if found.verdict is Trust.CANT_TELL:
        listed = ", ".join(str(one.size.bsd) for one, _ in told[: SHOWN + 1])
        if len(told) == 1:
            return said(f"can't tell: rather {told[0][0].size}")
        if len(told) > SHOWN + 1:
            return said(f"can't tell: {listed} and others")
        return said(f"can't tell: {listed}")
    if found.kind == "tube":
        bsds = both(str(one.size.bsd) for one, _ in told)
        return said(f"{found.verdict}: a tube for {bsds}")
    best, share = told[0]
    size = said(f"bead seat {best.size.bsd} mm") if best.size.width is None else str(best.size)
    sure = said(str(found.verdict))
    if found.verdict is not Trust.SURE:
        sure += f", {said(percent(share))}"
    return f"{size}, {said(_WORDS[found.kind])}: {sure}"


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
    told = ", ".join(f"{bsd} ({said(percent(shares[bsd]))})" for bsd in order[:3])
    laid = Laid(said(f"{taped.taken:g} mm {_WAYS[taped.how]}: bead seat diameter {told}"))
    for bsd in order[:3]:
        one = first[bsd]
        size = str(bsd) if rim else str(one.size)
        memory = f" ({said('from memory')})" if one.from_memory else ""
        slack = 2 * one.sigma
        laid.lines.append(
            said(f"{size} would measure {one.expected:.0f} mm across, give or take {slack:.0f} mm")
            + memory
        )
    laid.lines.append(said("A tape never settles it: read the ISO pair, or try a known part."))
    laid.why.append(
        said(
            f"measured {taped.diameter:.1f} mm across, give or take {2 * taped.sigma:.1f} mm "
            f"(the tape give or take {taped.error:g} mm)"
        )
    )
    laid.why += [
        said(
            f"{one.size.bsd if rim else one.size}: {percent(one.share)}, would measure "
            f"{one.expected:.0f} mm"
        )
        for one in found[:20]
    ]
    return laid
