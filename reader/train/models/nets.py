"""The networks: one that finds lines of lettering, two candidates that read them.

All take pictures normalised by `lines.normalise` or `normalise_tile`; sizes are chosen for two
cores of an ordinary computer.
"""

from __future__ import annotations

import torch
from torch import Tensor, nn

from reader.ocr.alphabet import ALPHABET

CLASSES = len(ALPHABET) + 1


def _conv(
    inside: int, outside: int, stride: int | tuple[int, int] = 1, kernel: int = 3
) -> nn.Module:
    return nn.Sequential(
        nn.Conv2d(inside, outside, kernel, stride, kernel // 2, bias=False),
        nn.BatchNorm2d(outside),
        nn.ReLU(inplace=True),
    )


class Block(nn.Module):
    """Two 3 x 3 convolutions around a shortcut."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.one = _conv(width, width)
        self.two = nn.Sequential(
            nn.Conv2d(width, width, 3, 1, 1, bias=False), nn.BatchNorm2d(width)
        )

    def forward(self, x: Tensor) -> Tensor:
        """Same shape out."""
        return torch.relu(x + self.two(self.one(x)))


class StripBody(nn.Module):
    """Strip B x 1 x 48 x W to features B x D x W/4, seen in `rows` rows at last (3 or 6)."""

    def __init__(
        self, widths: tuple[int, ...], depths: tuple[int, ...], out: int, rows: int = 3
    ) -> None:
        super().__init__()
        strides = ((2, 2), (2, 2), (2, 1), (6 // rows, 1))
        layers: list[nn.Module] = []
        inside = 1
        for width, depth, stride in zip(widths, depths, strides, strict=True):
            layers += [_conv(inside, width, stride), *(Block(width) for _ in range(depth))]
            inside = width
        self.net = nn.Sequential(*layers)
        self.squeeze = _conv_height(inside, out, rows)

    def forward(self, x: Tensor) -> Tensor:
        """B x 1 x 48 x W to B x out x W/4."""
        return self.squeeze(self.net(x)).squeeze(2)


def _conv_height(inside: int, outside: int, rows: int) -> nn.Module:
    """Fold the last rows into features."""
    return nn.Sequential(
        nn.Conv2d(inside, outside, (rows, 1), 1, 0, bias=False),
        nn.BatchNorm2d(outside),
        nn.ReLU(inplace=True),
    )


class RecurrentReader(nn.Module):
    """Convolutions, then a two-way LSTM: letters by their neighbours."""

    def __init__(self) -> None:
        super().__init__()
        self.body = StripBody((32, 64, 112, 160), (1, 1, 2, 1), 224)
        self.memory = nn.LSTM(224, 176, 2, batch_first=True, bidirectional=True, dropout=0.1)
        self.head = nn.Linear(352, CLASSES)

    def forward(self, strips: Tensor) -> Tensor:
        """B x 1 x 48 x W to log-probabilities B x W/4 x CLASSES."""
        features = self.body(strips).transpose(1, 2)
        memory, _ = self.memory(features)
        return torch.log_softmax(self.head(memory), -1)


class _Mixer(nn.Module):
    """Depthwise convolution along the line, then a per-frame expansion."""

    def __init__(self, width: int, kernel: int) -> None:
        super().__init__()
        self.along = nn.Conv1d(width, width, kernel, padding=kernel // 2, groups=width)
        self.norm = nn.BatchNorm1d(width)
        self.up = nn.Conv1d(width, width * 2, 1)
        self.down = nn.Conv1d(width * 2, width, 1)

    def forward(self, x: Tensor) -> Tensor:
        """Same shape out."""
        return x + self.down(torch.nn.functional.gelu(self.up(self.norm(self.along(x)))))


class ConvolutionReader(nn.Module):
    """Convolutions only: wide depthwise mixing along the line in place of a memory."""

    rows = 3  # of features, a sixteenth of the strip's

    def __init__(self) -> None:
        super().__init__()
        self.body = StripBody((32, 64, 128, 176), (1, 2, 3, 2), 256, self.rows)
        self.mix = nn.Sequential(*[_Mixer(256, k) for k in (7, 11, 11, 15, 7, 15, 21, 11, 7)])
        self.head = nn.Conv1d(256, CLASSES, 1)

    def forward(self, strips: Tensor) -> Tensor:
        """B x 1 x 48 x W to log-probabilities B x W/4 x CLASSES."""
        return torch.log_softmax(self.head(self.mix(self.body(strips))).transpose(1, 2), -1)


class FineReader(ConvolutionReader):
    """The same with features at an eighth of the height: 1.27 times the sums a column."""

    rows = 6


class Finder(nn.Module):
    """Picture B x 1 x H x W (multiples of 32) to maps B x 7 x H/4 x W/4.

    Channels: text core logit; the line's axis as cosine and sine of twice its angle (which way it
    runs is harder to see than that it runs); reading direction x and y; logarithm of the capital
    height in pixels; logit of a surface that may carry text.
    """

    def __init__(self) -> None:
        super().__init__()
        self.stem = nn.Sequential(_conv(1, 16, 2), _conv(16, 32, 2), Block(32))
        self.eighth = nn.Sequential(_conv(32, 56, 2), *(Block(56) for _ in range(3)))
        self.sixteenth = nn.Sequential(_conv(56, 96, 2), *(Block(96) for _ in range(4)))
        self.coarse = nn.Sequential(_conv(96, 128, 2), *(Block(128) for _ in range(4)))
        self.from_coarse = nn.Conv2d(128, 96, 1)
        self.from_sixteenth = nn.Conv2d(96, 56, 1)
        self.from_eighth = nn.Conv2d(56, 32, 1)
        self.join16 = Block(96)
        self.join8 = Block(56)
        self.join4 = Block(32)
        self.head = nn.Sequential(_conv(32, 32), nn.Conv2d(32, 7, 1))

    def forward(self, picture: Tensor) -> Tensor:
        """See the class."""
        quarter = self.stem(picture)
        eighth = self.eighth(quarter)
        sixteenth = self.sixteenth(eighth)
        x = _double(self.from_coarse(self.coarse(sixteenth)))
        x = _double(self.from_sixteenth(self.join16(x + sixteenth)))
        x = _double(self.from_eighth(self.join8(x + eighth)))
        return self.head(self.join4(x + quarter))


def _double(x: Tensor) -> Tensor:
    return nn.functional.interpolate(x, scale_factor=2.0, mode="nearest")


def normalise_tile(tiles: Tensor) -> Tensor:
    """Local light removed, then unit deviation a tile; B x 1 x H x W in 0..1."""
    mean = tiles.mean((2, 3), keepdim=True)
    deviation = tiles.std((2, 3), keepdim=True) + 4 / 255
    return (tiles - mean) / deviation
