"""Shade lettering as a surface: a height map with a material, under lights.

Letters of the ground's own colour show only as a bright and a dark flank, so everything here goes
through heights and normals; ink is an albedo on top. All tensors are B x H x W floats on one
device; lengths are in capital heights ('caps') unless named `_px`. The shares and ranges are judged
from what photographs of used tyres and rims show (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
import torch.nn.functional as F
from torch import Tensor

from reader.train.render.noise import NoiseBank

KINDS = ("moulded", "printed", "decal", "engraved", "stamped")


def blur(field: Tensor, sigma_px: float) -> Tensor:
    """Gaussian blur of B x H x W with one sigma for the batch."""
    if sigma_px < 0.25:
        return field
    if sigma_px > 4:  # wide blurs at reduced size: the eye can't tell, the clock can
        factor = 2 ** int(math.log2(sigma_px / 2))
        height, width = field.shape[1:]
        small = F.interpolate(field[:, None], scale_factor=1 / factor, mode="area")
        small = blur(small[:, 0], sigma_px / factor)[:, None]
        return F.interpolate(small, (height, width), mode="bilinear", align_corners=False)[:, 0]
    radius = max(1, math.ceil(2.5 * sigma_px))
    taps = [math.exp(-0.5 * (k / sigma_px) ** 2) for k in range(-radius, radius + 1)]
    weights = [tap / sum(taps) for tap in taps]
    padded = F.pad(field[:, None], (radius, radius, radius, radius), "replicate")[:, 0]
    return _convolve(_convolve(padded, weights, 1), weights, 2)


def _convolve(field: Tensor, weights: list[float], axis: int) -> Tensor:
    """Weighted sum of shifted pictures along an axis, which gets shorter by the taps less one."""
    if field.is_cuda:  # one channel a picture: PyTorch's own kernel, which plans nothing
        kernel = torch.tensor(weights, device=field.device)
        kernel = kernel[:, None] if axis == 1 else kernel[None]
        kernel = kernel.expand(field.shape[0], 1, *kernel.shape).contiguous()
        return F.conv2d(field[None], kernel, groups=field.shape[0])[0]
    # on a processor, library convolutions plan anew for every size, and sizes are random
    length = field.shape[axis] - len(weights) + 1
    out = field.narrow(axis, 0, length) * weights[0]
    for k, weight in enumerate(weights[1:], 1):
        out.add_(field.narrow(axis, k, length), alpha=weight)
    return out


class Dice:
    """Random per-sample scalars, shaped B x 1 x 1, from one seeded generator.

    All are thrown at once and sent to the device in one piece: a render asks for some two hundred,
    and two hundred small transfers cost more than the rendering.
    """

    def __init__(self, seed: int, batch: int, device: str, most: int = 512) -> None:
        self.generator = torch.Generator().manual_seed(seed)
        self.batch = batch
        self.device = device
        self._pool = torch.rand(most, batch, 1, 1, generator=self.generator).to(device)
        self._next = 0

    def _unit(self) -> Tensor:
        self._next += 1
        return self._pool[self._next - 1]

    def between(self, low: float, high: float) -> Tensor:
        """Uniform."""
        return low + (high - low) * self._unit()

    def log_between(self, low: float, high: float) -> Tensor:
        """Log-uniform."""
        return torch.exp(self.between(math.log(low), math.log(high)))

    def chance(self, share: float) -> Tensor:
        """1.0 with this probability, else 0.0."""
        return (self._unit() < share).float()

    def some(self, share: float, low: float, high: float) -> Tensor:
        """Zero mostly; with probability `share` uniform between the limits."""
        return self.chance(share) * self.between(low, high)

    def number(self, high: int) -> Tensor:
        """B integers below `high`."""
        return (self._unit()[:, 0, 0] * high).long()

    def one(self, low: float, high: float) -> float:
        """One uniform number for the whole batch."""
        return float(torch.rand(1, generator=self.generator)) * (high - low) + low


@dataclass
class Layers:
    """What the sheet shows at every render pixel."""

    relief: Tensor  # moulded, engraved or stamped letters and ornaments, 0..1
    ink: Tensor  # printed letters, 0..1
    panel: Tensor  # sticker or hot-stamped label under the ink, 0..1
    s: Tensor  # position along the line, caps
    r: Tensor  # position across the line, caps
    cap_px: float  # render pixels a capital height


@dataclass
class Wear:
    """How hard life was, 0..1 each; drawn per sample."""

    scuff: Tensor
    dust: Tensor
    mud: Tensor
    cracks: Tensor
    scratches: Tensor
    wet: Tensor


def draw_wear(dice: Dice, hard: float = 1.0) -> Wear:
    """Draw wear; `hard` scales from new (0) over usual (1) to a rough life (2)."""
    return Wear(
        scuff=dice.some(min(1, 0.55 * hard), 0.05, min(1.0, 0.55 * hard + 0.1)),
        dust=dice.some(min(1, 0.5 * hard), 0.05, min(1.0, 0.6 * hard)),
        mud=dice.some(min(1, 0.22 * hard), 0.1, min(1.0, 0.55 * hard)),
        cracks=dice.some(min(1, 0.25 * hard), 0.1, 1.0),
        scratches=dice.some(min(1, 0.35 * hard), 0.1, 1.0),
        wet=dice.some(0.1, 0.2, 1.0),
    )


@dataclass
class Surface:
    """Heights in render pixels, albedo and gloss, ready for light."""

    height: Tensor
    albedo: Tensor
    gloss: Tensor
    shine: Tensor  # Phong exponent
    mirror: Tensor  # strength of blurred surroundings


def kinds_of(dice: Dice, shares: tuple[float, ...]) -> Tensor:
    """Draw a kind index (into KINDS) a sample, B x 1 x 1."""
    weights = torch.tensor(shares)
    drawn = torch.multinomial(weights.expand(dice.batch, -1), 1, generator=dice.generator)  # B x 1
    return drawn[:, :, None].to(dice.device)


def _ground_relief(
    bank: NoiseBank, dice: Dice, s: Tensor, r: Tensor, metal: Tensor, own: NoiseBank
) -> Tensor:
    """Rubber grain, mould lines, oblique ribs, knurl; brushed metal. In caps."""
    which = dice.number(64)
    zoom = dice.log_between(25, 120)  # noise pixels a cap
    jump = dice.between(0, 400)
    grain = bank.sample("grain", which, s * zoom + jump, r * zoom) * dice.log_between(0.0008, 0.012)
    rough = bank.sample("fractal", which + 1, s * 30 + jump, r * 30) * dice.log_between(0.001, 0.02)
    period = dice.log_between(0.12, 1.5)
    sharp = dice.between(1, 8)
    turn = dice.chance(0.5) * dice.between(-3, 3)  # 0: concentric lines, else oblique ribs
    wave = torch.sin(2 * math.pi * (r + turn * s) / period)
    ribs = torch.tanh(wave * sharp) / 2 * dice.some(0.3, 0.004, 0.05)
    # ribs run in bands only
    band = (torch.sin(r * dice.between(0.2, 1.5) + jump) > dice.between(-1, 0.8)).float()
    lone = torch.exp(-(((r - dice.between(-4, 4)) / dice.between(0.03, 0.2)) ** 2))
    seam = lone * dice.some(0.4, -0.1, 0.12)
    knurl = bank.sample("cells", which, s * 40, r * 40) * dice.some(0.06, 0.003, 0.02)
    rubber = grain + rough + ribs * band + seam + knurl
    brushed = own.sample("brushed", which, s * zoom, r * zoom) * dice.log_between(0.0003, 0.004)
    return torch.where(metal > 0, brushed + rough * 0.15 + seam * dice.chance(0.3), rubber)


def _letters(
    layers: Layers, dice: Dice, wear_mask: Tensor, sunken: Tensor
) -> tuple[Tensor, Tensor]:
    """Raise the letters with a moulded profile.

    Returns:
        (height in caps, profile 0..1).
    """
    steep = blur(layers.relief, dice.one(0.008, 0.03) * layers.cap_px)
    round_ = blur(layers.relief, dice.one(0.03, 0.075) * layers.cap_px)
    mix = dice.between(0, 1)
    profile = steep * mix + round_ * (1 - mix)
    depth = dice.log_between(0.025, 0.18)
    sign = torch.where(sunken > 0, -1.0, 1.0)
    return depth * sign * profile * wear_mask, profile


def build(
    layers: Layers,
    kind: Tensor,
    wear: Wear,
    bank: NoiseBank,
    dice: Dice,
    mould: NoiseBank | None = None,
) -> Surface:
    """Make the surface of these layers.

    Args:
        layers: the sheet's masks and coordinates.
        kind: B x 1 x 1 indices into KINDS.
        wear: how hard life was.
        bank: textures.
        dice: randomness.
        mould: textures that come from the mould, where `bank` is of one piece alone.
    """
    s, r = layers.s, layers.r
    metal = (kind >= 3).float() + (kind == 2).float() * dice.chance(0.7)
    metal = metal.clamp(0, 1) * torch.where(kind == 3, dice.chance(0.85), torch.ones_like(metal))
    which = dice.number(64)
    jump = dice.between(0, 500)
    patches = bank.sample("fractal", which, s * dice.log_between(4, 40) + jump, r * 15)
    cloud = bank.sample("cloud", which, s * dice.log_between(2, 12), r * 6 + jump)
    scuffed = torch.sigmoid((patches + 2.2 * (wear.scuff * 2 - 1)) * dice.log_between(1.5, 8))
    kept = 1 - wear.scuff.clamp(0, 1).sqrt() * scuffed * dice.between(0.6, 1.0)
    sunken = (kind >= 3).float() + (kind == 0).float() * dice.chance(0.12)
    letters, profile = _letters(layers, dice, kept, sunken)
    height = letters + _ground_relief(mould or bank, dice, s, r, metal, bank)
    height = height + layers.panel * dice.some(0.5, 0.002, 0.02)
    cracks = bank.sample("cracks", which, s * dice.log_between(8, 60), r * dice.log_between(20, 80))
    height = height - cracks * wear.cracks * dice.log_between(0.005, 0.05)
    scratch = bank.sample("scratches", which, s * dice.log_between(15, 60) + jump, r * 30)

    base = torch.where(metal > 0, dice.log_between(0.06, 0.75), dice.log_between(0.02, 0.11))
    tan = (1 - metal) * dice.chance(0.1)  # tan, white or coloured walls
    base = torch.where(tan > 0, dice.between(0.15, 0.75), base)
    albedo = base * (1 + dice.some(0.8, 0.02, 0.25) * cloud.clamp(-1, 1))
    tone = dice.some(0.45, -0.14, 0.14) + dice.some(0.1, -0.4, 0.9)
    engraved = (kind >= 3).float()
    tone = tone * (1 - engraved) + engraved * dice.some(0.7, -0.7, 0.6)
    albedo = albedo * (1 + tone * profile * kept).clamp(min=0.1)
    albedo = _print(albedo, base, layers, kind, kept, scuffed, wear, dice)

    hollow = (blur(height, 0.12 * layers.cap_px) - height) / 0.03
    dust = hollow.clamp(0, 1) * dice.between(0.2, 1) + 0.35 * scuffed * dice.chance(0.5)
    dust = (dust + cloud * 0.25).clamp(0, 1) * wear.dust
    albedo = torch.lerp(albedo, dice.between(0.12, 0.5) + 0 * albedo, dust.clamp(0, 0.95))
    tops = profile * scuffed * wear.scuff * dice.some(0.5, 0.1, 0.7)
    albedo = torch.lerp(albedo, dice.between(0.1, 0.3) + 0 * albedo, tops.clamp(0, 0.8))
    spots = bank.sample("spots", which, s * dice.log_between(8, 50), r * dice.log_between(8, 50))
    mud = ((patches + cloud) * 0.7 - 1.4 + 2.2 * wear.mud).clamp(0, 1) + spots * wear.mud
    mud = mud.clamp(0, 1) * (wear.mud > 0).float()
    albedo = torch.lerp(albedo, dice.between(0.06, 0.3) + 0 * albedo, mud * dice.between(0.4, 0.9))
    height = height + mud * dice.between(0, 0.02) * (1 + patches)
    height = torch.lerp(height, blur(height, 0.1 * layers.cap_px), (mud * 0.6).clamp(0, 1))
    line_tone = dice.between(0.05, 0.6)
    scored = (scratch * wear.scratches * 0.5).clamp(0, 1)
    albedo = torch.lerp(albedo, line_tone + 0 * albedo, scored)
    height = height - scratch * wear.scratches * 0.012

    gloss = torch.where(metal > 0, dice.between(0.1, 0.9), dice.some(0.75, 0.01, 0.22))
    gloss = gloss + wear.wet * 0.35
    # letters cut into a polished mould shine more than the blasted ground, or less
    gloss = (gloss * (1 + profile * dice.some(0.5, -0.6, 0.9))).clamp(min=0) * (1 - 0.8 * dust)
    return Surface(
        height=height * layers.cap_px,
        albedo=albedo.clamp(0.005, 0.95),
        gloss=gloss,
        shine=torch.where(metal > 0, dice.log_between(10, 150), dice.log_between(4, 60)),
        mirror=torch.where(
            metal > 0, dice.between(0, 0.8), dice.some(0.3, 0, 0.06) + wear.wet * 0.1
        ),
    )


def _print(
    albedo: Tensor,
    base: Tensor,
    layers: Layers,
    kind: Tensor,
    kept: Tensor,
    scuffed: Tensor,
    wear: Wear,
    dice: Dice,
) -> Tensor:
    """Lay panels and ink over the ground; new ink differs enough from it to be legible."""
    panel_tone = dice.between(0.02, 0.9)
    albedo = torch.lerp(albedo, panel_tone + 0 * albedo, layers.panel * dice.between(0.85, 1.0))
    ground = torch.lerp(base + 0 * albedo, panel_tone + 0 * albedo, layers.panel.amax((1, 2), True))
    light = torch.maximum(dice.between(0.3, 0.9), ground * 1.8 + 0.08).clamp(max=0.95)
    dark = torch.minimum(dice.between(0.02, 0.25), ground * 0.5)
    inked = torch.where(ground < 0.22, light, torch.where(ground > 0.5, dark, dark))
    faint = dice.some(0.25, 0.3, 0.8)  # tone-on-tone prints
    inked = torch.lerp(inked, ground, faint)
    thin = dice.between(0.75, 1.0) * kept
    fade = 1 - wear.scuff * scuffed * dice.between(0.2, 1.0)
    return torch.lerp(albedo, inked.clamp(0.01, 0.95), (layers.ink * thin * fade).clamp(0, 1))


def skylight(
    height: Tensor, cap_px: float, dice: Dice
) -> tuple[tuple[Tensor, Tensor, Tensor], Tensor]:
    """Normals of a height map, and the light that falls on it from everywhere; B x H x W each."""
    dx = F.pad(height[:, :, 2:] - height[:, :, :-2], (1, 1)) / 2
    dy = F.pad(height[:, 2:, :] - height[:, :-2, :], (0, 0, 1, 1)) / 2
    norm = torch.rsqrt(dx**2 + dy**2 + 1)
    nx, ny, nz = -dx * norm, -dy * norm, norm
    hollow = ((blur(height, 0.15 * cap_px) - height) / (0.06 * cap_px)).clamp(0, 1)
    ambient = dice.between(0.08, 0.6) * (1 - hollow * dice.between(0.2, 0.8))
    # skylight comes from one side of the hemisphere more than from the other
    sky = dice.between(0, 2 * math.pi)
    ambient = ambient * (1 + dice.between(0, 0.7) * (nx * torch.cos(sky) + ny * torch.sin(sky)))
    return (nx, ny, nz), ambient


def shade(
    surface: Surface,
    s: Tensor,
    r: Tensor,
    cap_px: float,
    bank: NoiseBank,
    dice: Dice,
    across: tuple[Tensor, Tensor] | None = None,
) -> Tensor:
    """Light the surface: one to three lights, sky, surroundings, shadow edges.

    Args:
        surface: what is lit.
        s: position along the line, caps.
        r: position across the line, caps.
        cap_px: render pixels a capital height.
        bank: textures.
        dice: randomness.
        across: position in the picture, caps, where the lines themselves are bent: light falls
            over the picture and knows nothing of them.
    Returns:
        Linear radiance, B x H x W.
    """
    height = surface.height
    (nx, ny, nz), ambient = skylight(height, cap_px, dice)
    diffuse, glint = ambient, torch.zeros_like(height)
    view = dice.between(-0.25, 0.25), dice.between(-0.25, 0.25)
    for index in range(3):
        strength = dice.between(0.4, 1.2) if index == 0 else dice.some(0.35, 0.1, 0.7)
        azimuth = dice.between(0, 2 * math.pi)
        elevation = dice.between(0.14, 1.4)
        flat, lz = torch.cos(elevation), torch.sin(elevation)
        lx, ly = torch.cos(azimuth) * flat, torch.sin(azimuth) * flat
        lit = (nx * lx + ny * ly + nz * lz).clamp(min=0)
        lit = lit * shadow(height, lx, ly, lz, cap_px)
        hx, hy, hz = lx + view[0], ly + view[1], lz + 1
        half = torch.rsqrt(hx**2 + hy**2 + hz**2)
        facing = ((nx * hx + ny * hy + nz * hz) * half).clamp(0, 1)
        diffuse = diffuse + strength * lit
        glint = glint + strength * facing**surface.shine * (surface.shine + 8) / 60
    which = dice.number(64)
    # the camera sees blurred surroundings mirrored, bent by the normals and slowly along the wall
    bend = dice.between(60, 220)
    drift = dice.between(0, 300)
    around = bank.sample("cloud", which, nx * bend + s * 3 + drift, ny * bend + r * 3)
    around = around.clamp(-1, 2.5)
    mirrored = surface.mirror * (0.5 + 0.5 * around).clamp(min=0)
    radiance = surface.albedo * diffuse + surface.gloss * glint * 0.35 + mirrored * surface.gloss
    return radiance * uneven(bank, dice, *(across or (s, r)))


def shadow(height: Tensor, lx: Tensor, ly: Tensor, lz: Tensor, cap_px: float) -> Tensor:
    """Soft cast shadow: look towards the light at a few distances."""
    flat = torch.sqrt(lx**2 + ly**2).clamp(min=1e-3)
    blocked = torch.zeros_like(height)
    rows, columns = height.shape[1:]
    ys = torch.linspace(-1, 1, rows, device=height.device)[None, :, None]
    xs = torch.linspace(-1, 1, columns, device=height.device)[None, None, :]
    for distance in (0.08, 0.2):
        d = distance * cap_px
        gx = xs + lx / flat * d * 2 / max(columns - 1, 1)
        gy = ys + ly / flat * d * 2 / max(rows - 1, 1)
        grid = torch.stack(torch.broadcast_tensors(gx, gy), -1).expand(*height.shape, 2)
        other = F.grid_sample(height[:, None], grid, align_corners=True, padding_mode="border")
        above = other[:, 0] - height - d * lz / flat
        blocked = torch.maximum(blocked, (above / (0.02 * cap_px + 0.3)).clamp(0, 1))
    return 1 - 0.8 * blocked


def uneven(bank: NoiseBank, dice: Dice, x: Tensor, y: Tensor) -> Tensor:
    """Uneven light: a gradient, blotches, and now and then a hard shadow edge or a hot spot."""
    which = dice.number(64)
    blotch = bank.sample("cloud", which, x * dice.between(0.5, 6), y * dice.between(0.5, 6))
    field = torch.exp(blotch * dice.some(0.7, 0.05, 0.5))
    angle = dice.between(0, 2 * math.pi)
    along = x * torch.cos(angle) + y * torch.sin(angle)
    field = field * torch.exp(along * dice.some(0.6, -0.08, 0.08)).clamp(0.1, 8)
    edge = torch.sigmoid((along - dice.between(-8, 8)) * dice.log_between(1, 30))
    return field * (1 - edge * dice.some(0.25, 0.2, 0.85))
