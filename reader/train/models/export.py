"""Turn checkpoints into the packaged ONNX models: `python -m reader.train.models.export`."""

from __future__ import annotations

import argparse
from pathlib import Path
from tempfile import TemporaryDirectory

import onnx
import torch

from reader.train.models.fit_lines import ARCHS
from reader.train.models.nets import Finder
from reader.train.models.quantise import quantise, scenes, strips


def export(model: torch.nn.Module, example: torch.Tensor, axes: dict, path: Path) -> None:
    """Write one model in 32-bit floats; `axes` names the dynamic dimensions."""
    model.eval()
    torch.onnx.export(
        model,
        (example,),
        str(path),
        input_names=["picture"],
        output_names=["answer"],
        dynamic_axes=axes,
        opset_version=17,
        dynamo=False,
    )


def export_lines(checkpoint: Path, fonts: Path, path: Path) -> None:
    """The letter reader, all convolutions in 8 bits."""
    saved = torch.load(checkpoint, map_location="cpu")
    reader = ARCHS[saved["arch"]]()
    reader.load_state_dict(saved["weights"])
    with TemporaryDirectory() as folder:
        whole = Path(folder) / "lines.onnx"
        axes = {"picture": {0: "n", 3: "w"}, "answer": {0: "n", 1: "t"}}
        export(reader, torch.zeros(2, 1, 48, 320), axes, whole)
        quantise(whole, path, strips(fonts))


def export_finder(checkpoint: Path, fonts: Path, backgrounds: Path, path: Path) -> None:
    """The line finder; its last convolution tells heights and angles and stays in floats."""
    saved = torch.load(checkpoint, map_location="cpu")
    finder = Finder()
    finder.load_state_dict(saved["weights"])
    with TemporaryDirectory() as folder:
        whole = Path(folder) / "finder.onnx"
        axes = {"picture": {0: "n", 2: "h", 3: "w"}, "answer": {0: "n", 2: "h4", 3: "w4"}}
        export(finder, torch.zeros(1, 1, 256, 256), axes, whole)
        convolutions = [n.name for n in onnx.load(str(whole)).graph.node if n.op_type == "Conv"]
        quantise(whole, path, scenes(fonts, backgrounds), convolutions[-1:])


def main() -> None:
    """Export both models."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--lines", type=Path, required=True)
    parser.add_argument("--finder", type=Path, required=True)
    parser.add_argument("--fonts", type=Path, default=Path("carry/fonts/train"))
    parser.add_argument("--backgrounds", type=Path, default=Path("carry/backgrounds/train"))
    parser.add_argument("--out", type=Path, default=Path("reader/data"))
    args = parser.parse_args()
    export_lines(args.lines, args.fonts, args.out / "moulded.onnx")
    export_finder(args.finder, args.fonts, args.backgrounds, args.out / "finder.onnx")


if __name__ == "__main__":
    main()
