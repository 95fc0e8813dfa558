"""Pictures for people: where each marking was read, and strips with what was read in them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from reader.errors import PhotoError
from reader.photo.rectify import locate_in_photo
from reader.photo.roles import Role, deciding, roles
from reader.records import Floats, Marking, Photo, Pixels, Reading, Region, Strip, Verdict
from reader.selection import around, photo_of

LONGEST_SIDE = 2000  # of an overlay: sharp on a phone, small enough to send
# Okabe and Ito's palette, told apart with any colour vision; yellow and sky blue stand out on
# rubber, and every line has a black rim, so that they do on paper and on polished rims too.
SIZE_COLOUR, OTHER_COLOUR = (240, 228, 66), (86, 180, 233)
INK, PAPER = (255, 255, 255), (0, 0, 0)
NOTHING = np.zeros((0, 0), np.uint8)


@dataclass(frozen=True)
class Style:
    """How a marking is drawn; lengths in thousandths of the picture's longer side."""

    colour: tuple[int, int, int]
    line: float
    letters: float
    dashed: bool = False


STYLES = {
    Role.RESTED_ON: Style(SIZE_COLOUR, 3, 26),
    Role.RIVAL: Style(SIZE_COLOUR, 2, 20, dashed=True),
    Role.FACT: Style(OTHER_COLOUR, 1.6, 18),
}
WORDS = {
    Verdict.SURE: "",
    Verdict.LIKELY: "likely, check it",
    Verdict.CANT_TELL: "can't tell",
    Verdict.NONE: "no size found",
}


def overlay(photo: Photo, reading: Reading, side: int = LONGEST_SIDE) -> Pixels:
    """The photo with the markings that matter to the answer, and the answer on top.

    Args:
        photo: one of the reading's photos; markings of other photos are left out.
        reading: as the pipeline gave it.
        side: the picture's longer side at most; the photo is never enlarged.

    Returns:
        RGB, uint8, H x W x 3. What the answer rests on has a thick yellow line, what speaks
        against it a dashed one, other facts a thin blue one. The straightened strip of the marking
        that decides stands beside the size.
    """
    canvas, scale = shrunk(photo.pixels, side)
    unit = max(canvas.shape[:2]) / 1000
    places = [(role, m, _scaled(o, scale)) for role, m, o in _places(reading, photo)]
    for role, _, outline in places:
        style = STYLES[role]
        draw_outline(canvas, outline, style.colour, style.line * unit, style.dashed)
    corner = (round(12 * unit), round(12 * unit))
    taken = [_answer(canvas, reading, photo, corner, 36 * unit)]
    for _, _, outline in places:
        taken += _boxes(outline)
    for role, marking, outline in places:
        style = STYLES[role]
        _label(canvas, marking.text, outline, style.letters * unit, style.colour, taken)
    return canvas


def _answer(
    canvas: Pixels, reading: Reading, photo: Photo, corner: tuple[int, int], letters: float
) -> tuple[int, int, int, int]:
    """Write the size, and beside it the strip that decides; what they cover: x, y, w, h."""
    headline = _headline(reading)
    if not headline:
        return (*corner, 0, 0)
    _plate(canvas, headline, corner, letters, INK)
    wide, high = _plate_size(headline, letters)
    marking = deciding(reading)
    strip = around(marking) if marking is not None and _is_in(marking, photo) else NOTHING
    if not strip.size or not reading.diameter.told:
        return (*corner, wide, high)
    left, top = corner[0] + wide, corner[1]
    room = canvas.shape[1] - left - corner[0]
    if room < 2 * high:  # no place beside it: below
        left, top, room = corner[0], top + high, canvas.shape[1] - 2 * corner[0]
    scale = min(high / strip.shape[0], room / strip.shape[1])
    size = max(1, round(strip.shape[1] * scale)), max(1, round(strip.shape[0] * scale))
    kind = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    picture = cv2.resize(strip, size, interpolation=kind)[..., None]
    window = canvas[top : top + size[1], left : left + size[0]]
    window[:] = picture[: window.shape[0], : window.shape[1]]
    right, low = max(left + size[0], corner[0] + wide), max(top + size[1], corner[1] + high)
    return (*corner, right - corner[0], low - corner[1])


def _is_in(marking: Marking, photo: Photo) -> bool:
    at = photo_of(marking)
    return at is not None and at.name == photo.name


def strip_card(strip: Strip, text: str, height: int = 96) -> Pixels:
    """A strip enlarged to `height` rows with a line of text below it; RGB, uint8."""
    rows, cols = strip.pixels.shape
    width = max(1, round(cols * height / rows))
    kind = cv2.INTER_AREA if height < rows else cv2.INTER_CUBIC
    picture = cv2.resize(strip.pixels, (width, height), interpolation=kind)
    line = f"{text}  ({strip.variant})" if strip.variant != "plain" else text
    foot = max(20, height // 4)
    size = _text_size(line, 0.6 * foot)
    card = np.zeros((height + foot, max(width, size[0] + 8), 3), np.uint8)
    card[:height, :width] = picture[..., None]
    _write(card, line, (4, height + round(0.75 * foot)), 0.6 * foot, INK)
    return card


def draw_outline(
    canvas: Pixels,
    outline: Floats,
    colour: tuple[int, int, int],
    width: float,
    dashed: bool = False,
) -> None:
    """Draw a closed line with a black rim into `canvas`; the outline is N x 2 (x, y)."""
    thick = max(1, round(width))
    lines = _dashes(outline, 5.0 * thick) if dashed else [outline]
    points = [np.rint(line * 16).astype(np.int32) for line in lines]
    for line_colour, line_width in ((PAPER, thick + max(2, thick)), (colour, thick)):
        cv2.polylines(canvas, points, not dashed, line_colour, line_width, cv2.LINE_AA, 4)


def _dashes(outline: Floats, length: float) -> list[Floats]:
    """Every other piece of a closed line, each about `length` pixels long."""
    closed = np.vstack([outline, outline[:1]])
    walked = np.r_[0.0, np.cumsum(np.hypot(*np.diff(closed, axis=0).T))]
    count = max(1, round(walked[-1] / (2 * length)))
    starts = np.arange(count) * walked[-1] / count
    at = starts[:, None] + np.linspace(0, length, 4)
    both = [np.interp(at, walked, closed[:, axis]) for axis in (0, 1)]
    return list(np.stack(both, axis=2).astype(np.float32))


def shrunk(pixels: Pixels, side: int = LONGEST_SIDE) -> tuple[Pixels, float]:
    """A writable copy whose longer side is at most `side`, and its scale."""
    rows, cols = pixels.shape[:2]
    scale = min(1.0, side / max(rows, cols))
    if scale == 1:
        return pixels.copy(), 1.0
    size = (max(1, round(cols * scale)), max(1, round(rows * scale)))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8), scale


def save(pixels: Pixels, path: Path) -> None:
    """Write RGB or grey pixels as PNG or JPEG, by the file's ending.

    Raises:
        PhotoError: another ending, or the file can't be written.
    """
    from PIL import Image

    kinds = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG"}
    kind = kinds.get(path.suffix.lower())
    if kind is None:
        raise PhotoError(f"can't save a picture as {path.name}", "end its name in .png or .jpg")
    options = {"quality": 90} if kind == "JPEG" else {}
    try:
        Image.fromarray(pixels).save(path, kind, **options)
    except OSError as error:
        reason = error.strerror or error
        raise PhotoError(f"{path} can't be written ({reason})", "choose another folder") from error


def _places(reading: Reading, photo: Photo) -> list[tuple[Role, Marking, Floats]]:
    """What to draw and where; what the answer rests on last, so that it lies on top."""
    return [
        (role, m, locate_in_photo(m.hypothesis.strip, _columns(m, m.hypothesis.strip)))
        for role, markings in reversed(roles(reading).items())
        for m in markings
        if _is_in(m, photo) and m.hypothesis and m.hypothesis.strip
    ]


def _columns(marking: Marking, strip: Strip) -> tuple[float, float]:
    """Columns of the marking's letters, taking the letters as evenly wide over the strip."""
    width = strip.pixels.shape[1]
    text = marking.hypothesis.text if marking.hypothesis else ""
    start, stop = marking.span
    if not text or not 0 <= start < stop <= len(text):
        return 0, width
    return max(0, start - 0.5) * width / len(text), min(len(text), stop + 0.5) * width / len(text)


def _scaled(outline: Floats, scale: float) -> Floats:
    return ((outline + 0.5) * scale - 0.5).astype(np.float32)


def _boxes(outline: Floats, parts: int = 8) -> list[tuple[int, int, int, int]]:
    """What an outline covers as x, y, width, height; several boxes, as it may be bent."""
    half = len(outline) // 2
    upper, lower = outline[:half], outline[: -half - 1 : -1]
    step = max(1, half // parts)
    boxes = []
    for at in range(0, half - 1, step):
        piece = np.vstack([upper[at : at + step + 1], lower[at : at + step + 1]])
        (left, top), (width, height) = piece.min(0), np.ptp(piece, 0)
        boxes.append((int(left), int(top), int(width) + 1, int(height) + 1))
    return boxes


def _headline(reading: Reading) -> str:
    verdict = reading.diameter.verdict if reading.diameter.value else reading.verdict
    return " - ".join(part for part in (reading.told_size, WORDS[verdict]) if part)


def _label(
    canvas: Pixels,
    text: str,
    outline: Floats,
    letters: float,
    colour: tuple[int, int, int],
    taken: list[tuple[int, int, int, int]],
) -> None:
    """Write on a black plate beside the outline, clear of other plates and of markings."""
    width, height = _plate_size(text, letters)
    low, high = outline.min(0), outline.max(0)
    middle = (low[0] + high[0] - width) / 2
    spots = [(middle, low[1] - height * 1.2), (middle, high[1] + height * 0.2)]
    spots += [(high[0] + 4, low[1]), (low[0] - width - 4, low[1])]
    spots += [(middle, low[1] - height * (2.3 + 1.1 * step)) for step in range(6)]
    best = None
    for x, y in spots:
        left = int(np.clip(x, 0, max(0, canvas.shape[1] - width)))
        top = int(np.clip(y, 0, max(0, canvas.shape[0] - height)))
        clear = all(
            left + width <= a or a + c <= left or top + height <= b or b + d <= top
            for a, b, c, d in taken
        )
        best = best if best and not clear else (left, top)
        if clear:
            break
    assert best is not None
    taken.append((*best, width, height))
    _plate(canvas, text, best, letters, colour)


def _plate(
    canvas: Pixels, text: str, corner: tuple[int, int], letters: float, colour: tuple[int, int, int]
) -> None:
    width, height = _plate_size(text, letters)
    left, top = corner
    cv2.rectangle(canvas, (left, top), (left + width, top + height), PAPER, -1)
    spot = (left + round(letters * 0.3), top + round(letters * 1.05))
    _write(canvas, text, spot, letters, colour)


def _plate_size(text: str, letters: float) -> tuple[int, int]:
    return _text_size(text, letters)[0] + round(letters * 0.6), round(letters * 1.4)


def _scale_for(letters: float) -> tuple[float, int]:
    """OpenCV's font scale and thickness for capitals of about 0.75 x `letters` pixels."""
    return max(0.3, letters / 29), max(1, round(letters / 14))


def _printable(text: str) -> str:
    """OpenCV's stroke font knows ASCII only."""
    table = str.maketrans({"×": "x", "–": "-", "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "°": " deg"})
    return text.translate(table).encode("ascii", "replace").decode()


def _text_size(text: str, letters: float) -> tuple[int, int]:
    scale, thick = _scale_for(letters)
    size, _ = cv2.getTextSize(_printable(text), cv2.FONT_HERSHEY_SIMPLEX, scale, thick)
    return int(size[0]), int(size[1])


def _write(
    canvas: Pixels, text: str, spot: tuple[int, int], letters: float, colour: tuple[int, int, int]
) -> None:
    scale, thick = _scale_for(letters)
    font, kind = cv2.FONT_HERSHEY_SIMPLEX, cv2.LINE_AA
    cv2.putText(canvas, _printable(text), spot, font, scale, colour, thick, kind)


def draw_regions(photo: Photo, regions: tuple[Region, ...], side: int = LONGEST_SIDE) -> Pixels:
    """The photo with the outline of each region; a thick short line marks where reading starts."""
    canvas, scale = shrunk(photo.pixels, side)
    width = max(canvas.shape[:2]) / 700
    for region in regions:
        outline = _scaled(locate_in_photo(Strip(region, np.zeros((1, 1000), np.uint8))), scale)
        draw_outline(canvas, outline, OTHER_COLOUR, width)
        draw_outline(canvas, outline[[0, -1]], SIZE_COLOUR, 2 * width)
    return canvas
