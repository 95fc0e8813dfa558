"""What `tyremark read --mounted` says below a card: are tyre and rim right for each other."""

from __future__ import annotations

from reader.cli.layout import wrapped
from reader.language import said
from reader.mounted import mounted
from reader.records import Reading


def tell_of_wheel(answer: Reading, market: str) -> None:
    """Say whether tyre and rim are right for each other, or which photo is lacking."""
    for sentence in mounted(answer, market).sentences:
        print(*wrapped(said(sentence), first=""), sep="\n")
