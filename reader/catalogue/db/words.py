"""Texts as both databases can keep them, so that neither takes what the other refuses."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote_from_bytes, unquote_to_bytes

import sqlalchemy as sa
from sqlalchemy.exc import DontWrapMixin

from reader.errors import InputError

BYTES = "bytes:"  # how a file's name begins here that is no UTF-8


class UnkeptText(InputError, DontWrapMixin):
    """A text that no database can keep."""


class Words(sa.types.TypeDecorator[str]):
    """Text; PostgreSQL knows no NUL, and neither database half a character."""

    impl = sa.Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Any) -> str | None:
        """Refuse what can't be kept."""
        if value is not None:
            if "\0" in value:
                raise UnkeptText("the text holds the character NUL", "leave it out")
            try:
                value.encode()
            except UnicodeEncodeError:
                raise UnkeptText(f"{ascii(value)} is no text", "write it as UTF-8") from None
        return value


class PathText(Words):
    """Name or path of a file, which need not be UTF-8; such a one is kept byte for byte."""

    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Any) -> str | None:
        """As `Words`, but any name that a file can have is kept."""
        if value is None:
            return None
        try:
            value.encode()
            odd = value.startswith(BYTES)
        except UnicodeEncodeError:
            odd = True
        if odd:
            value = BYTES + quote_from_bytes(value.encode("utf-8", "surrogateescape"), "/ ")
        return super().process_bind_param(value, dialect)

    def process_result_value(self, value: str | None, dialect: Any) -> str | None:
        """The name as the system spells it."""
        if value is None or not value.startswith(BYTES):
            return value
        return unquote_to_bytes(value.removeprefix(BYTES)).decode("utf-8", "surrogateescape")
