"""Drawn pictures for the tests of reader.photo."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

FIXTURES = Path(__file__).parents[2] / "fixtures" / "photo"
CORNERS = ((220, 30, 30), (30, 220, 30), (30, 30, 220), (230, 230, 230))


@pytest.fixture
def four_colours() -> NDArray[np.uint8]:
    """80 x 48: red, green over blue, white."""
    picture = np.empty((48, 80, 3), np.uint8)
    picture[:24, :40], picture[:24, 40:], picture[24:, :40], picture[24:, 40:] = CORNERS
    return picture


@pytest.fixture
def encode() -> Callable[..., bytes]:
    """Encode an array or a Pillow image in a format, with Pillow's own options."""

    def encoded(picture: NDArray | Image.Image, kind: str, **options: object) -> bytes:
        image = picture if isinstance(picture, Image.Image) else Image.fromarray(picture)
        stream = io.BytesIO()
        image.save(stream, kind, **options)
        return stream.getvalue()

    return encoded
