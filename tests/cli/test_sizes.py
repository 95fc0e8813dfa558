"""The commands about sizes as a newcomer types them."""

from __future__ import annotations

import json
from importlib.metadata import version

import pytest
from typer.testing import CliRunner

from reader.cli import app
from reader.cli.options import MARKETS
from reader.errors import ReaderError
from reader.tables import load_tables


def run(*words: str, status: int = 0) -> str:
    result = CliRunner().invoke(app, list(words), catch_exceptions=True)
    if isinstance(result.exception, ReaderError):
        raise result.exception
    assert result.exit_code == status, result.output
    return result.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("size 26 x 1 3/8", "if it is 597: 37-597"),
        ("size 47-507", "24 x 1.75"),
        ("size 29er", "bead seat 622 mm"),
        ("size 28/47-622/635", "a tube for 622 and 635"),
    ],
)
def test_commands_answer_in_words_and_in_json(words: str, said: str) -> None:
    assert said in run(*words.split())
    assert "answer" in json.loads(run(*words.split(), "--json"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("size 26", "can't tell"),
        ("size 50-622 26x2.00", "CONTRADICTION"),
        ("size 24 x 1", "if it is 540"),
        ("size S-6", "ask for the wheel's diameter"),
        ("size 26 x 1 3/8 80 psi 55", "not understood: 55"),
    ],
)
def test_a_text_that_settles_nothing_ends_with_status_1(words: str, said: str) -> None:
    assert said in run(*words.split(), status=1)
    assert "answer" in json.loads(run(*words.split(), "--json", status=1))


@pytest.mark.parametrize(
    "words",
    ["26 x 1 3/8", "26", "650A", "24 x 1", "S-6", "28 x 1 5/8 x 1 3/8", "622", "29", "600A",
     "50-622 26x2.00", "28/47-622/635", "350 x 32A", "16 x 1 3/8"],
)  # fmt: skip
def test_a_size_is_told_in_six_lines_that_fit_the_screen(words: str) -> None:
    result = CliRunner().invoke(app, ["size", *words.split()])
    lines = result.output.splitlines()
    assert 1 <= len(lines) <= 6
    assert all(len(line) <= 80 for line in lines)
    more = CliRunner().invoke(app, ["size", "--why", *words.split()]).output.splitlines()
    assert len(more) > len(lines) - 1 and all(len(line) <= 80 for line in more)


def test_measurements() -> None:
    assert "622" in run("size", "--measure-rim", "1995 mm around")
    assert "47-507" in run("size", "--measure-tyre", "1890 mm around", "--width", "47")


@pytest.mark.parametrize(
    "words",
    ["size 0-0", "size 622-622", "size 9999", "size 47-508", "size banana", "size 999x19C",
     "fit banana 622x19C", "fit 28-622 622x19C --kind Q", "fit 28-622 622x19C --edge soft",
     "fit 28-622 622x19C --kind TSS", "fit 700C", "pressure -5 psi", "wheel 28-622 --gear x",
     "tube 28-622 --hole 99"],
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
        ["size", "47-507", "--market", "moon"],
        ["size", "--wide"],
        ["pressure", "--wide"],
    ):
        assert CliRunner().invoke(app, words).exit_code == 2


def test_help_is_plain_and_names_the_markets() -> None:
    for words in ([], ["size"], ["read"], ["bin"]):
        said = CliRunner().invoke(app, [*words, "--help"]).output
        assert all(len(line) <= 80 for line in said.splitlines())
        assert not set(said) & set("│╭╮╰╯─…")
    assert "north-america" in CliRunner().invoke(app, ["size", "--help"]).output


def test_the_version_is_that_of_the_package() -> None:
    assert run("--version").split() == ["tyremark", version("tyremark")]


def test_the_options_name_every_market_of_the_table() -> None:
    assert tuple(MARKETS) == load_tables().markets
