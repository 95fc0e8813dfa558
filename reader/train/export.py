"""Turn checkpoints into the packaged ONNX models: `python -m reader.train.export`.

Weights are stored as 16-bit floats and widened when the model is loaded, which halves the package.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper

from reader.train.fit_lines import ARCHS
from reader.train.nets import Finder


def halve_weights(model: onnx.ModelProto) -> onnx.ModelProto:
    """Store large float32 initialisers as float16 followed by a Cast."""
    graph = model.graph
    casts = []
    for tensor in list(graph.initializer):
        if tensor.data_type != TensorProto.FLOAT or np.prod(tensor.dims) < 64:
            continue
        values = numpy_helper.to_array(tensor).astype(np.float16)
        name = tensor.name
        graph.initializer.remove(tensor)
        graph.initializer.append(numpy_helper.from_array(values, name + "_16"))
        casts.append(helper.make_node("Cast", [name + "_16"], [name], to=TensorProto.FLOAT))
    for node in reversed(casts):
        graph.node.insert(0, node)
    return model


def export(model: torch.nn.Module, example: torch.Tensor, axes: dict, path: Path) -> None:
    """Write one model; `axes` names the dynamic dimensions of input and output."""
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
    onnx.save(halve_weights(onnx.load(str(path))), str(path))


def main() -> None:
    """Export both models."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--lines", type=Path, required=True)
    parser.add_argument("--finder", type=Path, required=True)
    parser.add_argument("--out", type=Path, default=Path("reader/data"))
    args = parser.parse_args()
    saved = torch.load(args.lines, map_location="cpu")
    reader = ARCHS[saved["arch"]]()
    reader.load_state_dict(saved["weights"])
    export(
        reader,
        torch.zeros(2, 1, 48, 320),
        {"picture": {0: "n", 3: "w"}, "answer": {0: "n", 1: "t"}},
        args.out / "moulded.onnx",
    )
    saved = torch.load(args.finder, map_location="cpu")
    finder = Finder()
    finder.load_state_dict(saved["weights"])
    export(
        finder,
        torch.zeros(1, 1, 256, 256),
        {"picture": {0: "n", 2: "h", 3: "w"}, "answer": {0: "n", 2: "h4", 3: "w4"}},
        args.out / "finder.onnx",
    )


if __name__ == "__main__":
    main()
