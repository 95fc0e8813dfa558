"""Lines that are no bicycle size: other things' markings, and letters without any sense."""

from __future__ import annotations

from collections.abc import Callable

from numpy.random import Generator

from reader.train.render.textsizes import pick

# letters that look the same as another in most fonts stay out of senseless strings
_CAPITALS = "ABCDEFGHJKLMNPRSTUVWXYZABCDEFGHIJKLMNOPQRSTUVWXYZ"
_SMALL = "abcdefghkmnprstuvwxyz"
_MARKS = "-./()+:,&\"'%"
_ONSETS, _VOWELS, _ENDS, _PRINT = (
    words.split()
    for words in (
        "b br c cl d dr f fl g gr h j k l m n p pl qu r s st t tr v w z",
        "a e i o u ai ea ou",
        "n r l s t m nd rk st x ng ck ft p",
        "the of and to in is for on page chapter figure see table with from this that were when"
        " price open closed left right please note street number total amount date",
    )
)


def draw_decoy(rng: Generator) -> str:
    """A marking of something else: car and motor tyres, shoes, tools, labels, a page of print."""
    number = rng.integers
    forms: list[Callable[[], str]] = [
        lambda: _car_tyre(rng),
        lambda: _car_tyre(rng),
        lambda: (
            f"{pick(rng, ['2.75', '3.00', '3.50', '4.10', '90/90', '120/70'])}-"
            f"{number(8, 22)} {number(30, 70)}{pick(rng, 'PSHRM')}"
        ),
        lambda: f"EUR {number(28, 48)} UK {number(1, 13)}",
        lambda: f"US {number(4, 14)} EU {number(35, 48)} {number(22, 32)}cm",
        lambda: f"TREADWEAR {number(10, 60) * 10} TRACTION {pick(rng, 'ABC')}",
        lambda: f"M{number(3, 16)}x{pick(rng, ['0.75', '1', '1.25', '1.5'])}",
        lambda: f"{number(4, 20)} Nm",
        lambda: f"{pick(rng, [110, 220, 230])}-{pick(rng, [120, 240])}V {pick(rng, [50, 60])}Hz",
        lambda: f"IP{number(20, 69)} {number(3, 48)}V {number(1, 20)}Ah",
        lambda: f"{number(1, 29):02d}.{number(1, 13):02d}.{number(1990, 2027)}",
        lambda: f"{number(1, 29):02d}/{number(1, 13):02d}/{number(1990, 2027)}",
        lambda: f"LOT {number(1000, 99999)}{pick(rng, _CAPITALS)}",
        lambda: f"{number(0, 13)}:{number(0, 60):02d}",
        lambda: f"{number(1, 200)},{number(0, 100):02d}",
        lambda: f"{number(5, 96)}%",
        lambda: " ".join(pick(rng, _PRINT) for _ in range(int(number(2, 5)))).capitalize(),
    ]
    return pick(rng, forms)()


def _car_tyre(rng: Generator) -> str:
    width, ratio = int(rng.integers(13, 32)) * 10 + 5, int(rng.integers(6, 17)) * 5
    size = f"{width}/{ratio}{pick(rng, ['R', 'R', 'ZR', ' R '])}{int(rng.integers(12, 22))}"
    load = f" {int(rng.integers(68, 118))}{pick(rng, 'QSTHVWY')}" if rng.random() < 0.6 else ""
    return size + load + (" XL" if rng.random() < 0.1 else "")


def draw_random(rng: Generator) -> str:
    """Letters and digits without a grammar: 1 to 16 of them, or near misses of real markings."""
    form = rng.random()
    if form < 0.3:
        return _string(rng, "0123456789", 1, 9)
    if form < 0.5:
        return _string(rng, "0123456789" * 3 + _CAPITALS, 2, 12)
    if form < 0.7:
        return _near_miss(rng)
    if form < 0.85:
        word = "".join(_syllable(rng) for _ in range(int(rng.integers(1, 4))))
        return pick(rng, [word.upper(), word.upper(), word, word.capitalize()])
    return _string(rng, "0123456789" * 2 + _CAPITALS + _SMALL + _MARKS * 3 + "   ", 3, 16)


def _near_miss(rng: Generator) -> str:
    """Something shaped like a marking, from numbers of any value."""
    a, b, c = (_string(rng, "0123456789", 1, 3) for _ in range(3))
    dash, times = pick(rng, ["-", "/", ".", " ", ":"]), pick(rng, ["x", "X", "-", " x "])
    return pick(rng, [
        f"{a}{dash}{b}", f"{a}{times}{b}", f"{a}{times}{b} {c}/{a}", f"{a}{times}{b}.{c}",
        f"({a}{dash}{b})", f"{a}{times}{b}{pick(rng, _CAPITALS)}", f"{a}{dash}{b} {c}",
        f"{a}.{b}{times}{c}",
    ])  # fmt: skip


def _syllable(rng: Generator) -> str:
    end = pick(rng, _ENDS) if rng.random() < 0.6 else ""
    return pick(rng, _ONSETS) + pick(rng, _VOWELS) + end


def _string(rng: Generator, letters: str, shortest: int, longest: int) -> str:
    """A run of letters with no blank at either end."""
    count = int(rng.integers(shortest, longest + 1))
    text = "".join(pick(rng, letters) for _ in range(count)).strip()
    return " ".join(text.split()) or pick(rng, "0123456789")
