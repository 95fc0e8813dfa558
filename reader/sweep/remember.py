"""What a sweep has read, kept in some kilobytes: a still added later is weighed beside it.

The looks' pixels are gone by then; what the resolver needs of a marking is where its letters stand
and how sure they are. The form is NumPy's own (`.npz`), read without running anything in it.
"""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from collections.abc import Sequence
from typing import Any

import numpy as np

from reader.errors import InputError
from reader.language import N_
from reader.records import Hypothesis, Marking, PartKind, Photo, Pixels, Region, Strip

FORMAT = 1
LARGEST = 4_000_000  # bytes; a sweep of fifty lines takes a tenth
DAMAGED = (
    OSError, EOFError, ValueError, KeyError, IndexError, TypeError, zipfile.BadZipFile, zlib.error,
)  # fmt: skip


def remember(markings: Sequence[Marking]) -> bytes:
    """Markings of one reading, with the lines they stand on."""
    lines: dict[int, Hypothesis] = {}
    rows = []
    for marking in markings:
        seen = marking.hypothesis
        if seen is None or seen.strip is None:
            continue
        lines[id(seen)] = seen
        rows.append(
            {
                "line": list(lines).index(id(seen)), "notation": marking.notation,
                "text": marking.text, "numbers": dict(marking.numbers),
                "span": marking.span, "cost": marking.cost, "cut": marking.cut,
            }
        )  # fmt: skip
    arrays: dict[str, Any] = {}
    heads = []
    for number, seen in enumerate(lines.values()):
        assert seen.strip is not None
        region = seen.strip.region
        heads.append(
            {
                "engine": seen.engine, "text": seen.text, "score": seen.score,
                "alphabet": seen.alphabet, "scores": seen.char_scores, "height": region.height,
                "size": region.photo.shape,
            }
        )  # fmt: skip
        arrays[f"line{number}"] = region.centreline.astype(np.float32)
        if seen.log_probs is not None:
            arrays[f"frames{number}"] = seen.log_probs.astype(np.float16)
    arrays["told"] = np.array(json.dumps({"format": FORMAT, "lines": heads, "markings": rows}))
    file = io.BytesIO()
    np.savez_compressed(file, **arrays)
    return file.getvalue()


def recall(data: bytes, name: str, part: PartKind = "unknown") -> tuple[Marking, ...]:
    """The markings again, on a picture of that name without pixels.

    Raises:
        InputError: the bytes are not what `remember` wrote, or they are damaged.
    """
    try:
        if len(data) > LARGEST:
            raise ValueError("too large")
        with np.load(io.BytesIO(data), allow_pickle=False) as arrays:
            told = json.loads(str(arrays["told"]))
            if told["format"] != FORMAT:
                raise ValueError("of another form")
            lines = [_line(head, k, arrays, name, part) for k, head in enumerate(told["lines"])]
        return tuple(
            Marking(
                one["notation"], one["text"], one["numbers"], (one["span"][0], one["span"][1]),
                float(one["cost"]), lines[one["line"]], bool(one["cut"]),
            )
            for one in told["markings"]
        )  # fmt: skip
    except DAMAGED as error:
        raise InputError(
            N_("what a sweep had read is damaged"), N_("film the marking again")
        ) from error


def _line(head: Any, number: int, arrays: Any, name: str, part: PartKind) -> Hypothesis:
    high, wide = map(int, head["size"])
    empty: Pixels = np.broadcast_to(np.zeros(1, np.uint8), (high, wide, 3))
    region = Region(
        Photo(name, empty, part), arrays[f"line{number}"], float(head["height"]), finder="track"
    )
    frames = arrays[f"frames{number}"].astype(np.float32) if f"frames{number}" in arrays else None
    return Hypothesis(
        head["engine"], head["text"], float(head["score"]),
        Strip(region, np.zeros((0, 0), np.uint8), "voted"), frames, head["alphabet"],
        tuple(map(float, head["scores"])),
    )  # fmt: skip
