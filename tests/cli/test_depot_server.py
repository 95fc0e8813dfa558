"""Every command of the depot says the same with a PostgreSQL server as with a file."""

import re
import sys
from pathlib import Path

import pytest
from typer.main import get_command

sys.path.insert(0, str(Path(__file__).parent))
from test_depot import depot, run  # noqa: E402, F401

from reader.catalogue.db.own_server import database, postgres
from reader.cli import app
from reader.errors import CatalogueError

# Commands that need no catalogue, or that start a server.
ELSEWHERE = {
    "read", "engines", "size", "fit", "wheel", "tube", "pressure", "clearance", "serve",
}  # fmt: skip
MOMENT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?(\+00:00)?")


@pytest.fixture(scope="module")
def postgres_server():
    """A server of its own, as the catalogue's tests have it."""
    try:
        with postgres(sync=False) as server:
            yield server
    except CatalogueError as error:
        pytest.fail(f"{error}; or leave such tests out: pytest -m 'not postgres'", pytrace=False)


def story(where, folder):
    """What each command says, one after the other; the commands that were called."""
    said, called = [], set()

    def tell(name, *words, typed=""):
        called.add(name)
        text = run(name, *words, "--catalogue", where, typed=typed)
        shown = MOMENT.sub("…", text).replace(where, "CATALOGUE")
        shown = re.sub(r"whole: .*", "whole", shown)
        # What follows in `check` is of the machine: engines, versions, room on the disk.
        said.append((name, "\n".join(shown.splitlines()[: 2 if name == "check" else None])))
        return text

    tell("bin", "depot", "--workers", 1, "--depot", "North")
    tell(
        "add", "622x19C", "--kind", "rim", "--bin", "wheels", "--holes", 36, "--code", "7KQ4M2XDAB"
    )
    tell("add", "37-622", "--kind", "tyre", "--bin", "shop", "--code", "3F8RTM2QLC")
    found = tell("find", "--json")
    code = re.search(r'"code": "(\w+)"', found).group(1)
    tell("part", code, "--bin", "attic", "--condition", "reject", "--reasons", "cracks")
    tell("part", code)
    tell("find", "--fits", "622x19C")
    tell("find", "--fits", "37-622", "--hub", 36, "--json")
    tell("find", "--text", "REJ")
    tell("pairs")
    tell("doubles")
    tell("doubles", "7KQ4M-2XDAB", "3F8RT-M2QLC", "--same", "--person", "Ada")
    tell("doubles", "7KQ4M-2XDAB", "3F8RT-M2QLC", "--different")
    tell("doubles", "--settled", "--json")
    tell("review", typed="s\n47-507\nq\n")
    tell("tally", "--json")
    tell("tally", "--by", "size", "--beside", "depot")
    tell("want", "47-507", "--quantity", 2)
    tell("missing")
    tell("slip", "622x19C")
    tell("labels", folder / "l.pdf")
    tell("export", folder / "p.csv")
    tell("import", folder / "p.csv", "--dry-run")
    tell("import", folder / "p.csv")
    tell("training", folder / "lines")
    tell("failures")
    tell("check")
    said.append(("list", (folder / "p.csv").read_text()))
    return said, called


def test_every_command_says_the_same_on_a_server(depot, postgres_server, tmp_path):  # noqa: F811
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    by_file, called = story(str(tmp_path / "c.db"), tmp_path / "one")
    by_server, _ = story(database(postgres_server, "commands"), tmp_path / "two")
    for one, other in zip(by_file, by_server, strict=True):
        plain = (one[0], one[1].replace(str(tmp_path / "one"), "F"))
        assert plain == (other[0], other[1].replace(str(tmp_path / "two"), "F"))
    commands = set(get_command(app).commands)
    assert commands - ELSEWHERE == called, "a command without a line in the story"
