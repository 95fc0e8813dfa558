"""Average two checkpoints of one training.

`python -m reader.train.models.average LAST EARLIER --out MIXED` writes the mean.

The mean of weights from the ends of two runs lies in a flatter place than either and errs less
(Izmailov et al., 'Averaging weights leads to wider optima and better generalization', UAI 2018).
"""

from __future__ import annotations

import argparse
from pathlib import Path

import torch
from torch import Tensor


def mixed(last: dict[str, Tensor], earlier: dict[str, Tensor], share: float) -> dict[str, Tensor]:
    """Weights with `share` (0..1) of the earlier ones; counters are the last ones'.

    Raises:
        KeyError: the checkpoints are of different networks.
    """
    return {
        name: torch.lerp(value.float(), earlier[name].float(), share).half()
        if value.is_floating_point()
        else value
        for name, value in last.items()
    }


def main() -> None:
    """Mix and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("last", type=Path)
    parser.add_argument("earlier", type=Path)
    parser.add_argument("--share", type=float, default=0.25, help="of the earlier one")
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    last, earlier = (torch.load(path, map_location="cpu") for path in (args.last, args.earlier))
    weights = mixed(last["weights"], earlier["weights"], args.share)
    torch.save(last | {"weights": weights, "mixed": args.share}, args.out)


if __name__ == "__main__":
    main()
