"""A reading as plain data: a stable dictionary for JSON, back again, and short texts.

The form is described in data/reading.schema.json (JSON Schema 2020-12). `VERSION` rises when a
field changes its meaning or goes; a new field alone does not raise it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from itertools import islice
from typing import Any

import numpy as np

from reader.errors import InputError
from reader.language import N_
from reader.records import (
    Candidate,
    Evidence,
    Fact,
    Floats,
    Hypothesis,
    Judgement,
    Marking,
    Photo,
    Reading,
    Region,
    Size,
    Strip,
    Verdict,
)
from reader.selection import cleanest, plainest

VERSION = 2
MOST_CANDIDATES, MOST_MARKINGS = 6, 10  # told unless everything is asked for
_MOST_POINTS = 24  # along one side of an outline; enough for any arc at photo scale


def reading_to_dict(reading: Reading, everything: bool = False) -> dict[str, Any]:
    """The reading as JSON-ready data: dicts, lists, strings, numbers, booleans, None.

    Args:
        reading: as the pipeline gave it.
        everything: also the candidates nobody would look at, where text was looked for, and the
            dozen cleanest spellings of each notation: a photo of a whole wheel has thousands of
            them. Else a photo's answer has 40 kB at most.
    """
    best = reading.best
    candidates, markings = reading.candidates, cleanest(reading.markings)
    if not everything:
        candidates = candidates[:MOST_CANDIDATES]
        plain = {id(one) for one in islice(plainest(markings), MOST_MARKINGS)}
        markings = tuple(one for one in markings if id(one) in plain)
    return {
        "version": VERSION,
        "size": None if best is None else str(best.size),
        "verdict": str(reading.verdict),
        "calibrated": reading.calibrated,
        "diameter": _judgement(reading.diameter),
        "width": _judgement(reading.width),
        "kind": _judgement(reading.kind),
        "facts": [asdict(fact) for fact in reading.facts],
        "bsd_probability": round(reading.bsd_probability, 6),
        "part": reading.part,
        "photos": list(reading.photos),
        "candidates": [_candidate(candidate) for candidate in candidates],
        "markings": [_marking(marking) for marking in markings],
        "contradictions": list(reading.contradictions),
        "advice": list(reading.advice),
        "cautions": list(reading.cautions),
        "regions": [_region(region) for region in reading.regions] if everything else [],
        "seconds": round(reading.seconds, 3),
    }


def from_dict(data: Mapping[str, Any]) -> Reading:
    """The reading back from its dictionary.

    Photos come back as names only (no pixels) and hypotheses without letter probabilities, so
    that 'what was read where' survives but nothing can be read again.

    Raises:
        InputError: the data is not a reading, or of a later version.
    """
    try:
        if int(data["version"]) > VERSION:
            raise InputError(
                f"this reading has form {data['version']}, known are forms up to {VERSION}",
                "update tyremark",
            )
        return Reading(
            candidates=tuple(_to_candidate(item) for item in data["candidates"]),
            verdict=Verdict(data["verdict"]),
            part=data["part"],
            diameter=_to_judgement(data.get("diameter")),
            width=_to_judgement(data.get("width")),
            kind=_to_judgement(data.get("kind")),
            facts=tuple(Fact(**item) for item in data.get("facts", ())),
            photos=tuple(data["photos"]),
            markings=tuple(_to_marking(item) for item in data["markings"]),
            advice=tuple(data["advice"]),
            contradictions=tuple(data["contradictions"]),
            cautions=tuple(data["cautions"]),
            calibrated=bool(data["calibrated"]),
            bsd_probability=float(data.get("bsd_probability", 0.0)),
            seconds=float(data["seconds"]),
            regions=tuple(
                _to_region(item["outline"], item["photo"], item["score"], item["finder"])
                for item in data["regions"]
            ),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(
            f"this is no stored reading ({type(error).__name__}: {error})", "read the photo again"
        ) from error


def belief(reading: Reading) -> str:
    """The verdict and the probability in words that don't promise more than is known."""
    best = reading.best
    if best is None:
        return "no size marking was found"
    share = percent(reading.size_probability)
    if reading.calibrated:
        return f"{reading.verdict}, {share}"
    return f"{reading.verdict}, belief {share} (not yet measured against real tyres)"


def percent(probability: float) -> str:
    """A probability for people: never rounded up to certainty or down to impossibility.

    >>> percent(0.934), percent(0.9999), percent(0.0004), percent(1.0)
    ('93 %', 'over 99 %', 'under 1 %', 'over 99 %')
    """
    if probability >= 0.995:
        return N_("over 99 %")
    if probability < 0.005:
        return N_("under 1 %")
    return f"{probability * 100:.0f} %"


def outline(region: Region) -> list[list[float]]:
    """Corner points (x, y) around a region in photo pixels, first along the text's upper side."""
    line = _thinned(np.asarray(region.centreline, dtype=np.float32))
    along = np.gradient(line, axis=0)
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-6)
    # Upper is left of the walk as seen in the picture: towards smaller y for a walk to the right.
    up = np.stack([along[:, 1], -along[:, 0]], axis=1) / length[:, np.newaxis]
    offset = up * (region.height / 2)
    around = np.concatenate([line + offset, (line - offset)[::-1]])
    return [[round(float(x), 1), round(float(y), 1)] for x, y in around]


def _thinned(line: Floats) -> Floats:
    if len(line) <= _MOST_POINTS:
        return line
    picks = np.linspace(0, len(line) - 1, _MOST_POINTS).round().astype(int)
    return line[picks]


def _judgement(judged: Judgement[Any]) -> dict[str, Any]:
    return {
        "value": judged.value,
        "probability": round(judged.probability, 6),
        "verdict": str(judged.verdict),
        "others": [
            {"value": value, "probability": round(share, 6)} for value, share in judged.others
        ],
        "nominal": judged.nominal,
    }


def _to_judgement(data: Mapping[str, Any] | None) -> Judgement[Any]:
    """The judgement back; one that is missing, as in the first form, was not made."""
    if data is None:
        return Judgement()
    others = tuple((item["value"], float(item["probability"])) for item in data["others"])
    return Judgement(
        data["value"],
        float(data["probability"]),
        Verdict(data["verdict"]),
        others,
        bool(data["nominal"]),
    )


def _candidate(candidate: Candidate) -> dict[str, Any]:
    return {
        "size": str(candidate.size),
        "bsd_mm": candidate.size.bsd,
        "width_mm": candidate.size.width,
        "part": candidate.part,
        "probability": round(candidate.probability, 6),
        "names": list(candidate.names),
        "evidence": [
            {
                "name": piece.name,
                "detail": piece.detail,
                "weight": round(piece.weight, 4),
                "photo": piece.photo,
                "engine": piece.engine,
            }
            for piece in candidate.evidence
        ],
    }


def _marking(marking: Marking) -> dict[str, Any]:
    seen = marking.hypothesis
    region = seen.strip.region if seen is not None and seen.strip is not None else None
    return {
        "notation": marking.notation,
        "text": marking.text,
        "numbers": dict(marking.numbers),
        "cost": round(marking.cost, 4),
        "cut": marking.cut,
        "doubt": marking.doubt,
        "span": list(marking.span),
        "engine": seen.engine if seen is not None else "",
        "seen": seen.text if seen is not None else "",
        "score": round(seen.score, 4) if seen is not None else 0.0,
        "photo": region.photo.name if region is not None else "",
        "place": outline(region) if region is not None else None,
    }


def _region(region: Region) -> dict[str, Any]:
    return {
        "photo": region.photo.name,
        "outline": outline(region),
        "score": round(region.score, 4),
        "finder": region.finder,
    }


def _to_candidate(data: Mapping[str, Any]) -> Candidate:
    return Candidate(
        size=Size(int(data["bsd_mm"]), data["width_mm"]),
        part=data["part"],
        probability=float(data["probability"]),
        evidence=tuple(
            Evidence(item["name"], item["detail"], item["weight"], item["photo"], item["engine"])
            for item in data["evidence"]
        ),
        names=tuple(data["names"]),
    )


def _to_marking(data: Mapping[str, Any]) -> Marking:
    strip = None
    if data["place"] is not None:
        region = _to_region(data["place"], data["photo"])
        strip = Strip(region, np.zeros((0, 0), dtype=np.uint8))
    start, end = data["span"]
    seen = Hypothesis(data["engine"], data["seen"], float(data["score"]), strip)
    return Marking(
        notation=data["notation"],
        text=data["text"],
        numbers=dict(data["numbers"]),
        span=(int(start), int(end)),
        cost=float(data["cost"]),
        hypothesis=seen if data["engine"] else None,
        cut=bool(data.get("cut", False)),
        doubt=data.get("doubt", ""),
    )


def _to_region(
    around: Sequence[Sequence[float]], photo: str, score: float = 1.0, finder: str = ""
) -> Region:
    """The centre line lies midway between the outline's upper and lower side."""
    points = np.asarray(around, dtype=np.float32)
    upper, lower = points[: len(points) // 2], points[len(points) // 2 :][::-1]
    height = float(np.mean(np.hypot(*(upper - lower).T)))
    empty = Photo(photo, np.zeros((0, 0, 3), dtype=np.uint8))
    middle = np.asarray((upper + lower) / 2, dtype=np.float32)
    return Region(empty, middle, height, score, finder)


_KEPT = re.compile(  # spaces that must not become line ends: 26 x 1 3/8, 28 mm, 5.0 bar, ISO 5775-1
    r"(?<=\d) (?=x\b)|(?<=\bx) (?=\d)|(?<=\d) (?=\d+/\d)|"
    r"(?<=\d) (?=(?:mm|cm|m|bar|psi|kPa|kg/cm2|inch|in|%)\b)|(?<=\d) (?=%)|(?<=ISO) (?=\d)|"
    r"(?<=\d) (?=to \d)|(?<=\dto) (?=\d)|(?<=\d to) (?=\d)"
)


def kept(text: str) -> str:
    """The text with hard spaces inside sizes and before units, so that no line ends there.

    >>> kept("26 x 1 3/8 on 19 mm").split(" ")
    ['26\\xa0x\\xa01\\xa03/8', 'on', '19\\xa0mm']
    """
    return _KEPT.sub("\u00a0", text)
