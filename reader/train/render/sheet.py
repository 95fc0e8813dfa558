"""Draw a sidewall or rim laid straight: rows of lettering and ornaments as masks with their truth.

Columns run along the reading direction of text whose top points away from the hub; rows run towards
the hub. `UNIT` pixels are one 'cap', the capital height of the main line.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np
from numpy.random import Generator

from reader.records import Pixels
from reader.train.render.glyphs import Setting, draw_mask, draw_setting

UNIT = 24  # sheet pixels a cap

Writer = Callable[[Generator, str], tuple[str, str]]  # (rng, kind) -> (text as set, truth)


@dataclass(frozen=True)
class Item:
    """One text on the sheet; positions in caps from the sheet's centre."""

    truth: str
    kind: str  # 'size' or 'other'
    start: float  # along the sheet where reading starts
    end: float  # where it ends (smaller than start for text that stands upside down)
    middle: float  # across, at half capital height
    cap: float  # capital height


@dataclass
class Sheet:
    """Masks of one sheet, uint8, (rows, columns), and what is written on it."""

    relief: Pixels
    ink: Pixels
    panel: Pixels
    items: list[Item] = field(default_factory=list)

    @property
    def size(self) -> tuple[float, float]:
        """Length and breadth in caps."""
        return self.relief.shape[1] / UNIT, self.relief.shape[0] / UNIT


@dataclass(frozen=True)
class Look:
    """What a sheet is made as."""

    kind: int  # index into render.KINDS
    size_kind: str = "tyre_size"  # what the writer is asked for
    others: tuple[str, ...] = ("tyre_other", "decoy", "random")
    size_share: float = 0.45  # of texts that are size lines
    ornaments: float = 0.5
    density: float = 0.7  # share of a row that is written on


def draw_sheet(
    rng: Generator, length: float, breadth: float, look: Look, fonts: list[Path], write: Writer
) -> Sheet:
    """Fill a sheet of length x breadth caps with rows of text."""
    shape = (max(8, round(breadth * UNIT)), max(8, round(length * UNIT)))
    relief, ink, panel = (np.zeros(shape, np.uint8) for _ in range(3))
    sheet = Sheet(relief, ink, panel)
    at = float(rng.uniform(0.2, 1.2))
    main = draw_setting(rng, fonts)
    while at < breadth - 1.2:
        cap = 1.0 if rng.random() < 0.65 else float(rng.choice([0.7, 0.8, 1.3, 1.8, 2.6, 3.5]))
        if at + cap > breadth - 0.15:
            break
        setting = main if rng.random() < 0.6 else draw_setting(rng, fonts)
        _fill_row(rng, sheet, at, cap, look, setting, write)
        at += cap + float(rng.choice([rng.uniform(0.35, 0.9), rng.uniform(0.8, 4)]))
    if rng.random() < look.ornaments:
        _ornaments(rng, sheet)
    return sheet


def _fill_row(
    rng: Generator,
    sheet: Sheet,
    top: float,
    cap: float,
    look: Look,
    setting: Setting,
    write: Writer,
) -> None:
    length, breadth = sheet.size
    flip = rng.random() < 0.4
    at = float(rng.uniform(0, 6)) if rng.random() < 0.8 else 0.0
    role = look.kind if rng.random() < 0.85 else int(rng.integers(0, 3))
    if look.kind >= 2 and role == 0:
        role = look.kind
    while at < length - 2 * cap:
        if rng.random() > look.density:
            at += float(rng.uniform(2, 14)) * cap
            continue
        size = rng.random() < look.size_share and cap < 2
        kind = look.size_kind if size else str(rng.choice(look.others))
        text, truth = write(rng, kind)
        mask = draw_mask(text, setting, max(6, round(cap * UNIT)), round(0.4 * cap * UNIT) + 1)
        if flip:
            mask = np.asarray(mask[::-1, ::-1])
        wide = mask.shape[1] / UNIT
        if at + wide > length:
            break
        margin = (round(0.4 * cap * UNIT) + 1) / UNIT
        _paste(rng, sheet, mask, at, top - margin, role)
        first, last = at + margin, at + wide - margin
        start, end = (last, first) if flip else (first, last)
        item = Item(
            truth,
            "size" if size else "other",
            start - length / 2,
            end - length / 2,
            top + cap / 2 - breadth / 2,
            cap,
        )
        sheet.items.append(item)
        at += wide + float(rng.choice([rng.uniform(0.1, 1.5), rng.uniform(1, 12)]))


def _paste(rng: Generator, sheet: Sheet, mask: Pixels, left: float, top: float, role: int) -> None:
    """Put a mask on the layer of its role: relief, ink, or ink on a panel."""
    layer = sheet.relief if role in (0, 3, 4) else sheet.ink
    _blend(layer, mask, left, top)
    if role in (0, 1) and rng.random() < 0.08:  # painted raised letters; embossed print
        _blend(sheet.ink if role == 0 else sheet.relief, mask, left, top)
    if role == 2:
        box = np.full_like(mask, 255)
        _blend(sheet.panel, box, left, top)


def _blend(layer: Pixels, mask: Pixels, left: float, top: float) -> None:
    x, y = round(left * UNIT), round(top * UNIT)
    cut = mask[max(0, -y) : layer.shape[0] - y, max(0, -x) : layer.shape[1] - x]
    y, x = max(0, y), max(0, x)
    window = layer[y : y + cut.shape[0], x : x + cut.shape[1]]
    np.maximum(window, cut, out=window)


def _ornaments(rng: Generator, sheet: Sheet) -> None:
    """Arrows, circles, bars, makers' signs, vent pips: things that are not letters."""
    rows, columns = sheet.relief.shape
    layer = sheet.relief if rng.random() < 0.8 else sheet.ink
    for _ in range(int(rng.integers(1, 3 + columns // 600))):
        x, y = int(rng.integers(0, columns)), int(rng.integers(0, rows))
        size = int(rng.integers(UNIT // 2, UNIT * 2))
        shape = rng.random()
        if _taken(sheet, x, y, size):
            continue
        if shape < 0.25:
            cv2.arrowedLine(layer, (x, y), (x + size * 2, y), 255, max(1, size // 6), tipLength=0.4)
        elif shape < 0.45:
            cv2.circle(layer, (x, y), size // 2, 255, max(1, size // 8), cv2.LINE_AA)
        elif shape < 0.6:
            points = rng.integers(-size, size, (int(rng.integers(3, 7)), 2)) // 2 + (x, y)
            cv2.fillPoly(layer, [points.astype(np.int32)], 255, cv2.LINE_AA)
        elif shape < 0.75:
            step = int(rng.integers(3, 9))
            for k in range(int(rng.integers(3, 12))):
                top, foot = (x + k * step, y), (x + k * step + size // 3, y + size)
                cv2.line(layer, top, foot, 255, max(1, step // 3))
        elif shape < 0.9:
            cv2.ellipse(layer, (x, y), (size, size // 2), 0, 0, 360, 255, 2, cv2.LINE_AA)
        else:
            for k in range(0, columns, max(20, size * 4)):
                cv2.circle(layer, (k + x % 20, y), max(1, UNIT // 10), 255, -1, cv2.LINE_AA)


def _taken(sheet: Sheet, x: int, y: int, size: int) -> bool:
    """Whether lettering stands where an ornament would go."""
    window = np.s_[max(0, y - size) : y + size + 1, max(0, x - size) : x + 2 * size + 1]
    return bool(sheet.relief[window].any() or sheet.ink[window].any())
