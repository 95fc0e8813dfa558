"""The command line's language: as asked for, else English; help is translated, too."""

from __future__ import annotations

import gettext as library
import os
import sys
from collections.abc import Iterator, Sequence
from typing import Any

import typer

from reader.errors import InputError
from reader.language import LANGUAGES, gettext, ngettext, said

OPTION, VARIABLE = "--language", "TYREMARK_LANGUAGE"
WrongUse: Any = typer.BadParameter.__bases__[0]  # a command line that makes no sense


def asked(words: Sequence[str]) -> str:
    """The language that the option names, wherever it stands, else the environment; else English.

    Raises:
        InputError: no language that is spoken here.
    """
    name, source = os.environ.get(VARIABLE, ""), VARIABLE
    for place, word in enumerate(words):
        if word == "--":
            break
        if word == OPTION and place + 1 < len(words):
            name, source = words[place + 1], OPTION
        elif word.startswith(f"{OPTION}="):
            name, source = word.partition("=")[2], OPTION
    short = name.strip().lower().replace("_", "-").partition("-")[0]
    if short and short not in LANGUAGES:
        listed = ", ".join(LANGUAGES)
        raise InputError(f"{source}: no language '{name}' is spoken here", f"use one of: {listed}")
    return short or "en"


def without_option(words: Sequence[str]) -> list[str]:
    """The command without the option, which may stand anywhere before `--`.

    >>> without_option(["size", "--language", "de", "28", "--", "--language"])
    ['size', '28', '--', '--language']
    """
    kept: list[str] = []
    rest = iter(words)
    for word in rest:
        if word == "--":
            return [*kept, word, *rest]
        if word == OPTION:
            next(rest, None)
        elif not word.startswith(f"{OPTION}="):
            kept.append(word)
    return kept


def run(command: Any, words: Sequence[str]) -> None:
    """Run the command in the language in use; also help and complaints of the library speak it."""
    _answer_library()
    _translate(command)
    usage = type(command).context_class.formatter_class

    class Formatter(usage):  # type: ignore[misc, valid-type]
        """Help in the language in use."""

        def write_usage(self, prog: str, args: str = "", prefix: str | None = None) -> None:
            """The line of the command."""
            super().write_usage(prog, args, prefix or f"{said('Usage:')} ")

        def write_dl(self, rows: Sequence[tuple[str, str]], *args: Any, **more: Any) -> None:
            """Options or commands."""
            super().write_dl([(name, said(text)) for name, text in rows], *args, **more)

    type(command).context_class.formatter_class = Formatter
    try:
        status = command.main(list(words), prog_name="tyremark", standalone_mode=False)
    except WrongUse as error:
        _complain(error)
        sys.exit(error.exit_code)
    except typer.Abort:
        print(said("Aborted!"), file=sys.stderr)
        sys.exit(1)
    finally:
        type(command).context_class.formatter_class = usage
    sys.exit(status if isinstance(status, int) else 0)


def _complain(error: Any) -> None:
    if not error.args and not error.message:
        return
    if type(error).__name__ == "NoArgsIsHelpError":  # its message is the help
        print(error.format_message(), file=sys.stderr)
        return
    if error.ctx is not None:
        path = f"{error.ctx.command_path} {error.ctx.help_option_names[0]}"
        print(error.ctx.get_usage(), said(f"Try '{path}' for help."), "", sep="\n", file=sys.stderr)
    print(f"{said('Error')}: {said(error.format_message())}", file=sys.stderr)


def _answer_library() -> None:
    """Let Python's gettext, which the command line's library asks, look into our catalogues."""

    def one(domain: str, message: str) -> str:  # noqa: ARG001
        return gettext(message)

    def counted(domain: str, msgid1: str, msgid2: str, n: int) -> str:  # noqa: ARG001
        return ngettext(msgid1, msgid2, n)

    library.dgettext, library.dngettext = one, counted


def helps(command: Any) -> Iterator[tuple[Any, str, str]]:
    """Every help text in a command and those below it: what has it, under which name, the text."""
    for name in ("help", "short_help", "epilog"):
        if getattr(command, name, None):
            yield command, name, str(getattr(command, name))
    for parameter in getattr(command, "params", ()):
        if getattr(parameter, "help", None):
            yield parameter, "help", str(parameter.help)
    for one in getattr(command, "commands", {}).values():
        yield from helps(one)


def _translate(command: Any) -> None:
    """Put every help text into the language in use."""
    for owner, name, text in [*helps(command)]:
        setattr(owner, name, said(text))
