"""README names every command, and its commands exist."""

import re
import shlex
from pathlib import Path

import typer

from reader.cli import app

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def commands(group, before=()):
    """Every command line of the program, as a tuple of words, with its parameters."""
    for name, command in group.commands.items():
        words = (*before, name)
        if hasattr(command, "commands"):
            yield from commands(command, words)
        else:
            yield words, command


ALL = dict(commands(typer.main.get_command(app)))


def shown():
    """Every line of README's shell blocks that runs tyremark, as words after the program's name."""
    for block in re.findall(r"```(?:sh|bash|console)\n(.*?)```", README, re.DOTALL):
        for line in re.sub(r"\\\n\s*", "", block).splitlines():
            for part in line.split("&&"):
                words = shlex.split(part.split(" | ")[0].lstrip("$ "), comments=True)
                if words and Path(words[0]).name == "tyremark":
                    yield words[1:]


def test_every_command_stands_in_the_readme():
    missing = [words for words in ALL if f"tyremark {' '.join(words)}" not in README]
    assert missing == []


def test_every_command_shown_in_the_readme_exists_with_its_options():
    lines = list(shown())
    assert lines
    for words in lines:
        name = next((key for key in ALL if tuple(words[: len(key)]) == key), None)
        assert name, f"no such command: tyremark {' '.join(words)}"
        options = {word.split("=")[0] for word in words if re.match(r"--?[a-z]", word)}
        known = {opt for p in ALL[name].params for opt in (*p.opts, *p.secondary_opts)}
        assert options <= known | {"--help"}, words


def test_readme_names_every_column_of_lists_in_order():
    from reader.catalogue.io.lists import COLUMNS

    rows = re.findall(r"^\| `(\w+)` \| (.*) \|$", README, re.MULTILINE)
    assert [row for row in rows if row[0] in COLUMNS] == [
        (name, meaning) for name, (_, meaning) in COLUMNS.items()
    ]
