"""The JSON that `tyremark read` prints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from reader import report
from reader.mounted import as_dict, mounted
from reader.records import Reading

if TYPE_CHECKING:
    from reader.cli.read_run import Problem, Wishes


def document(
    answers: Sequence[Reading], problems: Sequence[Problem], everything: bool = False
) -> dict[str, Any]:
    """All that `--json` prints; its form is in data/reading.schema.json.

    Args:
        answers: readings, in the order of the photos.
        problems: photos that could not be read.
        everything: every marking and place, not only what the answer rests on.
    """
    return {
        "version": report.VERSION,
        "readings": [report.reading_to_dict(answer, everything) for answer in answers],
        "problems": [
            {"photo": file, "message": error.message, "remedy": error.remedy}
            for file, error in problems
        ],
    }


def added(shown: dict[str, Any], answers: Sequence[Reading], wishes: Wishes) -> dict[str, Any]:
    """The document; where asked for, with what is said of tyre and rim beside each reading."""
    if wishes.mounted:
        for data, answer in zip(shown["readings"], answers, strict=True):
            data["mounted"] = as_dict(mounted(answer, wishes.market))
    return shown
