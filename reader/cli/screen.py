"""Screens and pipes of any encoding: no letter is a reason to stop."""

from __future__ import annotations

import codecs
import io
import json
import os
import sys
import unicodedata
from typing import Any

_PLAIN = {
    "…": "...",
    "×": "x",
    "–": "-",
    "—": "-",
    "−": "-",
    "→": "->",
    "’": "'",
    "≤": "<=",
    "≥": ">=",
    "·": "-",
    "•": "*",
}


def prepare() -> None:
    """Let output of any encoding take any text: plainer signs first, then escapes."""
    codecs.register_error("plainer", plainer)
    if sys.stdout is None:  # closed by whoever started us
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plainer")


def plainer(error: UnicodeError) -> tuple[str, int]:
    """What stands for letters that an encoding lacks.

    >>> codecs.register_error("plainer", plainer)
    >>> "5…6 × ½ Zürich".encode("ascii", "plainer")
    b'5...6 x 1/2 Zurich'
    >>> chr(0xdcff).encode("utf-8", "plainer")
    b'\\\\udcff'
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    letters = error.object[error.start : error.end]
    return "".join(_stand_in(letter) for letter in letters), error.end


def _stand_in(letter: str) -> str:
    spread = unicodedata.normalize("NFKD", letter).replace("\u2044", "/")
    plain = _PLAIN.get(letter) or spread.encode("ascii", "ignore").decode()
    return plain or letter.encode("ascii", "backslashreplace").decode()


def print_json(value: Any, indent: int | None = 2) -> None:
    """JSON on standard output; with escapes where its encoding lacks letters."""
    encoding = (getattr(sys.stdout, "encoding", None) or "utf-8").lower().replace("-", "")
    print(json.dumps(value, ensure_ascii=not encoding.startswith("utf"), indent=indent))
