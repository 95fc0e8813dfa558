"""Walls and floors behind rendered parts."""

import pytest

torch = pytest.importorskip("torch")  # comes with the extra "train" only, see test_scenes
torch.set_num_threads(1)

from reader.train.render.grounds import ground
from reader.train.render.noise import NoiseBank
from reader.train.render.shade import Dice


@pytest.fixture(scope="module")
def grounds():
    return ground(NoiseBank(1, per_kind=2), (96, 128), Dice(5, 12, "cpu"))


def test_brightness_is_finite_positive_and_about_one(grounds):
    assert grounds.shape == (12, 96, 128)
    assert torch.isfinite(grounds).all() and (grounds > 0).all()
    assert 0.3 < float(grounds.median()) < 3


def test_each_is_another(grounds):
    flat = grounds.flatten(1)
    related = torch.corrcoef(flat) - torch.eye(12)
    assert float(related.abs().max()) < 0.9


def test_they_are_sharp(grounds):
    """The reason for them: fine detail, unlike a small photograph enlarged."""
    fine = (grounds[:, :, 1:] - grounds[:, :, :-1]).abs().mean((1, 2)) / grounds.std((1, 2))
    assert float(fine.median()) > 0.1
