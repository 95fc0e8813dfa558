"""The command line: the only place that prints or exits. One module per family of commands.

Heavy imports stay inside the command functions, so that `tyremark --help` answers at once.
"""

from __future__ import annotations

import sys
from typing import Annotated, Any

import typer
from typer.core import TyperGroup
from typer.main import get_command

from reader.cli import counter, depot, page, photos, screen, sizes, speaking
from reader.cli.ending import ended
from reader.language import said, speak


class Commands(TyperGroup):
    """All commands with their whole first sentence, wrapped rather than cut."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the list of commands below the options."""
        commands = [(name, self.get_command(ctx, name)) for name in self.list_commands(ctx)]
        rows = [
            (name, " ".join((one.help or "").split("\n\n")[0].split()))
            for name, one in commands
            if one is not None and not one.hidden
        ]
        with formatter.section(said("Commands")):
            formatter.write_dl(rows)


app = typer.Typer(
    name="tyremark",
    cls=Commands,
    help="Read the size marks on bicycle tyres and rims from photos, and say what fits what.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,  # help and errors as plain lines, in every command
    pretty_exceptions_enable=False,
)
for family in (photos, sizes, counter, depot, page):  # the order of the help text
    family.attach(app)


def _say_version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        print(f"tyremark {version('tyremark')}")
        raise typer.Exit


@app.callback()
def _top(
    version: Annotated[  # noqa: ARG001 (its callback does all)
        bool,
        typer.Option("--version", is_eager=True, callback=_say_version, help="Say the version."),
    ] = False,
    language: Annotated[  # noqa: ARG001 (taken out of the words before: `speaking.asked`)
        str,
        typer.Option(
            envvar=speaking.VARIABLE,
            help="en, de, es, fr or nl; may stand anywhere in the command.",
        ),
    ] = "en",
) -> None:
    """Read the size marks on bicycle tyres and rims from photos, and say what fits what."""


def main() -> None:
    """Run the command line; whatever goes wrong is one line and an exit status."""
    screen.prepare()
    sys.exit(ended(run))


def run() -> None:
    """Run the command line in the language that is asked for."""
    words = sys.argv[1:]
    name = speaking.asked(words)
    if name == "en":
        app(speaking.without_option(words))
        return
    speak(name)  # not only within here: what ends the command is told in it, too
    speaking.run(get_command(app), speaking.without_option(words))
