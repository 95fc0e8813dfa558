"""The commands about sizes as a newcomer types them."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

from reader.cli import app
from reader.errors import ReaderError


def run(*words: str, status: int = 0) -> str:
    result = CliRunner().invoke(app, list(words), catch_exceptions=True)
    if isinstance(result.exception, ReaderError):
        raise result.exception
    assert result.exit_code == status, result.output
    return result.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("size 26 x 1 3/8", "597"),
        ("size 47-507", "24 x 1.75"),
        ("size 26", "can't tell"),
        ("size 50-622 26x2.00", "CONTRADICTION"),
    ],
)
def test_commands_answer_in_words_and_in_json(words: str, said: str) -> None:
    assert said in run(*words.split())
    assert "answer" in json.loads(run(*words.split(), "--json"))


def test_measurements() -> None:
    assert "622" in run("size", "--measure-rim", "1995 mm around")
    assert "47-507" in run("size", "--measure-tyre", "1890 mm around", "--width", "47")


@pytest.mark.parametrize(
    "words",
    ["size 0-0", "size 622-622", "size 9999", "size 47-508", "size banana", "size 999x19C",
     "fit banana 622x19C", "fit 28-622 622x19C --kind Q", "fit 28-622 622x19C --edge soft",
     "fit 28-622 622x19C --kind TSS", "fit 700x28C", "pressure -5 psi", "wheel 28-622 --gear x",
     "tube 28-622 --hole 99", "size 47-507 --market moon"],
)  # fmt: skip
def test_nonsense_is_a_clear_error(words: str) -> None:
    with pytest.raises(ReaderError) as caught:
        run(*words.split())
    assert caught.value.message and caught.value.remedy


def test_a_wheel_that_no_size_measures() -> None:
    with pytest.raises(ReaderError, match="no size"):
        run("size", "--measure-rim", "900 mm across")


def test_wrong_arguments_are_usage_errors() -> None:
    for words in (
        ["size"],
        ["size", "47-507", "--measure-rim", "634 across"],
        ["fit", "a", "b", "c"],
    ):
        assert CliRunner().invoke(app, words).exit_code == 2
