"""The command line: the only place that prints or exits. One module per family of commands.

Heavy imports stay inside the command functions, so that `tyremark --help` answers at once.
"""

from __future__ import annotations

import sys

import typer

from reader.cli import counter, depot, page, photos, sizes
from reader.errors import ExitCode, ReaderError

app = typer.Typer(
    name="tyremark",
    help="Read the size marks on bicycle tyres and rims from photos, and say what fits what.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
for family in (photos, sizes, counter, depot, page):  # the order of the help text
    family.attach(app)


def main() -> None:
    """Run the command line and turn a `ReaderError` into one line and its exit code."""
    try:
        app()
    except ReaderError as error:
        print(f"tyremark: {error}", file=sys.stderr)
        sys.exit(int(error.exit_code))
    except KeyboardInterrupt:
        sys.exit(int(ExitCode.STOPPED))
