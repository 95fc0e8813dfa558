"""Where each pixel of a picture lies on the sheet: cameras, wheels and flat labels.

The wheel's plane is seen by a pinhole camera; one plane unit is one output pixel where the optical
axis meets the plane. Torch throughout, B samples a call.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor


@dataclass
class View:
    """One camera and one wheel (or flat band) a sample; every field holds B values."""

    tilt: Tensor  # angle between the optical axis and the plane's normal, radians
    azimuth: Tensor  # direction of the tilt in the picture, radians
    focal: Tensor  # focal length, pixels
    axis_x: Tensor  # principal point, pixels
    axis_y: Tensor
    cap: Tensor  # capital height in plane units
    radius: Tensor  # of the sheet's middle row, plane units; infinite for a flat band
    centre_x: Tensor  # hub on the plane; for a flat band, the band's middle point
    centre_y: Tensor
    angle: Tensor  # direction from the hub to the sheet's middle column; flat: reading direction


def _basis(view: View) -> tuple[Tensor, Tensor, Tensor]:
    """Plane axes e1, e2 and normal, each B x 3, turned from the picture's axes by the tilt."""
    ca, sa = torch.cos(view.azimuth), torch.sin(view.azimuth)
    ct, st = torch.cos(view.tilt), torch.sin(view.tilt)
    zero = torch.zeros_like(ca)
    # rotate about the in-picture axis (-sa, ca, 0) by the tilt (Rodrigues)
    kx, ky = -sa, ca
    rows = []
    for x, y, z in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)):
        dot = kx * x + ky * y
        cross = (ky * z, -kx * z, kx * y - ky * x)
        rows.append(
            torch.stack(
                [
                    x * ct + cross[0] * st + kx * dot * (1 - ct),
                    y * ct + cross[1] * st + ky * dot * (1 - ct),
                    z * ct + cross[2] * st + zero,
                ],
                -1,
            )
        )
    return rows[0], rows[1], rows[2]


def to_plane(view: View, x: Tensor, y: Tensor) -> tuple[Tensor, Tensor]:
    """Picture pixels (B x ...) to plane coordinates."""
    e1, e2, normal = _basis(view)

    def lift(value: Tensor) -> Tensor:
        return value.reshape(-1, *([1] * (x.dim() - 1)))

    rx = (x - lift(view.axis_x)) / lift(view.focal)
    ry = (y - lift(view.axis_y)) / lift(view.focal)

    def dot(axis: Tensor) -> Tensor:
        return rx * lift(axis[:, 0]) + ry * lift(axis[:, 1]) + lift(axis[:, 2])

    # the plane passes through (0, 0, focal)
    depth = lift(view.focal * normal[:, 2]) / dot(normal).clamp(min=0.05)
    px, py, pz = rx * depth, ry * depth, depth - lift(view.focal)

    def along(axis: Tensor) -> Tensor:
        return px * lift(axis[:, 0]) + py * lift(axis[:, 1]) + pz * lift(axis[:, 2])

    return along(e1), along(e2)


def from_plane(view: View, u: Tensor, v: Tensor) -> tuple[Tensor, Tensor]:
    """Plane coordinates (B x N) to picture pixels."""
    e1, e2, _ = _basis(view)
    point = u[..., None] * e1[:, None, :] + v[..., None] * e2[:, None, :]
    z = (point[..., 2] + view.focal[:, None]).clamp(min=1.0)
    x = point[..., 0] / z * view.focal[:, None] + view.axis_x[:, None]
    y = point[..., 1] / z * view.focal[:, None] + view.axis_y[:, None]
    return x, y


def to_sheet(view: View, u: Tensor, v: Tensor) -> tuple[Tensor, Tensor]:
    """Plane coordinates (B x ...) to sheet coordinates s (along), r (towards the hub), in caps."""

    def lift(value: Tensor) -> Tensor:
        return value.reshape(-1, *([1] * (u.dim() - 1)))

    du, dv = u - lift(view.centre_x), v - lift(view.centre_y)
    ca, sa = torch.cos(lift(view.angle)), torch.sin(lift(view.angle))
    along, across = du * ca + dv * sa, -du * sa + dv * ca
    flat = torch.isinf(lift(view.radius))
    radius = torch.where(flat, torch.ones_like(lift(view.radius)), lift(view.radius))
    theta = torch.atan2(across, along)
    s = torch.where(flat, along, theta * radius)
    r = torch.where(flat, across, radius - torch.sqrt(du**2 + dv**2))
    return s / lift(view.cap), r / lift(view.cap)


def from_sheet(view: View, s: Tensor, r: Tensor) -> tuple[Tensor, Tensor]:
    """Sheet coordinates (B x N, caps) to plane coordinates."""
    cap, angle = view.cap[:, None], view.angle[:, None]
    flat = torch.isinf(view.radius)[:, None]
    radius = torch.where(flat, torch.ones_like(cap), view.radius[:, None])
    theta = angle + s * cap / radius
    reach = radius - r * cap
    along, across = s * cap, r * cap
    ca, sa = torch.cos(angle), torch.sin(angle)
    u = torch.where(flat, along * ca - across * sa, reach * torch.cos(theta))
    v = torch.where(flat, along * sa + across * ca, reach * torch.sin(theta))
    return u + view.centre_x[:, None], v + view.centre_y[:, None]


def place(view: View, x: Tensor, y: Tensor) -> None:
    """Move the wheel so that the sheet's middle appears at picture pixel (x, y); B values each."""
    u, v = to_plane(view, x[:, None], y[:, None])
    u, v = u[:, 0], v[:, 0]
    flat = torch.isinf(view.radius)
    reach = torch.where(flat, torch.zeros_like(view.cap), view.radius)
    view.centre_x = u - torch.where(flat, reach, reach * torch.cos(view.angle))
    view.centre_y = v - torch.where(flat, reach, reach * torch.sin(view.angle))


def draw_view(
    generator: torch.Generator,
    batch: int,
    size: tuple[int, int],
    caps_px: tuple[float, float],
    flat_share: float,
    radius_caps: tuple[float, float] = (25.0, 260.0),
    steepest: float = 0.95,
) -> View:
    """Draw cameras and wheels for pictures of `size` (height, width) pixels.

    Capital heights are log-uniform in `caps_px`; the radius in caps is log-uniform too.
    """

    def unit() -> Tensor:
        return torch.rand(batch, generator=generator)

    def spread(low: float, high: float) -> Tensor:
        return torch.exp(math.log(low) + (math.log(high) - math.log(low)) * unit())

    height, width = size
    longest = float(max(size))
    cap = spread(*caps_px)
    radius = cap * spread(*radius_caps)
    radius = torch.where(unit() < flat_share, torch.full_like(radius, math.inf), radius)
    return View(
        tilt=unit() ** 1.3 * steepest,
        azimuth=unit() * 2 * math.pi,
        focal=longest * spread(0.9, 4.0),
        axis_x=width * (unit() * 1.2 - 0.1),
        axis_y=height * (unit() * 1.2 - 0.1),
        cap=cap,
        radius=radius,
        centre_x=torch.zeros(batch),
        centre_y=torch.zeros(batch),
        angle=unit() * 2 * math.pi,
    )
