"""Markings in, answer out: weighs all sizes that exist instead of picking one string.

The steps: `places` says which markings compete; `weigh` how strongly each place speaks for each
size; `belief` adds them up; `confidence` turns the belief into a probability and a verdict;
`advice` says what would settle the rest.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from reader.language import N_
from reader.markings import PAIRS
from reader.names.meanings import meanings, other_names
from reader.records import (
    Candidate,
    Evidence,
    Judgement,
    KindOfPart,
    Marking,
    PartKind,
    Reading,
    Size,
    Verdict,
)
from reader.resolve.advice import advise, cautions, nothing_found
from reader.resolve.apart import Said, by_photo, differ, question, text_of
from reader.resolve.calibration import (
    Calibration,
    Features,
    judge_seat,
    load_calibration,
    seat_confidence,
)
from reader.resolve.facts import facts, other_part, sentence
from reader.resolve.features import features
from reader.resolve.judgements import Judge
from reader.resolve.likelihood import Heading, Weigher
from reader.resolve.posterior import CLEAR_COST, Belief, believe, contradictions, itemise
from reader.resolve.rivals import Place, gather
from reader.resolve.weights import Weights
from reader.resolve.width_alone import with_width
from reader.tables import Tables

NOTHING = 0.5  # with this belief that no size was read, none is named
LEAST = 0.2  # a diameter less probable than that is noise: no size marking was found
SHOWN = 10  # candidates
TRACE = 1e-3  # less probable candidates are not shown
PART_TOLD = 0.9

CHECKED_ON = N_("how often such readings were right on rendered pictures; not checked on real ones")


def resolve(
    markings: Sequence[Marking],
    part: PartKind,
    tables: Tables,
    market: str = "world",
    calibration: Calibration | None = None,
    weights: Weights | None = None,
) -> Reading:
    """Weigh all markings of ONE part.

    Args:
        markings: everything that was found in its photos, decoys and pressures included.
        part: what the user says it is.
        tables: the sourced tables.
        market: column of prior.csv that bends the belief; rules nothing out.
        calibration: the shipped one by default.
        weights: of the evidence, the shipped ones by default.

    Returns:
        The answer. `probability` of the candidates of the best size is calibrated where the
        reading says so; the weights of a candidate's evidence sum to its natural-log odds.

    Raises:
        InputError: the market has no column in prior.csv, or the calibration file is damaged.
    """
    calibration = load_calibration() if calibration is None else calibration
    belief = believed(markings, part, tables, market, weights)
    photos = tuple(dict.fromkeys(name for name in map(_photo, markings) if name))
    empty = Reading(
        (), Verdict.NONE, part, photos, tuple(markings), nothing_found(part, markings), cautions=()
    )
    empty = replace(empty, facts=facts(markings))
    other = other_part(markings)
    if other is not None:
        kind = Judgement[KindOfPart]("other", other.probability, Verdict.LIKELY)
        return replace(empty, kind=kind, advice=(sentence(other),))
    if belief is None or belief.nothing >= NOTHING:
        return with_width(empty, markings, tables)
    disagreements = contradictions(belief)
    seen = features(belief, bool(disagreements), part != "unknown")
    judge = Judge(belief, seen, calibration)
    if judge.seat < LEAST:
        return with_width(empty, markings, tables)
    candidates = _candidates(belief, judge.size_probability, judge.seat, tables)
    told = _part(belief, part)
    reading = Reading(
        candidates=candidates,
        verdict=judge.verdict,
        part=told,
        diameter=judge.diameter(),
        width=judge.width(),
        kind=judge.kind(part),
        photos=photos,
        markings=tuple(markings),
        facts=empty.facts,
        advice=advise(judge.verdict, candidates, seen, told, judge.seat),
        contradictions=disagreements,
        cautions=cautions(candidates[0], seen, tables),
        calibrated=seen.kind in calibration.kinds,
        bsd_probability=judge.seat,
    )
    if len(photos) < 2:
        return reading
    alone = [
        _said(name, own, part, tables, market, calibration, weights)
        for name, own in by_photo(markings, list(map(_photo, markings))).items()
    ]
    apart = differ([one for one in alone if one is not None])
    return _doubted(reading, apart) if apart else reading


def _said(
    photo: str,
    markings: Sequence[Marking],
    part: PartKind,
    tables: Tables,
    market: str,
    calibration: Calibration,
    weights: Weights | None,
) -> Said | None:
    """What one photo alone says of the diameter; `None` where it says nothing."""
    belief = believed(markings, part, tables, market, weights)
    if belief is None or belief.nothing >= NOTHING:
        return None
    seen = features(belief, bool(contradictions(belief)), part != "unknown")
    bsd = belief.best()[0].bsd
    seat = judge_seat(seen, seat_confidence(seen, calibration), calibration)
    return Said(photo, bsd, text_of(belief, bsd), seat)


def _doubted(reading: Reading, apart: Sequence[Said]) -> Reading:
    """The answer where photos show different parts: none, and the question whether they do."""
    asked = question(apart)
    says = tuple(f"{one.photo} says {one.text}" for one in apart)
    return replace(
        reading,
        verdict=Verdict.CANT_TELL,
        diameter=replace(reading.diameter, verdict=Verdict.CANT_TELL),
        width=replace(reading.width, verdict=Verdict.CANT_TELL),
        advice=(asked, *reading.advice),
        contradictions=(*says, *reading.contradictions),
    )


def verdict(
    markings: Sequence[Marking], part: PartKind, tables: Tables, market: str = "world"
) -> Verdict:
    """The verdict that `resolve` gives, without candidates and reasons: a third of its time.

    Raises:
        InputError: as `resolve`.
    """
    if other_part(markings) is not None:
        return Verdict.NONE
    belief = believed(markings, part, tables, market)
    if belief is None or belief.nothing >= NOTHING:
        return Verdict.NONE
    seen = features(belief, bool(contradictions(belief)), part != "unknown")
    judge = Judge(belief, seen, load_calibration())
    return Verdict.NONE if judge.seat < LEAST else judge.verdict


def evidence_features(
    markings: Sequence[Marking],
    part: PartKind,
    tables: Tables,
    market: str = "world",
    weights: Weights | None = None,
) -> tuple[Size, Features] | None:
    """The best size and what the calibration looks at; `None` where no size is named.

    Raises:
        InputError: the market has no column in prior.csv.
    """
    belief = believed(markings, part, tables, market, weights)
    if belief is None or belief.nothing >= NOTHING:
        return None
    return belief.best()[0], features(belief, bool(contradictions(belief)), part != "unknown")


def believed(
    markings: Sequence[Marking],
    part: PartKind,
    tables: Tables,
    market: str = "world",
    weights: Weights | None = None,
) -> Belief | None:
    """The belief before calibration; `None` where nothing could be a size.

    Raises:
        InputError: the market has no column in prior.csv.
    """
    tables.prior(622, market)  # an unknown market is an error even where nothing was read
    places = gather(markings, weights)
    if part == "unknown":
        part = _in_view(places, tables, market)
    weigher = Weigher(places, part, tables, market, weights)
    return believe(places, weigher, markings) if weigher.headings else None


def _in_view(places: Iterable[Place], tables: Tables, market: str) -> PartKind:
    """A tyre on its rim shows markings of both; the question is then about the tyre.

    Inch and French names tell nothing here, as they stand on rims too; nor does a pair that only
    repeats a rim's own marking.
    """
    tyres, rims = set(), set()
    for place in places:
        best = place.best
        if best.cost <= CLEAR_COST and best.notation in PAIRS:
            found = meanings(best.notation, best.numbers, tables, market)
            if found and {meaning.part for meaning in found} == {"rim"}:
                rims.add(found[0].size)
            elif found and found[0].part == "tyre":
                tyres.add(found[0].size)
    return "tyre" if rims and tyres - rims else "unknown"


def _photo(marking: Marking) -> str:
    hypothesis = marking.hypothesis
    return (
        "" if hypothesis is None or hypothesis.strip is None else hypothesis.strip.region.photo.name
    )


def _part(belief: Belief, part: PartKind) -> PartKind:
    if part != "unknown":
        return part
    best, share = max(belief.by_part().items(), key=lambda item: item[1])
    return best if share >= PART_TOLD else "unknown"


def _candidates(
    belief: Belief, probability: float, seat: float, tables: Tables
) -> tuple[Candidate, ...]:
    """Headings as candidates; those of the best size, and of its bead seat diameter, share theirs.

    Args:
        belief: what was weighed.
        probability: of the best size, calibrated.
        seat: of its bead seat diameter, calibrated.
        tables: for the other names.
    """
    size, raw = belief.best()
    raw_seat = dict(belief.by_seat())[size.bsd]
    scale = {
        (True, True): probability / raw,
        (True, False): min(1.0, (seat - probability) / max(raw_seat - raw, 1e-12)),
        (False, False): min(1.0, (1 - seat) / max(1 - raw_seat, 1e-12)),
    }
    order = sorted(range(len(belief.headings)), key=lambda i: -belief.probability[i])
    first = max(order, key=lambda i: (belief.headings[i].size == size, belief.probability[i]))
    order.remove(first)
    made: list[Candidate] = []
    for index in [first, *order]:
        heading, before = belief.headings[index], float(belief.probability[index])
        factor = scale[heading.size.bsd == size.bsd, heading.size == size]
        after = min(before * factor, made[0].probability if made else 1.0)
        if index != first and (after < TRACE or len(made) == SHOWN):
            continue
        evidence = itemise(belief, index)
        if abs(after - before) > 1e-9:
            shift = _log_odds(after) - sum(item.weight for item in evidence)
            evidence += (Evidence("calibration", CHECKED_ON, shift),)
        names = other_names(_named(heading), tables)
        made.append(Candidate(heading.size, heading.part, after, evidence, names))
    return tuple(made)


def _named(heading: Heading) -> Size:
    # Inch and French names carry the tyre's width, which a rim or a tube doesn't have.
    return heading.size if heading.part == "tyre" else Size(heading.size.bsd)


def _log_odds(probability: float) -> float:
    held = min(max(probability, 1e-9), 1 - 1e-9)
    return math.log(held / (1 - held))
