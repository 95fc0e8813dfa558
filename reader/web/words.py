"""What the page says: verdicts, kinds of part, facts, units, each in the visitor's language."""

from __future__ import annotations

from typing import Any

from reader import report
from reader.language import COMMA, N_, gettext, language, number
from reader.records import Fact, Judgement, Size, Verdict

ALMOST = 0.985  # a likelihood from here on is no figure to show beside "likely"

SECTIONS = (
    ("/", N_("Snap")),
    ("/fit", N_("Fit")),
    ("/bins", N_("Bins")),
    ("/review", N_("Review")),
    ("/names", N_("Names")),
)

VERDICTS = {
    Verdict.SURE: N_("Sure"),
    Verdict.LIKELY: N_("Likely, check it"),
    Verdict.CANT_TELL: N_("Can't tell yet"),
    Verdict.NONE: N_("No size found"),
}

KINDS = {
    "tyre": N_("Tyre"),
    "rim": N_("Rim"),
    "tube": N_("Tube"),
    "unknown": N_("Unsure"),
}

FACTS = {
    "pressure": N_("pressure"),
    "load": N_("load"),
    "tubeless": N_("tubeless"),
    "hookless": N_("hookless"),
    "direction": N_("turns one way only"),
    "e_bike": N_("for e-bikes"),
    "brake": N_("brake"),
    "wear_mark": N_("wear mark"),
    "erd": N_("ERD"),
    "holes": N_("holes"),
    "threads": N_("threads"),
    "date": N_("made"),
    "edge": N_("edge"),
}

SCRIPT_WORDS = {
    "sending": N_("Sending"),
    "reading": N_("Reading"),
    "waiting": N_("Waiting"),
    "before it": N_("before it"),
    "away": N_("The server is away; it is tried again"),
    "unreached": N_("The server can't be reached"),
    "kept": N_("Kept on this phone, will be sent by itself."),
    "stopped": N_("Stopped; kept on this phone"),
    "unpaired": N_("Kept on this phone. Pair it again, then it is sent."),
    "no camera": N_("No camera may be used here: allow it in the browser, or film with Sweep."),
    "look": N_("Hold the marking in the frame"),
    "busy": N_("fewer looks, the server is busy"),
}


def percent(share: float) -> str:
    """A share in percent.

    >>> percent(0.71)
    '71 %'
    """
    return report.percent(share).replace("over", gettext("over"))


def pressures(text: str) -> str:
    """A pressure in the units that people think in: psi first in English, else bar first.

    >>> pressures("500 kPa = 5.0 bar = 72 psi")
    '72 psi = 5.0 bar = 500 kPa'
    """
    kpa, bar, psi = text.split(" = ")
    if language() in COMMA:
        return " = ".join((bar.replace(".", ","), psi, kpa))
    return " = ".join((psi, bar, kpa))


def verdict_word(verdict: Verdict) -> str:
    """The verdict in words."""
    return gettext(VERDICTS[verdict])


def share_word(one: Judgement[Any]) -> str:
    """The figure beside a verdict, where it tells more than the verdict does."""
    if one.verdict in (Verdict.SURE, Verdict.NONE) or one.probability >= ALMOST:
        return ""
    return percent(one.probability)


def judged(one: Judgement[Any]) -> str:
    """Verdict and figure of one judgement."""
    return ", ".join(filter(None, (verdict_word(one.verdict), share_word(one))))


def trusted(verdict: str, probability: float) -> str:
    """How far a part of the catalogue that nobody checked can be trusted."""
    return judged(Judgement(None, probability, Verdict(verdict)))


def fact_word(fact: Fact) -> str:
    """A further fact read on a part, short."""
    name = gettext(FACTS[fact.name])
    if isinstance(fact.value, bool):
        return name if fact.value else gettext("not %(what)s") % {"what": name}
    return fact.text if fact.name == "pressure" else f"{name} {fact.text}"


def script_words() -> dict[str, str]:
    """The script's sentences in the language in use."""
    return {key: gettext(text) for key, text in SCRIPT_WORDS.items()}


def sentence(text: str) -> str:
    """The text with a capital first letter, the rest as it is.

    >>> sentence("no ISO size"), sentence("")
    ('No ISO size', '')
    """
    return text[:1].upper() + text[1:]


def mm(value: float | None, digits: int = 0) -> str:
    """A length with its unit.

    >>> mm(37.5, 1), mm(622), mm(None)
    ('37.5 mm', '622 mm', 'unknown')
    """
    return gettext("unknown") if value is None else f"{number(value, digits)} mm"


def size_text(size: Size, part: str = "tyre") -> str:
    """A size as the standard writes it for the part.

    >>> size_text(Size(622, 28)), size_text(Size(622, 19), "rim"), size_text(Size(622))
    ('28-622', '622x19', '?-622')
    """
    if part == "rim":
        return f"{size.bsd}x{'?' if size.width is None else format(size.width, 'g')}"
    return str(size)
