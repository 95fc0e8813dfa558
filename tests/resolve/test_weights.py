"""The weights' file: as fitted, as judged without it, and a damaged one is told."""

import json

import pytest

from reader.errors import InputError
from reader.resolve.weights import JUDGED, load_weights


def write(tmp_path, data):
    path = tmp_path / "resolver.json"
    path.write_text(data if isinstance(data, str) else json.dumps(data))
    return path


def test_without_a_file_the_judgement_holds(tmp_path):
    assert load_weights(tmp_path / "none.json") is JUDGED


def test_fitted_weights_replace_the_judged_ones(tmp_path):
    found = load_weights(write(tmp_path, {"format": 1, "weights": {"moulded": 9.5}}))
    assert (found.moulded, found.scene) == (9.5, JUDGED.scene)
    assert found.trust("moulded") == 9.5 and found.trust("new") == JUDGED.other_engine


@pytest.mark.parametrize(
    "data",
    ["no JSON", {"format": 9, "weights": {}}, {"format": 1, "weights": {"odd": 1}}, {"format": 1}],
)
def test_a_damaged_file_is_named_with_a_remedy(tmp_path, data):
    with pytest.raises(InputError, match=r"resolver\.json") as caught:
        load_weights(write(tmp_path, data))
    assert "put back" in caught.value.remedy


def test_the_shipped_weights_can_be_read():
    assert load_weights().moulded > 0
