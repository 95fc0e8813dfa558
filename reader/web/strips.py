"""The markings that were found, each with the straightened picture beside it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from itertools import islice
from pathlib import Path

from reader.records import Marking, Photo, Reading, Region
from reader.selection import around, plainest
from reader.web.worker import Line, write_bytes

STRIP_HEIGHT = 96
MARKINGS_SHOWN = 8


def draw_lines(reading: Reading, photos: list[Photo], folder: Path) -> list[Line]:
    """The cleanest marking of each place, with its strip as a picture."""
    order = {photo.name: number for number, photo in enumerate(photos, start=1)}
    shapes = {photo.shape for photo in photos}
    lines = []
    for number, best in enumerate(islice(plainest(reading.markings), MARKINGS_SHOWN), start=1):
        alike = [best, *(m for m in reading.markings if m.text == best.text and m is not best)]
        others = dict.fromkeys(one.notation for one in alike if one.notation != alike[0].notation)
        line = draw_line(alike[0], order, shapes, folder, number)
        lines.append(replace(line, also=tuple(others), diameters=diameters_of(alike)))
    return lines


def diameters_of(markings: list[Marking]) -> tuple[int, ...]:
    """Bead seat diameters that any of the markings can mean, mm."""
    from reader.names.meanings import meanings
    from reader.tables import load_tables

    tables = load_tables()
    found = (one for m in markings for one in meanings(m.notation, m.numbers, tables))
    return tuple(dict.fromkeys(one.size.bsd for one in found))


def draw_line(
    marking: Marking,
    order: Mapping[str, int],
    shapes: Collection[tuple[int, int]],
    folder: Path,
    number: int,
) -> Line:
    """One marking and the straightened picture beside it, cut to where the text stands."""
    import cv2

    seen = marking.hypothesis
    strip = seen.strip if seen else None
    line = Line(
        notation=marking.notation,
        text=marking.text,
        numbers=dict(marking.numbers),
        engine=seen.engine if seen else "",
        photo=order.get(strip.region.photo.name, 1) if strip else 1,
    )
    if seen is None or strip is None or strip.pixels.size == 0:
        return line
    if strip.region.photo.shape in shapes:  # a sweep's lines lie on its mosaic, not on a frame
        line = replace(line, outline=outlined(strip.region))
    cut = around(marking)
    width = max(1, round(cut.shape[1] * STRIP_HEIGHT / cut.shape[0]))
    shown = cv2.resize(cut, (width, STRIP_HEIGHT), interpolation=cv2.INTER_CUBIC)
    name = f"line-{number}.jpg"
    write_bytes(folder / name, ".jpg", shown, [cv2.IMWRITE_JPEG_QUALITY, 88])
    return replace(line, picture=name, width=width, height=STRIP_HEIGHT)


def outlined(region: Region) -> tuple[tuple[float, float], ...]:
    """The region's outline as shares of the photo's sides."""
    from reader.report import outline

    high, wide = region.photo.shape
    return tuple((round(x / wide, 4), round(y / high, 4)) for x, y in outline(region))
