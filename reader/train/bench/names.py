"""How fast typed sizes are understood: python -m reader.train.bench.names [--out names.md].

Every text is different and is parsed once, in a shuffled order, so that no answer kept from before
can help. The tables and what is derived from them once (the index of names, the regular
expressions) are made by one text of each kind before the clock starts.
"""

from __future__ import annotations

import argparse
import os
import platform
import random
import time
from collections.abc import Callable
from pathlib import Path

from reader.errors import InputError
from reader.names.typed import parse
from reader.table_rows import inches
from reader.tables import Tables, load_tables
from reader.train.bench.markdown import markdown

SEED = 3_160_000
WANTED = 20_000  # texts a second, parsed and explained
RUNS = 5


def pairs(tables: Tables) -> list[str]:
    """Width and diameter of a tyre, in millimetres."""
    return [f"{width}-{bsd}" for bsd in tables.bsds for width in range(18, 76)]


def rims(tables: Tables) -> list[str]:
    """A rim's marking with the letters of its edge."""
    kinds = ("C", " TC", " TSS")
    return [f"{b}x{w}{k}" for b in tables.bsds if b % 50 for w in range(13, 36) for k in kinds]


def french(tables: Tables) -> list[str]:
    """French names, lettered, with every width."""
    rows = [row for row in tables.names if row.notation == "french" and not row.widths]
    letters = {f"{row.diameter}|{row.mark}" for row in rows}
    parts = [one.split("|") for one in sorted(letters)]
    texts = [f"{d}x{w}{m}" for d, m in parts for w in range(18, 60)]
    return [*texts, *(f"{d} x {w} {m}" for d, m in parts for w in range(18, 60))]


def decimals(tables: Tables) -> list[str]:
    """Decimal widths of every family."""
    rows = [row for row in tables.names if row.notation == "inch_decimal" and row.low]
    texts = []
    for row in rows:
        for hundredths in range(100, 500, 1):
            if row.low <= hundredths / 100 <= row.high:
                texts.append(f"{row.diameter} x {hundredths / 100:.2f}")
    return texts


def fractions(tables: Tables) -> list[str]:
    """Every name with a fraction, each in eight spellings, and with each of some ISO pairs."""
    names = [r.text for r in tables.names if r.notation in ("inch_fraction", "inch_three")]
    texts = []
    for name in dict.fromkeys(names):
        tight = name.replace(" x ", "x")
        texts += [name, tight, tight.upper(), name.replace(" x ", " X "), name.replace(" x ", "×")]
        texts += [f"{name} ", f'{name}"', tight.replace(" ", "-")]
    return texts


def beside(tables: Tables) -> list[str]:
    """Two texts beside each other, as a sidewall has them."""
    rows = [row for row in tables.names if row.notation == "inch_fraction"]
    return [
        f"{width}-{row.bsd} {row.text}"
        for row in rows
        for width in range(20, 48)
        if inches(row.diameter) > 13
    ]


def words(tables: Tables) -> list[str]:
    """Trade codes and words, in every mixture of capitals."""
    marks = [row.mark for row in tables.names if row.notation in ("code", "word")]
    texts = []
    for mark in dict.fromkeys(marks):
        texts += [mark, mark.lower(), mark.replace(".", ""), f" {mark}", mark.replace("-", " ")]
    return texts


def unknown(tables: Tables) -> list[str]:
    """What no table knows; suggestions are looked for, which takes longer."""
    return [f"26 x 1 {top}/16" for top in range(1, 16, 2)] + [f"800x{w}C" for w in range(18, 60)]


KINDS: dict[str, Callable[[Tables], list[str]]] = {
    "ISO pairs": pairs,
    "rims": rims,
    "French names": french,
    "decimal inches": decimals,
    "fractions and three numbers": fractions,
    "codes and words": words,
    "a pair and a name beside it": beside,
    "what no table knows": unknown,
}


def rate(texts: list[str], tables: Tables) -> tuple[float, float]:
    """Texts a second, by the processor and by the clock; each text is parsed once."""
    wall, cpu = time.perf_counter(), time.process_time()
    for text in texts:
        try:
            parse(text, tables)
        except InputError:
            continue
    cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
    return len(texts) / cpu, len(texts) / wall


def measure(tables: Tables) -> list[list[str]]:
    """Rows of the table: kind, texts, texts a second by processor and clock."""
    rng = random.Random(SEED)
    made = {kind: [*dict.fromkeys(texts(tables))] for kind, texts in KINDS.items()}
    everything = []
    rows = [["texts", "different ones", "a second (processor)", "a second (clock)"]]
    for kind, texts in made.items():
        parse_one(texts[0], tables)
        rng.shuffle(texts)
        if kind != "what no table knows":
            everything += texts
        rows.append([kind, str(len(texts)), *(f"{one:,.0f}" for one in rate(texts, tables))])
    rng.shuffle(everything)
    share = len(everything) // RUNS
    parts = [everything[i * share : (i + 1) * share] for i in range(RUNS)]
    rates = sorted(rate(part, tables) for part in parts)
    middle = [f"{one:,.0f}" for one in rates[RUNS // 2]]
    rows.append([f"all but the last, mixed, median of {RUNS}", str(len(everything)), *middle])
    return rows


def parse_one(text: str, tables: Tables) -> None:
    """Make what is made once."""
    try:
        parse(text, tables)
    except InputError:
        return


def page(rows: list[list[str]]) -> str:
    """The table with what was measured and how."""
    return f"""# How fast typed sizes are understood

Written by `python -m reader.train.bench.names --out names.md` on {os.cpu_count()} cores of a
shared virtual machine, Python {platform.python_version()}, one process.
Wanted: at least {WANTED:,} texts a second, parsed and explained (meanings, shares, reasons,
verdict, advice). No text is parsed twice within a row; the last row parses the texts of the rows
above once more, mixed. Others used the machine at the same time, so the processor's time counts.

{markdown(rows)}
"""


def main() -> None:
    """Measure and print, or write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, help="write the page to this file")
    asked = parser.parse_args()
    text = page(measure(load_tables()))
    if asked.out:
        asked.out.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
