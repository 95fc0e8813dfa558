"""A real picture in terminals that can show one: by the kitty graphics protocol, or iTerm's."""

from __future__ import annotations

import os
from base64 import b64encode
from collections.abc import Mapping

PIECE = 4096  # letters that the kitty protocol takes at once
BY_FILE = ("iTerm.app", "WezTerm")  # what TERM_PROGRAM says where pictures come as files
WIDE = 100  # columns at most


def inline(png: bytes, columns: int, around: Mapping[str, str] | None = None) -> str:
    """The signs that make the terminal draw the picture; '' if it tells of no such means.

    Args:
        png: the picture.
        columns: of the terminal.
        around: the environment, which tells what terminal it is.
    """
    told = os.environ if around is None else around
    if told.get("TMUX") or told.get("STY"):  # between us and the terminal; passes no pictures on
        return ""
    data, wide = b64encode(png).decode(), min(columns - 1, WIDE)
    if told.get("KITTY_WINDOW_ID") or told.get("TERM") == "xterm-kitty":
        return _in_pieces(data, wide)
    if told.get("TERM_PROGRAM") in BY_FILE:
        return f"\x1b]1337;File=inline=1;width={wide}:{data}\x07\n"
    return ""


def _in_pieces(data: str, wide: int) -> str:
    pieces = [data[start : start + PIECE] for start in range(0, len(data), PIECE)]
    signs = []
    for number, piece in enumerate(pieces):
        head = f"a=T,f=100,c={wide}," if number == 0 else ""
        more = int(number < len(pieces) - 1)
        signs.append(f"\x1b_G{head}m={more};{piece}\x1b\\")
    return "".join(signs) + "\n"
