"""A reading in a few plain lines: what a mechanic wants to know first; for card, page and lists."""

from __future__ import annotations

from itertools import islice

from reader.language import N_, either, said, words
from reader.photo.roles import deciding
from reader.records import (
    Candidate,
    Fact,
    Judgement,
    Marking,
    Reading,
    Verdict,
)
from reader.report import percent
from reader.selection import photo_of, plainest

NOT_A_BICYCLE = N_("motor vehicle tyre: no bicycle size")
MOST_NAMES = 3  # other names told
LEAST_RIVAL = 0.05  # of a diameter or width that is named as another possibility
CLEAR_COST = 1.0  # of a marking that is worth telling though no size came of it
STRONG, CLEAR = 5.0, 1.5  # natural-log weights from which evidence is called so

# What of the cautions goes on one line; the whole text is in `Reading.cautions`.
SHORT_CAUTIONS = {
    "Beaded-edge": N_("beaded edge: goes only with beaded edge, never with wired edge"),
    "No source": N_("this size's entry is from memory: check it with the maker"),
    "Inch and French": N_("names are shared by sizes that do not interchange"),
    "A size is no proof": N_("a size is no proof of fit: keep to the limits of tyre and rim"),
}


def size_line(reading: Reading) -> str:
    """The three answers in one line, each with its verdict.

    >>> from reader.records import Candidate, Size
    >>> size_line(Reading((Candidate(Size(507), "tyre", 1.0),), Verdict.LIKELY,
    ...     diameter=Judgement(507, 0.997, Verdict.SURE), width=Judgement(47, 0.9, Verdict.LIKELY),
    ...     kind=Judgement("tyre", 1.0, Verdict.SURE), calibrated=True))
    'diameter 507 mm sure, over 99 %; width 47 mm likely, 90 %; tyre'
    """
    if reading.kind.value == "other" and reading.kind.told:
        return said(reading.advice[0] if reading.advice else NOT_A_BICYCLE)
    if reading.verdict is Verdict.NONE and not reading.width.told:
        return said("No size marking found")
    parts = [diameter_words(reading), width_words(reading), kind_words(reading)]
    return "; ".join(part for part in parts if part)


def diameter_words(reading: Reading) -> str:
    """The bead seat diameter and how sure, or what it could be."""
    judged = reading.diameter
    if judged.value is None:
        return said("diameter not told")
    if judged.told:
        return said(f"diameter {judged.value} mm {sureness(judged)}")
    lead = said("can't tell the diameter")
    return f"{lead}: {_perhaps(judged)}"


def width_words(reading: Reading) -> str:
    """The width and how sure, or what it could be."""
    judged = reading.width
    if judged.value is None:
        return said("width not told")
    if judged.told and judged.nominal:
        return said(f"about {judged.value:g} mm wide by its name")
    if judged.told:
        return said(f"width {judged.value:g} mm {sureness(judged)}")
    return f"{said('width open')}: {_perhaps(judged)}"


def kind_words(reading: Reading) -> str:
    """The kind of part, with a doubt where there is one; a rim without hooks says so first."""
    judged = reading.kind
    if judged.value is None:
        return ""
    if judged.value == "rim" and judged.told and is_hookless(reading):
        return said("hookless rim")
    if judged.verdict is Verdict.SURE:
        return said(str(judged.value))
    if judged.verdict is Verdict.LIKELY:
        return said(f"likely a {judged.value}")
    rivals = [str(value) for value, share in judged.others if share >= LEAST_RIVAL]
    return either(words(str(judged.value), *rivals[:1]))


def is_hookless(reading: Reading) -> bool:
    """Whether the part's own marks say that it has no hooks."""
    said = {(fact.name, fact.value) for fact in reading.facts}
    return ("hookless", True) in said or ("edge", "TSS") in said


def sureness(judged: Judgement[int] | Judgement[float]) -> str:
    """Verdict and probability, which never says less or more than the word."""
    return f"{said(str(judged.verdict))}, {said(percent(judged.probability))}"


def _perhaps(judged: Judgement[int] | Judgement[float]) -> str:
    rivals = [value for value, share in judged.others if share >= LEAST_RIVAL][:1]
    numbers = [said(f"{value:g}") for value in (judged.value, *rivals) if value is not None]
    if len(numbers) > 1:
        return f"{either(numbers)} mm"
    return said(f"perhaps {numbers[0]} mm")


def other_names(reading: Reading) -> list[str]:
    """At most three names of the told size, never a range of names."""
    best = reading.best
    if best is None or not reading.diameter.told:
        return []
    marking = deciding(reading)
    read = _plain(marking.text) if marking is not None else ""
    single = [name for name in best.names if " to " not in name and _plain(name) != read]
    return single[:MOST_NAMES]


def _plain(name: str) -> str:
    return name.replace(" ", "").upper()


def read_line(reading: Reading) -> str:
    """The marking that decides, as it was read, and where in which photo."""
    marking = deciding(reading)
    if marking is None:
        clear = [one for one in reading.markings if one.cost <= CLEAR_COST]
        texts = [one.text for one in islice(plainest(clear), 3)]
        return ", ".join(f"'{text}'" for text in texts)
    where = whereabouts(marking)
    name = _file_of(marking, reading)
    return f"'{marking.text}'" + (f", {where}{name}" if where else "")


def _file_of(marking: Marking, reading: Reading) -> str:
    """The photo's name, if there are several; '' where a sweep put photos together to one."""
    photo, seen = photo_of(marking), marking.hypothesis
    if photo is None or seen is None or seen.strip is None or len(reading.photos) < 2:
        return ""
    alone = seen.strip.region.finder != "track" and photo.name in reading.photos
    return f" {said('of')} {photo.name}" if alone else ""


def whereabouts(marking: Marking) -> str:
    """Where in its photo a marking stands, in words; '' where the photo is not at hand."""
    photo, seen = photo_of(marking), marking.hypothesis
    if photo is None or seen is None or seen.strip is None or not photo.pixels.size:
        return ""
    high, wide = photo.shape
    x, y = seen.strip.region.centreline.mean(axis=0) / (wide, high)
    across = "left" if x < 1 / 3 else "right" if x > 2 / 3 else ""
    down = "top" if y < 1 / 3 else "bottom" if y > 2 / 3 else ""
    return said(" ".join(word for word in (down, across) if word) or "middle")


def facts_line(reading: Reading) -> str:
    """What else the part says, each once, as it was read."""
    return "; ".join(dict.fromkeys(fact_words(fact) for fact in reading.facts))


def fact_words(fact: Fact) -> str:
    """One fact: its name if the text alone does not say it."""
    name = fact.name.replace("_", " ")
    told = said(name)
    plain = fact.name in ("pressure", "load", "threads", "holes") or name in fact.text.lower()
    return fact.text if plain else f"{told} {fact.text}"


def caution(reading: Reading) -> str:
    """The one caution that applies here most, on one line."""
    if reading.best is not None and not reading.calibrated:
        return said("the percentages are not yet measured on parts of known size")
    for start, short in SHORT_CAUTIONS.items():
        if any(text.startswith(start) for text in reading.cautions):
            return said(short)
    return said(reading.cautions[0]) if reading.cautions else ""


def reasons(candidate: Candidate) -> list[str]:
    """Evidence by weight, each term once, in words with a fact in them."""
    lines: dict[str, None] = {}
    for piece in sorted(candidate.evidence, key=lambda one: -abs(one.weight)):
        if not piece.detail or piece.name in ("other readings", "calibration", "faint traces"):
            continue
        strength = N_("strong") if abs(piece.weight) >= STRONG else N_("clear")
        strength = strength if abs(piece.weight) >= CLEAR else N_("slight")
        side = N_("for") if piece.weight > 0 else N_("against")
        text, _, why = piece.detail.partition(": ")
        detail = f"{text}: {said(why)}" if why else said(text)
        how = f"{said(strength)}, {said(side)}"
        lines[f"{how}: {said(piece.name)}, {detail}"] = None
    return list(lines)
