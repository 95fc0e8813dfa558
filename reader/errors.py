"""Errors a user can mend: each carries an exit code and says what to do next."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """Exit status of the command line, one per kind of trouble."""

    OK = 0
    NOTHING_READ = 1  # the photos were fine, but no size could be told
    USAGE = 2  # typer's own code for wrong arguments
    BAD_PHOTO = 3  # at least one photo could not be opened or is not a photo
    BAD_INPUT = 4  # a size, a pressure or a table that makes no sense
    ENGINE = 5  # a reading engine is missing or broken
    CATALOGUE = 6  # the catalogue can't be opened, written or understood
    SERVER = 7  # the page or a cluster can't be started or reached
    INTERNAL = 70  # a fault of the program itself; a report is written
    OUTPUT = 74  # the output can't be written: a full disk
    STOPPED = 130  # Ctrl-C


def one_line(text: str) -> str:
    """The text without what breaks a line or steers a terminal; it may quote what somebody typed.

    >>> print(one_line("'47-507" + chr(12) + chr(27) + "' is no size"))
    '47-507\\x0c\\x1b' is no size
    """
    return "".join(c if c.isprintable() or c in "\u00a0\u202f" else ascii(c)[1:-1] for c in text)


class ReaderError(Exception):
    """Base of all errors meant for the user.

    Args:
        message: what is wrong, naming the file or the text it is about.
        remedy: what to do next, one sentence.
    """

    exit_code = ExitCode.BAD_INPUT

    def __init__(self, message: str, remedy: str = "") -> None:
        message = one_line(message)
        super().__init__(message)
        self.message = message
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.message}: {self.remedy}" if self.remedy else self.message


class PhotoError(ReaderError):
    """A file that can't be read as a photo."""

    exit_code = ExitCode.BAD_PHOTO


class InputError(ReaderError):
    """A text, number or table that makes no sense for the job."""

    exit_code = ExitCode.BAD_INPUT


class UnknownCodeError(InputError):
    """A part's code that no part of the catalogue has."""


class EngineError(ReaderError):
    """A reading engine that is missing or failed."""

    exit_code = ExitCode.ENGINE


class CatalogueError(ReaderError):
    """A catalogue that can't be opened, written or understood."""

    exit_code = ExitCode.CATALOGUE


class ServerError(ReaderError):
    """A page server or cluster that can't be started or reached."""

    exit_code = ExitCode.SERVER
