"""Turn a network's convolutions into 8-bit integers, which halves the time on a processor.

Ranges of the activations are taken from pictures drawn with training fonts, textures and
backgrounds. Weights keep 7 bits: processors without VNNI instructions add pairs of products in
16 bits and would overflow with 8 (onnxruntime, 'Quantize ONNX Models', reduce_range).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np
import torch
from onnxruntime.quantization import (
    CalibrationDataReader,
    CalibrationMethod,
    QuantFormat,
    QuantType,
    quantize_static,
)

from reader import threads
from reader.records import Floats
from reader.train.models.fit_finder import SceneStream, load_backgrounds, make_batch
from reader.train.models.fit_lines import LineStream, render_batch
from reader.train.models.nets import normalise_tile
from reader.train.render.lines import normalise
from reader.train.render.noise import NoiseBank
from reader.train.render.shade import Dice

threads.onnxruntime()  # told to record nothing, also by its own interface

SEED = 5551
WIDTH = 640  # columns of a strip shown: histograms want pictures of one size
KEPT = 99.999  # per cent of the activations inside the range


class _Shown(CalibrationDataReader):
    def __init__(self, pictures: Iterable[Floats]) -> None:
        self.pictures = iter(pictures)

    def get_next(self) -> dict[str, Floats] | None:
        picture = next(self.pictures, None)
        return None if picture is None else {"picture": picture}


def quantise(
    source: Path, path: Path, pictures: Iterable[Floats], floats: Sequence[str] = ()
) -> None:
    """Write an 8-bit model.

    Args:
        source: the model in 32-bit floats, input 'picture'.
        path: where to write.
        pictures: inputs as the network will see them, all of one shape.
        floats: names of convolutions that stay as they are.
    """
    quantize_static(
        str(source),
        str(path),
        _Shown(pictures),
        quant_format=QuantFormat.QDQ,
        per_channel=True,
        reduce_range=True,
        weight_type=QuantType.QInt8,
        activation_type=QuantType.QUInt8,
        op_types_to_quantize=["Conv"],
        nodes_to_exclude=list(floats),
        calibrate_method=CalibrationMethod.Percentile,
        extra_options={"CalibPercentile": KEPT},
    )


@torch.no_grad()
def strips(fonts: Path, batches: int = 30, batch: int = 12) -> Iterator[Floats]:
    """Strips of drawn lines, batch x 1 x 48 x WIDTH."""
    bank = NoiseBank(SEED, "cpu", per_kind=3)
    stream = LineStream(sorted(fonts.glob("*.?tf")), batch, SEED, batches)
    for step, item in enumerate(stream):
        strip, _, _ = render_batch(item, bank, Dice(SEED + step, batch, "cpu"), 1.0)
        drawn = normalise(strip.float() / 255).numpy()
        wide = np.pad(drawn, ((0, 0), (0, 0), (0, max(0, WIDTH - drawn.shape[2]))), "edge")
        yield wide[:, None, :, :WIDTH].astype(np.float32)


@torch.no_grad()
def scenes(fonts: Path, backgrounds: Path, batches: int = 8, batch: int = 8) -> Iterator[Floats]:
    """Drawn pictures, 1 x 1 x H x W."""
    behind = load_backgrounds(backgrounds)
    bank = NoiseBank(SEED, "cpu", per_kind=3)
    stream = SceneStream(sorted(fonts.glob("*.?tf")), batch, SEED, batches)
    for step, item in enumerate(stream):
        pictures, _ = make_batch(item, bank, behind, SEED + step, "cpu", 1.0)
        yield from np.split(normalise_tile(pictures[:, None]).numpy().astype(np.float32), batch)
