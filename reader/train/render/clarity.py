"""How well a rendered size line shows: whether there are edges where its letters have them."""

from __future__ import annotations

import cv2
import numpy as np
import torch

from reader.records import Floats, Pixels
from reader.train.render import geometry
from reader.train.render.sheet import UNIT, Sheet

PARTS = 4  # of a line; the worst counts, so that a spoke across it shows
FAINT = 0.03  # spread of brightness below which even sharp edges are hard to see


def clarity(grey: Floats, view: geometry.View, sheet: Sheet, letters: Pixels) -> float:
    """Clarity of the first size line of a sheet in its photograph.

    Args:
        grey: H x W, 0..1.
        view: the camera that took it.
        sheet: what was photographed, an item of kind 'answer' on it.
        letters: the size line's own mask, as large as the sheet's layers.

    Returns:
        Correlation of the edges seen with the edges drawn in the worst quarter of the line, 0..1;
        0 if a part of it lies outside the picture. Above 0.5 anyone reads it, below 0.2 few do.
    """
    item = next(item for item in sheet.items if item.kind == "answer")
    s, r, corner = _crop(grey, view, item.start, item.end, item.middle)
    if s.size == 0:
        return 0.0
    seen = grey[corner[1] : corner[1] + s.shape[0], corner[0] : corner[0] + s.shape[1]]
    length, breadth = sheet.size
    across = r - item.middle
    band = np.abs(across) < 0.7
    cap = max(9.0, float(band.sum()) / 1.4 / max(1e-6, _length(s, band))) ** 0.5
    drawn = cv2.remap(
        cv2.GaussianBlur(letters, (0, 0), max(0.5, 0.5 * UNIT / cap)).astype(np.float32) / 255,
        (s + length / 2) * UNIT - 0.5,
        (r + breadth / 2) * UNIT - 0.5,
        cv2.INTER_LINEAR,
    )
    seen_edges, drawn_edges = _edges(seen, cap), _edges(np.asarray(drawn, np.float32), cap)
    detail = cv2.GaussianBlur(seen, (0, 0), max(0.6, 0.04 * cap))
    detail = detail - cv2.GaussianBlur(detail, (0, 0), cap)
    low, high = sorted((item.start, item.end))
    marks = np.linspace(low, high, PARTS + 1)
    found = []
    for first, last in zip(marks[:-1], marks[1:], strict=True):
        part = band & (s >= first) & (s < last)
        if part.sum() < 30 or not min(seen_edges[part].std(), drawn_edges[part].std()):
            return 0.0
        related = float(np.corrcoef(seen_edges[part], drawn_edges[part])[0, 1])
        found.append(related * min(1.0, float(detail[part].std()) / FAINT))
    return max(0.0, float(np.nan_to_num(min(found))))


def _length(s: Floats, band: np.ndarray) -> float:
    """Length in caps of what of the band is in the crop."""
    inside = s[band]
    return float(np.ptp(inside)) if inside.size else 0.0


def _crop(
    grey: Floats, view: geometry.View, start: float, end: float, middle: float
) -> tuple[Floats, Floats, tuple[int, int]]:
    """Sheet coordinates of the pixels around a line, and the crop's corner; empty if cut off."""
    along = torch.linspace(start, end, 15).repeat(2)[None]
    across = torch.tensor([middle - 0.8, middle + 0.8]).repeat_interleave(15)[None]
    x, y = geometry.from_plane(view, *geometry.from_sheet(view, along, across))
    left, right = int(x.min()), int(x.max()) + 1
    top, bottom = int(y.min()), int(y.max()) + 1
    if left < 0 or top < 0 or right > grey.shape[1] or bottom > grey.shape[0]:
        return np.zeros((0, 0), np.float32), np.zeros((0, 0), np.float32), (0, 0)
    ys, xs = torch.meshgrid(
        torch.arange(top, bottom).float(), torch.arange(left, right).float(), indexing="ij"
    )
    s, r = geometry.to_sheet(view, *geometry.to_plane(view, xs[None], ys[None]))
    return s[0].numpy(), r[0].numpy(), (left, top)


def _edges(picture: Floats, cap: float) -> Floats:
    """Strength of edges, smeared a little: a raised letter's flanks lie beside its outline."""
    smooth = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), max(0.6, 0.035 * cap))
    dx, dy = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    smeared = cv2.GaussianBlur(np.hypot(dx, dy), (0, 0), max(0.6, 0.06 * cap))
    return np.asarray(smeared, np.float32)
