"""Packaged networks back into checkpoints: what they answer stays what it was."""

from pathlib import Path

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from onnxruntime import InferenceSession

from reader.train.models.nets import ConvolutionReader, Finder
from reader.train.models.recover import recover

DATA = Path(__file__).parents[2] / "reader" / "data"


def rough(shape, seed=0):
    """Smooth noise of unit deviation."""
    rng = np.random.default_rng(seed)
    small = rng.normal(size=(*shape[:2], shape[2] // 4, shape[3] // 4))
    return np.kron(small, np.ones((4, 4))).astype(np.float32)


@pytest.mark.parametrize(
    ("network", "file", "shape"),
    [
        (ConvolutionReader, "moulded.onnx", (4, 1, 48, 320)),
        (Finder, "finder.onnx", (1, 1, 96, 128)),
    ],
)
def test_a_recovered_network_answers_like_the_packaged_one(network, file, shape):
    pictures = [rough(shape, seed) for seed in range(3)]
    model = recover(network(), DATA / file, pictures)
    session = InferenceSession(str(DATA / file))
    with torch.no_grad():
        got = model(torch.from_numpy(pictures[0])).numpy()
    wanted = session.run(None, {"picture": pictures[0]})[0]
    if file == "moulded.onnx":
        assert (got.argmax(-1) == wanted.argmax(-1)).mean() > 0.97
    else:
        assert np.corrcoef(got.ravel(), wanted.ravel())[0, 1] > 0.98


def test_training_goes_on_without_a_jump():
    pictures = [rough((8, 1, 48, 320), seed) for seed in range(4)]
    model = recover(ConvolutionReader(), DATA / "moulded.onnx", pictures)
    some = torch.from_numpy(pictures[0])
    with torch.no_grad():
        settled = model(some).argmax(-1)
        learning = model.train()(some).argmax(-1)
    assert (settled == learning).float().mean() > 0.9


def test_another_network_is_refused():
    with pytest.raises(ValueError, match=r"finder\.onnx does not hold this network"):
        recover(ConvolutionReader(), DATA / "finder.onnx", [rough((1, 1, 48, 64))])
