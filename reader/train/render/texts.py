"""Random lines of text as they stand on tyres, rims and tubes, with what a reader should say.

The mixture (common practice, no source) leans towards rare sizes and has a share of lines outside
any grammar, so that a recogniser learns letters and not the list of sizes.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.random import Generator

from reader.train.render.decoys import draw_decoy, draw_random
from reader.train.render.textsizes import (
    NamedSize,
    draw_name,
    draw_rim_width,
    draw_size,
    name_kinds,
    pick,
    sizes,
)
from reader.train.render.words import RIM_PHRASES, TUBE_PHRASES, TYRE_PHRASES, Names, names

KINDS = (
    "tyre_size", "tyre_other", "rim_size", "rim_other", "tube", "tube_other", "decoy", "random"
)  # fmt: skip
LETTERS = " 0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-./()+:,&\"'%×"


def draw_line(rng: Generator, kind: str, held_out: bool = False) -> tuple[str, str]:
    """One line: the text as it is set, and the text that a reader should report.

    Lines of the kinds 'tyre_size', 'rim_size' and 'tube' each name one size that exists, all
    names on a line the same one; the other kinds name none.

    Args:
        rng: source of chance.
        kind: one of `KINDS`.
        held_out: whether to use the invented names kept out of training.

    Raises:
        KeyError: `kind` is none of `KINDS`.
    """
    text = _DRAWERS[kind](rng, names(held_out))
    if rng.random() < 0.12:
        text = text.upper()
    return text, text


def spell(rng: Generator, name: str) -> str:
    """A plain name ('26 x 1 3/8') in one of the spellings seen on tyres ('26X1-3/8')."""
    gap = " " if rng.random() < 0.4 else ""
    times = gap + str(rng.choice(["x", "X", "×"], p=[0.5, 0.37, 0.13])) + gap
    first, *rest = name.split(" x ")
    style = rng.random()
    between = " " if style < 0.5 else "-" if style < 0.8 else "." if style < 0.88 else ""
    spelled = times.join(
        [first.replace(" ", between), *(part.replace(" ", between) for part in rest)]
    )
    if name[-1] in "ABCD" and rng.random() < 0.3:
        spelled = spelled[:-1] + name[-1].lower()
    elif rng.random() < 0.06 and name[-1].isdigit():
        spelled += '"'
    return spelled


def draw_pair(rng: Generator, size: NamedSize, width: int) -> str:
    """An ISO pair in one of its spellings: '47-507', '47 - 507', 'ETRTO 47-507'."""
    dash = " - " if rng.random() < 0.1 else "-"
    before = str(rng.choice(["", "ETRTO ", "ISO ", "E.T.R.T.O. "], p=[0.86, 0.1, 0.03, 0.01]))
    return f"{before}{width}{dash}{size.bsd}"


def _tyre_size(rng: Generator, words: Names) -> str:
    size, width = draw_size(rng)
    pair = draw_pair(rng, size, width)
    kinds = name_kinds(size, width)
    shown = [spell(rng, draw_name(rng, size, width, kind)) for kind in rng.permutation(kinds)[:2]]
    form = rng.random()
    if form < 0.28 or not shown:
        text = pair
    elif form < 0.5:
        text = shown[0]
    elif form < 0.66:
        text = f"{pair} ({shown[0]})" if rng.random() < 0.6 else f"{pair} {shown[0]}"
    elif form < 0.84:
        text = f"{shown[0]} ({pair})" if rng.random() < 0.4 else f"{shown[0]} {pair}"
    elif form < 0.92:
        text = f"{pair} / {shown[0]}"
    else:
        text = " ".join([pair, *(f"({name})" for name in shown)])
    return _with_neighbour(rng, text, [*words.models, *TYRE_PHRASES[:8]], 0.12)


def _with_neighbour(rng: Generator, text: str, others: list[str], share: float) -> str:
    """The text, now and then with a word before or after it on the same line."""
    if rng.random() >= share:
        return text
    word = _cased(rng, pick(rng, others))
    return f"{word} {text}" if rng.random() < 0.5 else f"{text} {word}"


def _cased(rng: Generator, word: str) -> str:
    share = rng.random()
    return word.upper() if share < 0.6 else word.lower() if share < 0.7 else word


def draw_pressure(rng: Generator) -> str:
    """A pressure line in one of its spellings, in psi, bar or kPa, or two of them."""
    low = int(rng.integers(2, 18)) * 5
    high = low + int(rng.integers(1, 10)) * 5
    dash = str(rng.choice(["-", " - ", " TO "], p=[0.7, 0.2, 0.1]))
    psi = pick(rng, ["PSI", "psi", "P.S.I.", "LBS"])
    bar = pick(rng, ["BAR", "bar", "Bar"])
    in_bar = [f"{round(value / 14.504 * 2) / 2:.1f}" for value in (low, high)]
    in_kpa = [str(round(value * 6.895 / 10) * 10) for value in (low, high)]
    ranges = [f"{low}{dash}{high} {psi}", f"{dash.join(in_bar)} {bar}", f"{dash.join(in_kpa)} kPa"]
    tops = [f"{high} {psi}", f"{in_bar[1]} {bar}", f"{in_kpa[1]} kPa"]
    shown = ranges if rng.random() < 0.55 else tops
    lead = pick(rng, ["INFLATE TO ", "MAX ", "MAX. PRESSURE ", "INFLATE ", "MIN. ", "", "", ""])
    first, second = (shown[index] for index in rng.permutation(3)[:2])
    return lead + (first if rng.random() < 0.5 else f"{first} ({second})")


def _tyre_other(rng: Generator, words: Names) -> str:
    draws: list[tuple[float, Callable[[], str]]] = [
        (0.26, lambda: draw_pressure(rng)),
        (0.12, lambda: _cased(rng, pick(rng, words.makers))),
        (0.14, lambda: _cased(rng, pick(rng, words.models))),
        (0.06, lambda: _cased(rng, pick(rng, words.slogans))),
        (0.05, lambda: f"{_cased(rng, pick(rng, words.makers))} {pick(rng, words.models)}"),
        (0.18, lambda: pick(rng, TYRE_PHRASES)),
        (0.05, lambda: f"MADE IN {pick(rng, words.places).upper()}"),
        (0.06, lambda: f"{pick(rng, [20, 24, 27, 30, 33, 60, 66, 67, 120, 127])} {_tpi(rng)}"),
        (0.04, lambda: f"MAX LOAD {int(rng.integers(50, 180))} {pick(rng, ['KG', 'kg'])}"),
        (0.04, lambda: _number_mark(rng)),
    ]
    return _one_of(rng, draws)


def _tpi(rng: Generator) -> str:
    return pick(rng, ["TPI", "tpi", "EPI", "T.P.I."])


def _number_mark(rng: Generator) -> str:
    """A date code, an approval or an article number, as they stand near the size."""
    week, year = int(rng.integers(1, 53)), int(rng.integers(0, 27))
    form = int(rng.integers(5))
    if form == 0:
        return f"{week:02d}{year:02d}"
    if form == 1:
        return f"{week:02d}/{year:02d}"
    if form == 2:
        return f"E{int(rng.integers(1, 60))} 75R-{int(rng.integers(0, 99999)):07d}"
    if form == 3:
        return f"E-{pick(rng, [25, 50])}"
    return f"{pick(rng, ['ART.', 'NO.', 'ART'])} {int(rng.integers(1000, 99999999))}"


def _rim_size(rng: Generator, words: Names) -> str:
    size, _ = draw_size(rng)
    inner = str(draw_rim_width(rng, size))
    kind = str(rng.choice(["", "C", "c", "TC", "TSS", "SS", "i", " C"], p=[
        0.34, 0.24, 0.12, 0.08, 0.06, 0.04, 0.08, 0.04]))  # fmt: skip
    gap = " " if rng.random() < 0.35 else ""
    times = gap + pick(rng, ["x", "x", "X", "×"]) + gap
    form = rng.random()
    text = f"{size.bsd}{times}{inner}{kind}"
    if form < 0.22:
        text = f"{inner}{kind.strip() if kind in ('C', 'c') else ''}-{size.bsd}"
    elif form < 0.26:
        text = f"{pick(rng, ['SS', 'C', 'TC', 'TSS'])} {size.bsd}{times}{inner}"
    elif form < 0.33 and (size.french or size.decimal):
        nominal = size.french or f"{pick(rng, size.decimal)}x1.75"
        text = f"{nominal} {text}"
    elif form < 0.4:
        text = f"{text} ERD {size.bsd - int(rng.integers(8, 45))}"
    elif form < 0.46:
        text = "ETRTO " + text
    return _with_neighbour(rng, text, [*words.rims, *RIM_PHRASES], 0.2)


def _tube(rng: Generator, words: Names) -> str:
    size, low = draw_size(rng)
    high = low + int(rng.integers(3, 26))
    alike = [s.bsd for s in sizes() if 0 < abs(s.bsd - size.bsd) < 15]
    second = f"/{pick(rng, alike)}" if alike and rng.random() < 0.25 else ""
    slash = pick(rng, ["/", "/", "-"])
    form = rng.random()
    if form < 0.45:
        text = f"{low}{'/' if slash == '/' else ' - '}{high}-{size.bsd}{second}"
    elif form < 0.62 and size.decimal:
        text = f"{pick(rng, size.decimal)}x{1 + low / 100:.2f}{slash}{1.25 + high / 100:.2f}"
    elif form < 0.75 and size.french:
        text = f"{size.french[:-1]}x{low}{slash}{high}{size.french[-1]}"
    elif form < 0.82 and size.inch:
        text = spell(rng, pick(rng, size.inch))
    else:
        text = f"{low}-{size.bsd}"
    return _with_neighbour(rng, text, [*words.makers, *TUBE_PHRASES], 0.25)


def _rim_other(rng: Generator, words: Names) -> str:
    if rng.random() < 0.5:
        return pick(rng, RIM_PHRASES)
    return _cased(rng, pick(rng, words.rims)) if rng.random() < 0.8 else draw_pressure(rng)


def _tube_other(rng: Generator, words: Names) -> str:
    return pick(rng, TUBE_PHRASES) if rng.random() < 0.8 else _cased(rng, pick(rng, words.makers))


def _one_of(rng: Generator, draws: list[tuple[float, Callable[[], str]]]) -> str:
    shares = np.array([share for share, _ in draws])
    return draws[int(rng.choice(len(draws), p=shares / shares.sum()))][1]()


_DRAWERS: dict[str, Callable[[Generator, Names], str]] = {
    "tyre_size": _tyre_size,
    "tyre_other": _tyre_other,
    "rim_size": _rim_size,
    "rim_other": _rim_other,
    "tube": _tube,
    "tube_other": _tube_other,
    "decoy": lambda rng, words: draw_decoy(rng),
    "random": lambda rng, words: draw_random(rng),
}
