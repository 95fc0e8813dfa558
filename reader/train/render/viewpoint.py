"""Where the camera stands: at the whole wheel, or close to the size line, as people hold it."""

from __future__ import annotations

import math

import numpy as np
import torch

from reader.records import Floats
from reader.train.render import geometry
from reader.train.render.kinds import Recipe
from reader.train.render.sheet import Sheet


def draw_view(recipe: Recipe, seed: int) -> geometry.View:
    """One camera and one wheel or flat label."""
    return geometry.draw_view(
        torch.Generator().manual_seed(seed),
        1,
        recipe.size,
        recipe.caps,
        recipe.flat,
        radius_caps=(60.0, 110.0) if recipe.part == "tyre" else (55.0, 130.0),
        steepest=0.7,
    )


def aim(recipe: Recipe, view: geometry.View, rng: np.random.Generator, flip: bool) -> None:
    """Point the camera: at the whole wheel, or at the line itself, more or less upright."""
    height, width = recipe.size
    view.axis_x, view.axis_y = torch.tensor([width * 0.5]), torch.tensor([height * 0.5])
    if recipe.whole:
        reach = 0.46 * min(height, width) * float(rng.uniform(0.85, 1.05))
        view.radius = torch.tensor([reach * 0.9])
        view.cap = view.radius / float(rng.uniform(60, 95))
        view.centre_x = torch.tensor([(rng.uniform(0.46, 0.54) - 0.5) * width])
        view.centre_y = torch.tensor([(rng.uniform(0.48, 0.52) - 0.5) * height])
        view.tilt = view.tilt.clamp(max=0.5)
        return
    # people turn the camera to what they photograph, but not always
    if rng.random() < 0.8:
        upright = 0.0 if bool(torch.isinf(view.radius[0])) else -math.pi / 2
        view.angle = torch.tensor([upright + math.pi * flip + float(rng.normal(0, 0.4))])
    spot = width * rng.uniform(0.44, 0.56), height * rng.uniform(0.4, 0.6)
    geometry.place(view, torch.tensor([spot[0]]).float(), torch.tensor([spot[1]]).float())


def step_back(recipe: Recipe, view: geometry.View, sheet: Sheet) -> None:
    """Move away until the whole size line is in the frame."""
    height, width = recipe.size
    room = 0.62 if recipe.name == "magnifier" else 0.88
    for _ in range(14):
        polygon, _ = outline(view, sheet, 9)
        low, high = polygon.min(0), polygon.max(0)
        if np.all(high - low < np.array([width, height]) * room):
            break
        view.cap, view.radius = view.cap * 0.9, view.radius * 0.9
        geometry.place(view, torch.tensor([width * 0.5]), torch.tensor([height * 0.5]))
    polygon, _ = outline(view, sheet, 9)
    middle = (polygon.min(0) + polygon.max(0)) / 2
    inside = np.clip(middle, *(np.array([width, height]) * part for part in (0.45, 0.55)))
    shift = torch.tensor([[middle[0], inside[0]]]), torch.tensor([[middle[1], inside[1]]])
    u, v = geometry.to_plane(view, shift[0].float(), shift[1].float())
    view.centre_x = view.centre_x + u[:, 1] - u[:, 0]
    view.centre_y = view.centre_y + v[:, 1] - v[:, 0]


def outline(view: geometry.View, sheet: Sheet, steps: int = 2) -> tuple[Floats, float]:
    """Outline of the first size line in the picture (2 * steps points), and its capital height."""
    answers = [item for item in sheet.items if item.kind == "answer"]
    if not answers:
        return np.zeros((0, 2), np.float32), 0.0
    item = answers[0]
    along = np.linspace(item.start, item.end, steps)
    s = torch.tensor(np.r_[along, along[::-1]], dtype=torch.float32)[None]
    side = 0.5 if item.end > item.start else -0.5
    across = np.repeat([item.middle - side, item.middle + side], steps)
    r = torch.tensor(across, dtype=torch.float32)[None]
    x, y = geometry.from_plane(view, *geometry.from_sheet(view, s, r))
    corners = torch.stack([x[0], y[0]], -1).numpy().astype(np.float32)
    return corners, float(np.hypot(*(corners[0] - corners[-1])))
