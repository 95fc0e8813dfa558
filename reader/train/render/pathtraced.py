"""Tyres and rims drawn by a path tracer that shares nothing with our renderer: what carries over?

    python -m venv other && other/bin/pip install bpy==5.0.1
    other/bin/python reader/train/pathtraced.py tyre carry/pathtraced 0 45
    other/bin/python reader/train/pathtraced.py rim carry/pathtraced 100 124
    python -m reader.train.bench.pathtraced carry/pathtraced

Blender's Cycles (bpy, GPL, needed for this alone and in an environment of its own: it wants one
exact Python) lights a torus of rubber with letters as true geometry, 0.2 to 0.6 mm high, curved
along the sidewall, before a rim with spokes; or a rim of brushed metal with letters burnt in or on
a sticker. Nothing of reader.train.render.shade or weather is in it. Lengths are metres.
"""

from __future__ import annotations

import csv
import json
import math
import random
import sys
from pathlib import Path
from typing import Any

import bpy
import numpy as np

FONTS, INDEX = Path("carry/fonts/held-out"), Path("carry/fonts/index.csv")
CLASSES = ("grotesk", "din", "condensed", "wide", "rounded")
SIZES = (
    ("37-622", "28 x 1.40", "700 x 35C"), ("47-559", "26 x 1.75", ""), ("25-622", "", "700 x 25C"),
    ("40-635", "28 x 1 1/2", "700 x 38B"), ("32-630", "27 x 1 1/4", ""),
    ("50-507", "24 x 1.90", ""),
    ("28-622", "28 x 1 5/8 x 1 1/8", "700 x 28C"), ("57-584", "27.5 x 2.25", "650B"),
    ("37-590", "26 x 1 3/8", "650 x 35A"), ("47-406", "20 x 1.75", ""), ("54-622", "29 x 2.10", ""),
    ("44-340", "", "400 x 42A"),
)  # fmt: skip
RIMS = ((622, 19), (559, 21), (406, 18), (635, 20), (584, 25), (590, 17), (630, 16), (507, 22))
RIM_TEXTS = ("{b} x {w}C", "{b}x{w}", "{w}-{b}", "ETRTO {b}X{w}C", "{b} x {w} TSS", "{b}x{w}c 32H")
ON_METAL = 0.0002  # lift of print, over the chords of its flat faces
RIM_NOTE = "CHECK WEAR LINE - MAX 6 BAR"
NAMES = ("NORVIK TRAMLINE", "BRACKEN MOOR", "ALDERTRACK", "QUILLON CITY")  # invented makers
PRESSURE = "INFLATE TO 3.5 - 5.0 BAR (50-70 PSI)"
Rng = random.Random


def fonts() -> list[Path]:
    """Held-out fonts of the kinds that moulds use."""
    with INDEX.open(newline="", encoding="utf-8") as stream:
        kinds = {Path(row["path"]).name: row["class"] for row in csv.DictReader(stream)}
    return [path for path in sorted(FONTS.glob("*.?tf")) if kinds.get(path.name) in CLASSES]


def letters(text: str, font: Path, ratio: float, spacing: float) -> Any:
    """A mesh of raised letters, one unit an em; `ratio` is their height over a capital's."""
    curve = bpy.data.curves.new("letters", "FONT")
    curve.body, curve.font = text, bpy.data.fonts.load(str(font), check_existing=True)
    curve.extrude, curve.bevel_depth, curve.bevel_resolution = ratio * 0.35, ratio * 0.25, 2
    curve.resolution_u, curve.space_character = 6, spacing
    thing = bpy.data.objects.new("letters", curve)
    bpy.context.scene.collection.objects.link(thing)
    graph = bpy.context.evaluated_depsgraph_get()
    graph.update()
    mesh = bpy.data.meshes.new_from_object(thing.evaluated_get(graph))
    bpy.data.objects.remove(thing)
    return mesh


def wrap(
    mesh: Any, cap: float, ring: tuple[float, float], along: float | None, phase: float,
    lift: float, flip: bool,
) -> None:  # fmt: skip
    """Lay a mesh of letters on the sidewall of a torus.

    Args:
        mesh: letters, moved in place.
        cap: capital height.
        ring: radius of the tyre's middle, radius of its section.
        along: side on which the text stands beside the middle, -1 or 1; None in the middle.
        phase: angle of the middle along the wheel.
        lift: of print above the surface; 0 for letters that are raised themselves.
        flip: upside down.
    """
    flatten = np.empty(len(mesh.vertices) * 3)
    mesh.vertices.foreach_get("co", flatten)
    x, y, z = (flatten.reshape(-1, 3) * cap / 0.7).T
    width = float(x.max() - x.min())
    x, y = x - (x.max() + x.min()) / 2, y - cap / 2
    if flip:
        x, y = -x, -y
    tyre, section = ring
    middle = math.radians(100)  # a little inside of the highest line of the sidewall
    radius = tyre + section * math.cos(middle)
    if along is not None:
        phase += along * (width / radius + (0.31 if along > 0 else 0.26))
    height = section + (z * 0.05 + lift if lift else z)
    turn, across = phase + x / radius, middle - y / section
    reach = tyre + height * np.cos(across)
    places = np.stack([reach * np.sin(turn), reach * np.cos(turn), height * np.sin(across)], 1)
    mesh.vertices.foreach_set("co", places.ravel())
    mesh.update()


def plain(name: str, colour: float, roughness: float, metallic: float = 0.0) -> Any:
    """A material of one grey."""
    material = bpy.data.materials.new(name)
    material.use_nodes = True
    inputs = material.node_tree.nodes["Principled BSDF"].inputs
    inputs["Base Color"].default_value = (colour, colour, colour, 1)
    inputs["Roughness"].default_value, inputs["Metallic"].default_value = roughness, metallic
    return material


def rubber(rng: Rng) -> Any:
    """Black rubber with grain, dusty in patches."""
    black = rng.uniform(0.012, 0.05)
    material = plain("rubber", black, rng.uniform(0.35, 0.75))
    tree = material.node_tree
    principled, link = tree.nodes["Principled BSDF"], tree.links.new
    place = tree.nodes.new("ShaderNodeTexCoord").outputs["Object"]

    def noise(low: float, high: float, detail: float) -> Any:
        node = tree.nodes.new("ShaderNodeTexNoise")
        node.inputs["Scale"].default_value = rng.uniform(low, high)
        node.inputs["Detail"].default_value = detail
        link(place, node.inputs["Vector"])
        return node.outputs[0]

    bump = tree.nodes.new("ShaderNodeBump")
    link(noise(300, 1200, 6), bump.inputs["Height"])
    bump.inputs["Strength"].default_value = rng.uniform(0.05, 0.35)
    bump.inputs["Distance"].default_value = 0.0004
    link(bump.outputs["Normal"], principled.inputs["Normal"])
    ramp = tree.nodes.new("ShaderNodeValToRGB")
    link(noise(15, 60, 8), ramp.inputs["Fac"])
    start = rng.uniform(0.4, 0.75)
    ramp.color_ramp.elements[0].position = start
    ramp.color_ramp.elements[1].position = min(1, start + rng.uniform(0.05, 0.4))
    share = tree.nodes.new("ShaderNodeMath")
    share.operation = "MULTIPLY"
    share.inputs[1].default_value = rng.uniform(0, 0.8)
    link(ramp.outputs[0], share.inputs[0])
    mix = tree.nodes.new("ShaderNodeMix")
    mix.data_type = "RGBA"
    tone = rng.uniform(0.08, 0.3)
    mix.inputs[6].default_value = (black, black, black * 1.03, 1)
    mix.inputs[7].default_value = (tone * 1.15, tone, tone * 0.8, 1)
    link(share.outputs[0], mix.inputs[0])
    link(mix.outputs[2], principled.inputs["Base Color"])
    return material


def brushed(rng: Rng) -> Any:
    """Metal brushed along the wheel: bare, or anodised dark."""
    material = plain("brushed", rng.choice([0.7, 0.55, 0.08, 0.03]), rng.uniform(0.25, 0.5), 1.0)
    tree = material.node_tree
    link = tree.links.new
    noise, bump = tree.nodes.new("ShaderNodeTexNoise"), tree.nodes.new("ShaderNodeBump")
    stretch = tree.nodes.new("ShaderNodeMapping")
    stretch.inputs["Scale"].default_value = (20, 900, 900)
    link(tree.nodes.new("ShaderNodeTexCoord").outputs["Object"], stretch.inputs["Vector"])
    link(stretch.outputs[0], noise.inputs["Vector"])
    link(noise.outputs[0], bump.inputs["Height"])
    bump.inputs["Strength"].default_value = rng.uniform(0.05, 0.4)
    bump.inputs["Distance"].default_value = 0.0002
    link(bump.outputs["Normal"], tree.nodes["Principled BSDF"].inputs["Normal"])
    return material


def add(kind: str, material: Any, **how: Any) -> None:
    """A primitive of that kind and material, smooth."""
    getattr(bpy.ops.mesh, f"primitive_{kind}_add")(**how)
    bpy.context.object.data.materials.append(material)
    bpy.ops.object.shade_smooth()


def spokes(length: float, metal: Any) -> None:
    """Eighteen of them, from the hub to that radius."""
    for spoke in range(18):
        angle = spoke * math.pi / 9
        middle = (length / 2 * math.cos(angle), length / 2 * math.sin(angle), 0)
        turn = (0, math.pi / 2, angle)
        add("cylinder", metal, radius=0.001, depth=length, location=middle, rotation=turn)


def wheel(rng: Rng, width: int, bsd: int) -> tuple[tuple[float, float], Any]:
    """Tyre, rim and spokes; returns the tyre's radii and its rubber."""
    ring = (bsd + width) / 2000, width / 2000
    black, metal = rubber(rng), plain("metal", 0.6, 0.25, 1.0)
    add("torus", black, major_radius=ring[0], minor_radius=ring[1],
        major_segments=360, minor_segments=48)  # fmt: skip
    add("torus", metal, major_radius=bsd / 2000 - 0.004, minor_radius=0.009,
        major_segments=200, minor_segments=24)  # fmt: skip
    spokes(ring[0], metal)
    return ring, black


def bare_rim(rng: Rng, bsd: int) -> tuple[tuple[float, float], Any]:
    """A rim with spokes and no tyre; returns the radii of its wall and its metal."""
    ring, metal = (bsd / 2000 - 0.006, 0.013), brushed(rng)
    add("torus", metal, major_radius=ring[0], minor_radius=ring[1],
        major_segments=1440, minor_segments=240)  # fmt: skip
    spokes(ring[0], metal)
    return ring, metal


def sticker(length: float) -> Any:
    """A mesh to lie under letters of that length, one unit an em."""
    columns, rows = 200, 12
    x, y = np.linspace(-0.3, length + 0.3, columns), np.linspace(-0.45, 1.15, rows)
    places = [(float(a), float(b), 0.0) for b in y for a in x]
    starts = [row * columns + k for row in range(rows - 1) for k in range(columns - 1)]
    faces = [(k, k + 1, k + 1 + columns, k + columns) for k in starts]
    mesh = bpy.data.meshes.new("sticker")
    mesh.from_pydata(places, [], faces)
    return mesh


def look_at(thing: Any, place: Any) -> None:
    """Turn a lamp or camera towards a place."""
    mark = bpy.data.objects.new("mark", None)
    mark.location = place
    bpy.context.scene.collection.objects.link(mark)
    hold = thing.constraints.new("TRACK_TO")
    hold.target, hold.track_axis, hold.up_axis = mark, "TRACK_NEGATIVE_Z", "UP_Y"


def light(rng: Rng, spot: Any) -> None:
    """A coloured floor, a sky of one grey, one or two lamps of any size from any side."""
    floor = plain("floor", 0.5, 0.5)
    noise = floor.node_tree.nodes.new("ShaderNodeTexNoise")
    noise.inputs["Scale"].default_value = rng.uniform(3, 40)
    colour = floor.node_tree.nodes["Principled BSDF"].inputs["Base Color"]
    floor.node_tree.links.new(noise.outputs[1], colour)
    add("plane", floor, size=6, location=(0, 0, -0.06))
    world = bpy.data.worlds.new("sky")
    bpy.context.scene.world = world
    world.use_nodes = True
    grey = rng.uniform(0.1, 0.9)
    sky = world.node_tree.nodes["Background"].inputs
    sky[0].default_value, sky[1].default_value = (grey, grey, grey * 1.05, 1), rng.uniform(0.2, 1)
    for _ in range(rng.choice([1, 1, 2])):
        turn, up = rng.uniform(0, 2 * math.pi), math.radians(rng.uniform(12, 70))
        far = rng.uniform(0.5, 1.5)
        lamp = bpy.data.lights.new("lamp", "AREA")
        lamp.energy, lamp.size = rng.uniform(4, 20) * far * far, rng.uniform(0.05, 0.8)
        thing = bpy.data.objects.new("lamp", lamp)
        flat = math.cos(up)
        thing.location = spot + far * np.array(
            [math.cos(turn) * flat, math.sin(turn) * flat, math.sin(up)]
        )
        bpy.context.scene.collection.objects.link(thing)
        look_at(thing, spot)


def camera(rng: Rng, spot: Any, near: float, far_off: float) -> None:
    """A phone at a distance between these, up to 30 degrees aslant, focused on the marking."""
    lens = bpy.data.cameras.new("camera")
    thing = bpy.data.objects.new("camera", lens)
    bpy.context.scene.collection.objects.link(thing)
    bpy.context.scene.camera = thing
    far, aslant = rng.uniform(near, far_off), math.radians(rng.uniform(0, 30))
    turn = rng.uniform(0, 2 * math.pi)
    aim = spot + np.array([rng.uniform(-0.02, 0.02), rng.uniform(-0.015, 0.015), 0])
    side = math.sin(aslant)
    thing.location = aim + far * np.array(
        [side * math.cos(turn), side * math.sin(turn), math.cos(aslant)]
    )
    look_at(thing, aim)
    lens.lens, lens.clip_start, lens.dof.use_dof = 28, 0.01, True
    lens.dof.focus_distance = float(np.linalg.norm(np.array(thing.location) - spot))
    lens.dof.aperture_fstop = rng.uniform(4, 16)


def expose(rng: Rng, path: Path) -> None:
    """Render to a JPEG."""
    scene = bpy.context.scene
    scene.render.engine, scene.cycles.device = "CYCLES", "CPU"
    scene.cycles.samples, scene.cycles.use_denoising, scene.cycles.max_bounces = 10, True, 2
    scene.render.resolution_x, scene.render.resolution_y = 1280, 960
    scene.view_settings.view_transform = "AgX" if rng.random() < 0.5 else "Standard"
    scene.view_settings.exposure = rng.uniform(-0.3, 1.3)
    scene.render.image_settings.file_format = "JPEG"
    scene.render.image_settings.quality = rng.choice([75, 85, 92])
    scene.render.filepath = str(path.resolve())
    bpy.ops.render.render(write_still=True)


def place(line: Any, material: Any) -> None:
    """Put a mesh into the scene."""
    line.materials.clear()
    line.materials.append(material)
    bpy.context.scene.collection.objects.link(bpy.data.objects.new("line", line))


def tyre(number: int, rng: Rng) -> tuple[dict[str, Any], Any]:
    """A tyre on its wheel; returns what it shows and where."""
    pair, inch, french = SIZES[number % len(SIZES)]
    width, bsd = map(int, pair.split("-"))
    printed = number % 5 == 4
    ring, black = wheel(rng, width, bsd)
    font, cap, depth = rng.choice(fonts()), rng.uniform(0.004, 0.0075), rng.uniform(0.00018, 0.0006)
    text = pair if rng.random() < 0.5 else f"ETRTO {pair}"
    text += f" ({inch})" if inch else ""
    text += f" {french}" if french and rng.random() < 0.6 else ""
    ink, phase = plain("ink", 0.7, 0.6), math.radians(rng.uniform(-12, 12))
    flip = rng.random() < 0.3
    for line, side in ((text, None), (rng.choice(NAMES), 1.0), (PRESSURE, -1.0)):
        mesh = letters(line, font, depth / cap, rng.uniform(1.0, 1.12))
        wrap(mesh, cap, ring, side, phase, 0.00003 if printed else 0, flip)
        place(mesh, ink if printed else black)
    shown = {"number": number, "pair": pair, "text": text, "printed": printed, "flip": flip}
    return shown, np.array([0, ring[0], ring[1]])


def rim(number: int, rng: Rng) -> tuple[dict[str, Any], Any]:
    """A bare rim, its size burnt in or on a sticker; returns what it shows and where."""
    bsd, width = RIMS[number % len(RIMS)]
    ring, _ = bare_rim(rng, bsd)
    font, cap = rng.choice(fonts()), rng.uniform(0.0022, 0.0042)
    text = rng.choice(RIM_TEXTS).format(b=bsd, w=width)
    stuck, flip = rng.random() < 0.5, rng.random() < 0.3
    ink, ground = rng.choice([(0.03, 0.8), (0.8, 0.03), (0.7, 0.25)])
    burnt = plain("ink", ink if stuck else rng.choice([0.02, 0.06, 0.5]), 0.7)
    phase = math.radians(rng.uniform(-6, 6))
    for line, side in ((text, None), (rng.choice(NAMES), 1.0), (RIM_NOTE, -1.0)):
        mesh = letters(line, font, 0.02, rng.uniform(1.0, 1.12))
        if stuck and side is None:
            under = sticker(max(vertex.co.x for vertex in mesh.vertices))
            wrap(under, cap, ring, side, phase, ON_METAL / 2, flip)
            place(under, plain("sticker", ground, 0.4))
        wrap(mesh, cap, ring, side, phase, ON_METAL, flip)
        place(mesh, burnt)
    shown = {"number": number, "pair": f"{width}-{bsd}", "text": text, "rim": True, "flip": flip}
    return shown | {"printed": stuck}, np.array([0, ring[0], ring[1]])


def photograph(part: str, number: int, folder: Path) -> dict[str, Any]:
    """Draw one part; returns what it shows."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    rng = random.Random(number)
    shown, spot = (tyre if part == "tyre" else rim)(number, rng)
    light(rng, spot)
    camera(rng, spot, *((0.14, 0.32) if part == "tyre" else (0.08, 0.2)))
    expose(rng, folder / f"{number:03d}.jpg")
    return shown


def main() -> None:
    """PART FOLDER FIRST LAST: draw pictures FIRST up to LAST, and truth.jsonl beside them."""
    part, folder = sys.argv[1], Path(sys.argv[2])
    first, last = int(sys.argv[3]), int(sys.argv[4])
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(first, last):
        shown = photograph(part, number, folder)
        with (folder / "truth.jsonl").open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(shown) + "\n")


if __name__ == "__main__":
    main()
