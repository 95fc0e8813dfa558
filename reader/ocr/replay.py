"""Recorded engine output played back, so that later stages can be tested without models.

A recording is JSON: {"engine": name, "strips": [{"text": …, "score": …, "char_scores": […],
"frames": [[…], …]}, …]}; `frames` (optional) holds T x C log-probabilities over the alphabet.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from reader.errors import EngineError
from reader.ocr.alphabet import ALPHABET
from reader.records import Hypothesis, Strip


@dataclass(frozen=True)
class Replay:
    """Gives the recorded lines back, one per strip, in order."""

    recording: Path
    name: str = "replay"

    def read(self, strips: Sequence[Strip]) -> list[Hypothesis]:
        """The first `len(strips)` recorded hypotheses, tied to these strips.

        Raises:
            EngineError: the recording can't be read, or is shorter than what is asked for.
        """
        engine, lines = load(self.recording)
        if len(lines) < len(strips):
            raise EngineError(
                f"{self.recording} has {len(lines)} strips, {len(strips)} were asked for",
                "record it again with the same strips",
            )
        return [
            _hypothesis(engine, line, strip) for line, strip in zip(lines, strips, strict=False)
        ]

    def describe(self) -> str:
        """Which recording is played."""
        return f"replay of {self.recording}"


def load(path: Path) -> tuple[str, list[Mapping[str, Any]]]:
    """Name of the recorded engine, and one mapping per strip.

    Raises:
        EngineError: the file is missing or no recording.
    """
    try:
        whole = json.loads(path.read_text(encoding="utf-8"))
        return str(whole["engine"]), list(whole["strips"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise EngineError(f"{path} is no recording ({error})", "write one with record()") from error


def record(hypotheses: Sequence[Hypothesis], path: Path, frames: bool = False) -> None:
    """Write what an engine gave, one entry per hypothesis; `frames` keeps the log-probabilities."""
    strips = []
    for line in hypotheses:
        entry: dict[str, Any] = {"text": line.text, "score": round(line.score, 4)}
        if line.char_scores:
            entry["char_scores"] = [round(score, 4) for score in line.char_scores]
        if frames and line.log_probs is not None:
            entry["frames"] = np.round(line.log_probs.astype(float), 2).tolist()
        strips.append(entry)
    engine = hypotheses[0].engine if hypotheses else "none"
    whole = {"engine": engine, "strips": strips}
    path.write_text(json.dumps(whole, ensure_ascii=False) + "\n", encoding="utf-8")


def _hypothesis(engine: str, line: Mapping[str, Any], strip: Strip) -> Hypothesis:
    frames = line.get("frames")
    table = None if frames is None else np.asarray(frames, dtype=np.float32)
    return Hypothesis(
        engine=engine,
        text=str(line["text"]),
        score=float(line.get("score", 0.0)),
        strip=strip,
        log_probs=table,
        alphabet="" if table is None else ALPHABET,
        char_scores=tuple(float(score) for score in line.get("char_scores", ())),
    )
