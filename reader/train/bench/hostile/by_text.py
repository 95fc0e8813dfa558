"""Texts into every command that takes a size: many almost right, some wild."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

from reader.train.bench.hostile import SEED
from reader.train.bench.hostile.commands import in_process
from reader.train.bench.hostile.rows import Row

TEXTS = 5000
SIGNS = "0123456789 x×X-/.,½⅜\"'CcABmm()+*e"
# What readers, keyboards and other countries make of a sign.
TWINS = ("0OoD", "1lI|!", "5S", "8B", "2Z", "xX×*хX", "-–—−‐", ".,·", "//⁄", " \u00a0\t_", "½1/2")  # noqa: RUF001
PRESSURES = ("80 psi", "65-95 PSI", "6.5 bar", "450 kPa", "4,5-7 bar", "35-65 P.S.I.", "max 8 bar")
MEASURES = ("1995 mm around", "634 mm across", "77 in seat", "311 hub", "1890 mm around")
GEARS = ("46/18", "38/16", "52/11", "34/34", "22/36")
RANGES = ("25-47", "28-62", "37-622", "19-25", "23")


@cache
def real(kind: str) -> list[str]:
    """Texts as they are printed: names and ISO sizes, tube labels, and so on."""
    from reader.tables import load_tables
    from reader.train.bench.hostile import printed

    others = {"pressure": PRESSURES, "measure": MEASURES, "gear": GEARS, "range": RANGES}
    if kind in others:
        return list(others[kind])
    return printed.labels(load_tables()) if kind == "label" else printed.sizes(load_tables())


def texts(kind: str, count: int = TEXTS) -> list[str]:
    """Half with one change, a quarter with several, a quarter anything; the same at each call."""
    chance = random.Random(f"{SEED} {kind}")
    found = []
    for number in range(count):
        if number % 4 == 3:
            found.append(_wild(chance))
            continue
        text = chance.choice(real(kind))
        for _ in range(chance.randrange(2, 5) if number % 4 == 2 else 1):
            text = _changed(text, chance)
        found.append(text)
    return found


def _changed(text: str, chance: random.Random) -> str:
    """One slip of a reader, a finger or a printer."""
    at, way = chance.randrange(max(len(text), 1)), chance.randrange(8)
    before, sign, after = text[:at], text[at : at + 1], text[at + 1 :]
    twins = [twin for row in TWINS if sign and sign in row for twin in row if twin != sign]
    if way < 3 and twins:
        sign = chance.choice(twins)
    elif way == 3:
        sign = ""
    elif way == 4:
        sign += sign
    elif way == 5:
        sign, after = after[:1], sign + after[1:]
    elif way == 6:
        sign += chance.choice(SIGNS)
    else:
        return chance.choice((text.replace(" ", ""), f" {text} ", f'{text}"', f"{text} mm", text))
    return before + sign + after


def _wild(chance: random.Random) -> str:
    way = chance.randrange(3)
    if way == 0:
        return "".join(chance.choices(SIGNS, k=chance.randrange(1, 25)))
    if way == 1:
        return "".join(chr(chance.randrange(1, 0x3000)) for _ in range(chance.randrange(1, 40)))
    big = chance.choice(("9", "1", "٣", "²", "½", "-", "0", "x")) * chance.randrange(1, 400)
    return chance.choice(("", "47-", "700x")) + big


TUBE = ("add", "47-507", "--kind", "tube")
Words = Callable[[str, Sequence[str]], list[str]]  # from a text and the catalogue's option
WAYS: dict[str, tuple[str, Words]] = {
    "size": ("size", lambda t, _: ["size", "--", t]),
    "size --measure-rim": ("measure", lambda t, _: ["size", "--measure-rim", t]),
    "size --measure-tyre": ("measure", lambda t, _: ["size", "--measure-tyre", t]),
    "fit": ("size", lambda t, _: ["fit", "37-622", "--", t]),
    "fit --rim-allows": ("range", lambda t, _: ["fit", "37-622", "622x19C", "--rim-allows", t]),
    "fit --tyre-max": ("pressure", lambda t, _: ["fit", "37-622", "622x19C", "--tyre-max", t]),
    "wheel": ("size", lambda t, _: ["wheel", "--", t]),
    "wheel --instead-of": ("size", lambda t, _: ["wheel", "37-622", "--instead-of", t]),
    "wheel --gear": ("gear", lambda t, _: ["wheel", "37-622", "--gear", t]),
    "tube": ("size", lambda t, _: ["tube", "--", t]),
    "tube LABEL": ("label", lambda t, _: ["tube", "47-559", "--", t]),
    "pressure": ("pressure", lambda t, _: ["pressure", "--", t]),
    "slip": ("size", lambda t, c: ["slip", *c, "--", t]),
    "clearance": ("size", lambda t, c: ["clearance", *c, "--fork", "45", "--", t]),
    "find": ("size", lambda t, c: ["find", *c, "--", t]),
    "find --fits": ("size", lambda t, c: ["find", *c, "--fits", t]),
    "find --tubes": ("size", lambda t, c: ["find", *c, "--tubes", t]),
    "want": ("size", lambda t, c: ["want", *c, "--", t]),
    "add": ("size", lambda t, c: ["add", "--kind", "tyre", *c, "--", t]),
    "add --tube-label": ("label", lambda t, c: [*TUBE, *c, "--tube-label", t]),
}


def into_command(name: str, work: Path, count: int = TEXTS) -> Row:
    """Each text into one command, as its argument or option."""
    kind, words = WAYS[name]
    catalogue = ["--catalogue", str(work / f"texts {name}.db")]
    in_process(["add", "47-507", "--kind", "tyre", *catalogue], Row(""))
    row = Row(f"texts into `{name}`")
    for text in texts(kind, count):
        in_process(words(text, catalogue), row)
    return row
