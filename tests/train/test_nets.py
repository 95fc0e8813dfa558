"""The networks' shapes, one step of learning, and the way into the packaged format."""

import numpy as np
import pytest

# torch comes with the extra "train" only: it is larger than all the rest together, and nothing
# outside reader/train uses it. Install that extra to run these.
torch = pytest.importorskip("torch")
torch.set_num_threads(1)  # waiting for each other costs small tensors more than it gains

from reader.ocr.alphabet import ALPHABET
from reader.train.models.fit_finder import Truth, losses
from reader.train.models.fit_lines import ARCHS, Learner, LineStream, collate, greedy, learn
from reader.train.models.nets import CLASSES, Finder, normalise_tile
from reader.train.render.lines import CAP, MARGIN, STRIP, LineMask, normalise, render_strips
from reader.train.render.noise import NoiseBank
from reader.train.render.shade import Dice


@pytest.fixture(autouse=True)
def seeded():
    torch.manual_seed(1)


@pytest.mark.parametrize("arch", sorted(ARCHS))
@pytest.mark.parametrize("width", [64, 320])
def test_a_reader_gives_log_probabilities_for_every_fourth_column(arch, width):
    with torch.no_grad():
        told = ARCHS[arch]().eval()(torch.randn(2, 1, STRIP, width))
    assert told.shape == (2, width // 4, CLASSES)
    assert torch.allclose(told.exp().sum(-1), torch.ones(2, width // 4), atol=1e-4)


def test_the_finder_gives_seven_maps_at_a_quarter():
    with torch.no_grad():
        maps = Finder().eval()(torch.randn(1, 1, 96, 160))
    assert maps.shape == (1, 7, 24, 40)


def test_normalised_pictures_forget_brightness_and_contrast():
    strips = torch.rand(2, STRIP, 100)
    told = normalise(strips)
    assert told.mean((1, 2)).abs().max() < 1e-5
    assert (told - normalise(strips * 0.7 + 0.1)).abs().max() < 0.05
    tiles = normalise_tile(torch.rand(2, 1, 32, 32))
    assert tiles.mean((1, 2, 3)).abs().max() < 1e-5


def test_the_best_path_collapses_repeats_then_blanks():
    # worked example of the collapse rule, Graves et al., ICML 2006, section 3.1: a-ab- and -aa--abb
    a, b = (ALPHABET.index(letter) + 1 for letter in "AB")
    paths = [[a, 0, a, b, 0, 0, 0, 0], [0, a, a, 0, 0, a, b, b]]
    scores = torch.nn.functional.one_hot(torch.tensor(paths), CLASSES).float()
    assert greedy(scores) == ["AAB", "AAB"]


def test_lines_are_padded_and_spelled():
    masks = [np.full((CAP + 2 * MARGIN, width), 9, np.uint8) for width in (100, 140)]
    lines = [LineMask(masks[0], "47-507", 0), LineMask(masks[1], "", 3)]
    pictures, kinds, flat, lengths, texts = collate(lines)
    assert pictures.shape == (2, CAP + 2 * MARGIN, 140)
    assert int(pictures[0, :, 100:].max()) == 0
    assert "".join(ALPHABET[k - 1] for k in flat.tolist()) == "47-507"
    assert (kinds.tolist(), lengths.tolist(), texts) == ([0, 3], [6, 0], ["47-507", ""])


def test_a_stream_gives_rendered_strips_with_their_letters(fonts):
    ((masks, kinds, flat, lengths, texts),) = LineStream(fonts, 4, 3, 1)
    strips = render_strips(masks, kinds[:, None, None], NoiseBank(1, per_kind=1), Dice(2, 4, "cpu"))
    assert strips.shape[:2] == (4, STRIP)
    assert ((strips >= 0) & (strips <= 1)).all()
    assert len(flat) == int(lengths.sum()) == sum(map(len, texts))
    assert max(map(len, texts)) < strips.shape[2] // 4  # enough frames to spell the longest


@pytest.mark.parametrize("arch", sorted(ARCHS))
def test_learning_one_batch_lowers_its_loss(arch):
    learner = Learner(ARCHS[arch](), 1e-3, "cpu")
    strips = torch.randn(2, 1, STRIP, 64)  # hopeless at first: the loss has a ceiling
    targets, lengths = torch.tensor([5, 6, 7]), torch.tensor([2, 1])
    first, *_, last = (float(learn(learner, strips, targets, lengths, 1.0)) for _ in range(9))
    assert last < 0.7 * first


def test_a_checkpoint_can_be_gone_on_from(tmp_path):
    learner = Learner(ARCHS["convolution"](), 1e-3, "cpu")
    learner.save(tmp_path / "one" / "convolution.pt", {"seed": 1})
    saved = tmp_path / "one" / "convolution.pt"
    again = Learner(ARCHS["convolution"](), 1e-3, "cpu", saved)
    for mine, theirs in zip(learner.model.parameters(), again.model.parameters(), strict=True):
        assert torch.allclose(mine, theirs, atol=2e-3)


def truth_and_maps():
    """Some truth, and the maps that tell it perfectly."""
    text = torch.zeros(1, 16, 16)
    text[:, 6:9, 2:14] = 1
    angle = torch.full_like(text, 0.6)
    truth = Truth(
        text=text,
        ignore=torch.zeros_like(text),
        along_x=torch.cos(angle),
        along_y=torch.sin(angle),
        height=torch.full_like(text, 3.0),
        surface=torch.ones_like(text),
    )
    sure = (text * 2 - 1) * 20
    surface = torch.full_like(text, 20.0)
    x, y, height = truth.along_x, truth.along_y, truth.height
    maps = [sure, torch.cos(2 * angle), torch.sin(2 * angle), x, y, height, surface]
    return truth, torch.stack(maps, 1)


def test_only_true_maps_cost_nothing():
    truth, maps = truth_and_maps()
    assert all(float(loss) < 1e-3 for loss in losses(maps, truth).values())
    for channels, name in {(0,): "text", (1, 2): "axis", (3, 4): "turn", (5,): "size"}.items():
        wrong = maps.clone()
        wrong[:, channels] *= -1
        assert float(losses(wrong, truth)[name]) > 0.5


def test_what_is_ignored_costs_nothing():
    truth, maps = truth_and_maps()
    truth.ignore[:, :, :8] = 1
    maps[:, 0, :, :8] *= -1
    assert float(losses(maps, truth)["text"]) < 1e-3


@pytest.mark.parametrize("what", ["finder", *sorted(ARCHS)])
def test_the_packaged_model_answers_like_the_trained_one(what, tmp_path):
    pytest.importorskip("onnx")  # comes with the same extra
    import onnxruntime as ort

    from reader.train.models.export import export

    model = Finder() if what == "finder" else ARCHS[what]()
    if what == "finder":
        example, other = torch.zeros(1, 1, 64, 64), torch.randn(2, 1, 64, 96)
        axes = {"picture": {0: "n", 2: "h", 3: "w"}, "answer": {0: "n", 2: "h4", 3: "w4"}}
    else:
        example, other = torch.zeros(2, 1, STRIP, 64), torch.randn(1, 1, STRIP, 128)
        axes = {"picture": {0: "n", 3: "w"}, "answer": {0: "n", 1: "t"}}
    path = tmp_path / "model.onnx"
    export(model, example, axes, path)
    session = ort.InferenceSession(str(path), providers=["CPUExecutionProvider"])
    told = session.run(None, {"picture": other.numpy()})[0]
    with torch.no_grad():
        expected = model.eval()(other).numpy()
    assert told.shape == expected.shape
    assert np.abs(told - expected).max() < 0.02 * np.abs(expected).max()


@pytest.mark.parametrize("what", ["finder", "lines"])
def test_a_model_in_8_bits_is_small_and_answers_alike(what, tmp_path):
    pytest.importorskip("onnx")
    import onnxruntime as ort

    from reader.train.models.export import export
    from reader.train.models.quantise import quantise

    torch.manual_seed(4)
    finder = what == "finder"
    model = Finder() if finder else ARCHS["convolution"]()
    shape = (1, 1, 64, 64) if finder else (1, 1, STRIP, 64)
    whole, small = tmp_path / "whole.onnx", tmp_path / "small.onnx"
    export(model, torch.zeros(shape), {}, whole)
    pictures = [torch.randn(shape).numpy() for _ in range(6)]
    quantise(whole, small, pictures)
    session = ort.InferenceSession(str(small), providers=["CPUExecutionProvider"])
    told = session.run(None, {"picture": pictures[0]})[0]
    with torch.no_grad():
        expected = model.eval()(torch.from_numpy(pictures[0])).numpy()
    off = np.sqrt(((told - expected) ** 2).mean()) / expected.std()
    assert off < 0.2  # untrained weights; trained ones are compared by reader.train.bench.accuracy
    weights = sum(values.numel() for values in model.state_dict().values())
    assert small.stat().st_size < 1.3 * weights  # one byte a weight, not four
