"""Pictures in the terminal.

Forms: sw.kovidgoyal.net/kitty/graphics-protocol and iterm2.com/documentation-images.html, from
memory.
"""

import re
from base64 import b64decode

import pytest

from reader.cli.inline_picture import inline

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40


def test_a_picture_comes_in_pieces_that_make_the_whole():
    text = inline(PNG, 80, {"TERM": "xterm-kitty"})
    pieces = re.findall(r"\x1b_G([^;]*);([^\x1b]*)\x1b\\", text)
    assert b64decode("".join(data for _, data in pieces)) == PNG
    assert pieces[0][0].startswith("a=T,f=100,c=79,") and len(pieces) > 1
    assert [head[-1] for head, _ in pieces] == ["1"] * (len(pieces) - 1) + ["0"]
    assert all(len(data) <= 4096 for _, data in pieces)


def test_a_picture_comes_as_a_file():
    text = inline(PNG, 300, {"TERM_PROGRAM": "WezTerm", "TERM": "xterm-256color"})
    head, _, data = text.rstrip("\n\x07").partition(":")
    assert head == "\x1b]1337;File=inline=1;width=100" and b64decode(data) == PNG


@pytest.mark.parametrize(
    "around", [{}, {"TERM": "xterm"}, {"TERM": "dumb"}, {"TERM": "xterm-kitty", "TMUX": "/tmp/x"}]
)
def test_other_terminals_get_none(around):
    assert inline(PNG, 80, around) == ""
