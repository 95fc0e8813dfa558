"""Two general readers as something to compare with: run plainly, and on the lines that we locate.

Plainly, neither gets any locating, straightening or enhancing of ours: Tesseract gets the photo and
is told to look for scattered text; the scene models get the photo as their own package would give
it. Located, each reads the straightened lines of our finder. The same grammar reads what they say.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import cv2
import numpy as np

from reader.errors import EngineError
from reader.markings import find_all
from reader.ocr.engine import Engine
from reader.ocr.scene import Scene
from reader.ocr.scene_find import Quad, find
from reader.ocr.tesseract import Tesseract
from reader.ocr.tesseract_program import program
from reader.records import Hypothesis, Marking, Photo, Pixels, Region, Strip

SCATTERED = "--psm 11"  # Tesseract's layout for text in no order
LONGEST_SIDE = 2000  # what the scene models' package shrinks a photo to by default
_SECONDS = 120


def tesseract_texts(photo: Photo) -> list[Hypothesis]:
    """Tesseract over the whole photo; one hypothesis per line of its output.

    Raises:
        EngineError: there is no Tesseract, it failed, or it took over two minutes.
    """
    import pytesseract
    from PIL import Image

    use = program()
    pytesseract.pytesseract.tesseract_cmd = use.path
    try:
        text = pytesseract.image_to_string(
            Image.fromarray(photo.pixels), config=f"{use.options} {SCATTERED}", timeout=_SECONDS
        )
    except (RuntimeError, OSError) as error:
        raise EngineError(f"{use} failed ({str(error)[:200]})", "leave this reader out") from error
    lines = (line.strip() for line in text.splitlines())
    return [Hypothesis("tesseract", line, 0.0) for line in lines if line]


def scene_texts(photo: Photo) -> list[Hypothesis]:
    """The scene detector and recogniser over the whole photo; one hypothesis per box.

    Raises:
        EngineError: the models are missing or failed.
    """
    return box_texts(photo, Scene())


def box_texts(photo: Photo, recogniser: Engine) -> list[Hypothesis]:
    """The scene detector's boxes, read by any engine.

    Each box is read both ways up and the surer reading kept, which is what the package's own
    classifier of direction is for.

    Raises:
        EngineError: the models are missing or failed.
    """
    strips = [cut(photo, quad) for quad in find(photo.pixels, LONGEST_SIDE)]
    turned = [Strip(strip.region, strip.pixels[::-1, ::-1].copy()) for strip in strips]
    both = recogniser.read([*strips, *turned])
    pairs = zip(both[: len(strips)], both[len(strips) :], strict=True)
    return [max(pair, key=lambda one: one.score) for pair in pairs]


def cut(photo: Photo, quad: Quad) -> Strip:
    """The inside of a box as a grey strip, its long side level; nothing else is done to it."""
    wide, high = (max(8, round(side)) for side in quad.size)
    flat = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=np.float32)
    turn = cv2.getPerspectiveTransform(quad.corners.astype(np.float32), flat)
    inside = cv2.warpPerspective(photo.pixels, turn, (wide, high))
    grey: Pixels = np.asarray(cv2.cvtColor(inside, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    a, b, c, d = quad.corners
    line = np.asarray([(a + d) / 2, (b + c) / 2], dtype=np.float32)
    return Strip(Region(photo, line, float(high), quad.score, "scene"), grey)


PEERS: dict[str, Callable[[Photo], list[Hypothesis]]] = {
    "tesseract plainly": tesseract_texts,
    "scene engine plainly": scene_texts,
}
LOCATED: dict[str, Callable[[], Engine]] = {
    "tesseract located": Tesseract,
    "scene engine located": Scene,
}


def markings(photo: Photo, peer: str) -> tuple[Marking, ...]:
    """What our grammar finds in the texts that `peer` (a key of `PEERS`) reads on a photo."""
    return tuple(found for text in PEERS[peer](photo) for found in find_all(text))


def located(strips: Sequence[Strip], peer: str) -> tuple[Marking, ...]:
    """What our grammar finds in the texts that `peer` (a key of `LOCATED`) reads on our strips."""
    return tuple(found for text in LOCATED[peer]().read(strips) for found in find_all(text))


def strips_of(photo: Photo) -> list[Strip]:
    """The lines that our finder sees on a photo, laid straight, nothing else done to them."""
    from reader.detect.trace import find_lines
    from reader.photo.rectify import straighten

    return [straighten(region) for region in find_lines(photo)]
