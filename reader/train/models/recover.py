"""Turn the packaged networks back into checkpoints that training can go on from.

    python -m reader.train.models.recover --out carry/models

Checkpoints are not kept in the repository; the shipped 8-bit files are. Their weights are taken
back to floats (an error of half a step in 7 bits). The exporter has folded every batch norm into
the convolution before it, so each norm is given the mean and deviation that its input shows on
drawn pictures, and a scale and shift that undo them: in use nothing changes, and in training the
statistics of a batch take their place without a jump.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper
from torch import Tensor, nn

from reader.records import Floats
from reader.train.models.fit_lines import ARCHS
from reader.train.models.nets import Finder

Convolution = nn.Conv1d | nn.Conv2d
Norm = nn.BatchNorm1d | nn.BatchNorm2d
ARCH = "convolution"


def float_weights(path: Path) -> list[tuple[Floats, Floats]]:
    """Weight and bias of every convolution of an 8-bit model, in the order of its graph."""
    graph = onnx.load(str(path)).graph
    known = {one.name: numpy_helper.to_array(one) for one in graph.initializer}
    made = {node.output[0]: node for node in graph.node}

    def value(name: str) -> Floats:
        if name in known:
            return known[name].astype(np.float32)
        data, scale, zero = (known[part] for part in made[name].input[:3])
        shape = (-1,) + (1,) * (data.ndim - 1) if scale.ndim else ()
        whole = data.astype(np.float32) - zero.astype(np.float32).reshape(shape)
        return whole * scale.reshape(shape)

    return [
        (value(node.input[1]), value(node.input[2]))
        for node in graph.node
        if node.op_type == "Conv"
    ]


def recover(model: nn.Module, path: Path, pictures: Iterable[Floats]) -> nn.Module:
    """Give a fresh network the packaged weights, its norms set to what drawn pictures show.

    Args:
        model: a network of the architecture that the file holds.
        path: the packaged 8-bit file.
        pictures: inputs as the network sees them.

    Raises:
        ValueError: the file holds another network.
    """
    shown = [torch.from_numpy(picture) for picture in pictures]
    model.eval()
    order = _order(model, shown[0])
    convolutions = [module for module in order if isinstance(module, Convolution)]
    found = float_weights(path)
    if [tuple(c.weight.shape) for c in convolutions] != [weight.shape for weight, _ in found]:
        raise ValueError(f"{path} does not hold this network")
    with torch.no_grad():
        for convolution, (weight, bias) in zip(convolutions, found, strict=True):
            convolution.weight.copy_(torch.from_numpy(weight))
            if convolution.bias is not None:
                convolution.bias.copy_(torch.from_numpy(bias))
        folded = dict(zip(convolutions, (torch.from_numpy(b) for _, b in found), strict=True))
        _set_norms(model, order, folded, shown)
    return model


def refine(lines: nn.Module) -> nn.Module:
    """The network with features at an eighth of the height, begun from one at a sixteenth.

    Each of the three rows that were folded stands for two now, at half the weight.
    """
    weights = dict(lines.state_dict())
    folded = "body.squeeze.0.weight"
    weights[folded] = weights[folded].repeat_interleave(2, 2) / 2
    model = ARCHS["fine"]()
    model.load_state_dict(weights)
    return model


def _order(model: nn.Module, example: Tensor) -> list[Convolution | Norm]:
    """Convolutions and norms in the order in which they are run."""
    order: list[Convolution | Norm] = []
    some = [m for m in model.modules() if isinstance(m, Convolution | Norm)]
    hooks = [m.register_forward_pre_hook(lambda m, _: order.append(m)) for m in some]
    with torch.no_grad():
        model(example)
    for hook in hooks:
        hook.remove()
    return order


def _set_norms(
    model: nn.Module,
    order: list[Convolution | Norm],
    folded: dict[Convolution, Tensor],
    shown: list[Tensor],
) -> None:
    """Give every norm the statistics of its input, and a scale and shift that undo them."""
    kept: dict[Norm, list[Tensor]] = {}
    for before, norm in zip(order, order[1:], strict=False):
        if isinstance(norm, Norm) and isinstance(before, Convolution):
            _change_nothing(norm)
            if before.bias is None:
                norm.bias.copy_(folded[before])
            kept[norm] = []
    hooks = [norm.register_forward_pre_hook(_keep(some)) for norm, some in kept.items()]
    for picture in shown:
        model(picture)
    for hook in hooks:
        hook.remove()
    for norm, some in kept.items():
        mean, square = torch.stack(some).mean(0)
        spread = (square - mean**2).clamp(min=1e-6)
        _set(norm, mean, spread, (spread + norm.eps).sqrt())
        norm.bias.add_(mean)


def _change_nothing(norm: Norm) -> None:
    ones = torch.ones(norm.num_features)
    _set(norm, torch.zeros(norm.num_features), ones - norm.eps, ones)
    norm.bias.zero_()


def _set(norm: Norm, mean: Tensor, spread: Tensor, weight: Tensor) -> None:
    assert norm.running_mean is not None
    assert norm.running_var is not None
    norm.running_mean.copy_(mean)
    norm.running_var.copy_(spread)
    norm.weight.copy_(weight)


def _keep(kept: list[Tensor]) -> Callable[[nn.Module, tuple[Tensor, ...]], None]:
    """A hook that notes mean and mean square a channel of what a norm is given."""

    def hook(_: nn.Module, given: tuple[Tensor, ...]) -> None:
        rows = given[0].transpose(0, 1).flatten(1)
        kept.append(torch.stack([rows.mean(1), (rows**2).mean(1)]))

    return hook


def main() -> None:
    """Recover both and save."""
    from reader.train.models.quantise import scenes, strips

    parser = argparse.ArgumentParser(description="Packaged networks back into checkpoints.")
    parser.add_argument("--models", type=Path, default=Path("reader/data"))
    parser.add_argument("--fonts", type=Path, default=Path("carry/fonts/train"))
    parser.add_argument("--backgrounds", type=Path, default=Path("carry/backgrounds/train"))
    parser.add_argument("--out", type=Path, default=Path("carry/models"))
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    lines = recover(ARCHS[ARCH](), args.models / "moulded.onnx", strips(args.fonts))
    _save(lines, args.out / "lines.pt", {"arch": ARCH})
    _save(refine(lines), args.out / "fine.pt", {"arch": "fine"})
    finder = recover(
        Finder(), args.models / "finder.onnx", scenes(args.fonts, args.backgrounds, batches=3)
    )
    _save(finder, args.out / "finder.pt", {})


def _save(model: nn.Module, path: Path, facts: dict) -> None:
    weights = {k: v.half() if v.is_floating_point() else v for k, v in model.state_dict().items()}
    torch.save({"weights": weights, "steps": 0, **facts}, path)


if __name__ == "__main__":
    main()
