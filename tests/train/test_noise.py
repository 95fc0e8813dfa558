import pytest

# torch comes with the extra "train" only: it is larger than all the rest together, and nothing
# outside reader/train uses it. Install that extra to run these.
torch = pytest.importorskip("torch")
torch.set_num_threads(1)  # waiting for each other costs small tensors more than it gains

from reader.train.render.noise import KINDS, SIDE, NoiseBank


@pytest.fixture(scope="module")
def bank():
    return NoiseBank(1, per_kind=2)


def places(start, generator_seed=3):
    generator = torch.Generator().manual_seed(generator_seed)
    return start + torch.rand(1, 16, 16, generator=generator) * 50


@pytest.mark.parametrize("kind", KINDS)
def test_noise_has_no_seam(bank, kind):
    which = torch.tensor([1])
    u, v = places(SIDE - 25.0), places(SIDE - 25.0, 4)
    here = bank.sample(kind, which, u, v)
    assert torch.allclose(here, bank.sample(kind, which, u - SIDE, v + SIDE), atol=0.02)


@pytest.mark.parametrize("kind", KINDS)
def test_whole_coordinates_give_the_picture_itself(bank, kind):
    y, x = torch.meshgrid(torch.arange(40.0), torch.arange(40.0), indexing="ij")
    seen = bank.sample(kind, torch.tensor([0]), x[None], y[None])[0]
    assert torch.allclose(seen, bank.pictures[KINDS.index(kind), 0, :40, :40], atol=0.02)


@pytest.mark.parametrize("kind", ["grain", "fractal", "cloud"])
def test_plain_noise_has_zero_mean_and_unit_deviation(bank, kind):
    pictures = bank.pictures[KINDS.index(kind)]
    assert pictures.mean((1, 2)).abs().max() < 1e-3
    assert (pictures.std((1, 2)) - 1).abs().max() < 1e-3


def test_a_seed_gives_the_same_bank_and_another_seed_another(bank):
    assert torch.equal(NoiseBank(1, per_kind=2).pictures, bank.pictures)
    other = NoiseBank(2, per_kind=2).pictures
    for kind in ("grain", "fractal", "cloud", "brushed"):
        for mine in bank.pictures[KINDS.index(kind)]:
            for theirs in other[KINDS.index(kind)]:
                assert abs(float((mine * theirs).mean())) < 0.8
