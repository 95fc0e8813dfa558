"""Forms and files from visitors, with every limit kept while the bytes still stream in.

Files stay in memory and go to a reading process; their names are never looked at. A file's type is
told by its first bytes only.
"""

from __future__ import annotations

import asyncio
import hmac
import time
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qsl

from python_multipart.exceptions import FormParserError
from python_multipart.multipart import MultipartParser, parse_options_header
from starlette.requests import ClientDisconnect, Request

from reader.web.refusals import Refusal
from reader.web.settings import Limits

FIELDS = 60
PHOTO_WANTED = "send a photo as JPEG, PNG, WebP, TIFF or HEIC"


@dataclass
class Form:
    """What was sent: plain fields, and the bytes of the files."""

    fields: dict[str, str] = field(default_factory=dict)
    files: list[bytes] = field(default_factory=list)

    def text(self, name: str, most: int = 200) -> str:
        """A field without surrounding space, cut at `most` letters; empty if absent."""
        return self.fields.get(name, "").strip()[:most]


class Ledger:
    """Counts the bytes of all uploads that are held in memory at this moment."""

    def __init__(self, most: int) -> None:
        self._most, self.held = most, 0

    def take(self, count: int) -> None:
        """Note more bytes.

        Raises:
            Refusal: all visitors together hold too much.
        """
        if self.held + count > self._most:
            raise Refusal(503, "the bench is busy", "wait a few seconds and send it again")
        self.held += count

    def give(self, count: int) -> None:
        """Note that bytes are free again."""
        self.held -= count


def looks_like_photo(data: bytes) -> bool:
    """Whether the first bytes are those of a picture type that the reader takes."""
    return (
        data.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"II*\x00", b"MM\x00*"))
        or (data[:4] == b"RIFF" and data[8:12] == b"WEBP")
        or (data[4:8] == b"ftyp" and data[8:12] in HEIF_BRANDS)
    )


HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")


async def read_form(request: Request) -> Form:
    """Read the body of a POST and check the form's token.

    Raises:
        Refusal: too large, too slow, broken, not a photo, or without the session's token.
    """
    limits: Limits = request.app.state.settings.limits
    kind, options = parse_options_header(request.headers.get("content-type", ""))
    if kind == b"multipart/form-data":
        form = await _read_multipart(request, options.get(b"boundary", b""), limits)
    elif kind in (b"application/x-www-form-urlencoded", b""):
        form = await _read_plain(request, limits)
    else:
        raise Refusal(415, "this kind of form is not known", "use the form on the page")
    _check_token(request, form)
    return form


def _check_token(request: Request, form: Form) -> None:
    if request.state.trusted:
        return
    sent = form.fields.pop("token", "")
    if not hmac.compare_digest(sent.encode(), request.state.token.encode()):
        raise Refusal(403, "this form is too old", "go back, load the page again and resend it")


async def _read_plain(request: Request, limits: Limits) -> Form:
    body = bytearray()
    async for chunk in _chunks(request, limits, limits.text_bytes):
        body += chunk
    try:
        pairs = parse_qsl(body.decode(), keep_blank_values=True, max_num_fields=FIELDS)
    except ValueError as error:
        raise Refusal(400, "the form arrived broken", "send it again") from error
    return Form(dict(pairs))


async def _read_multipart(request: Request, boundary: bytes, limits: Limits) -> Form:
    if not 0 < len(boundary) <= 200:
        raise Refusal(400, "the form arrived broken", "send it again")
    ledger: Ledger = request.app.state.ledger
    collector = Collector(limits)
    parser = MultipartParser(boundary, collector.callbacks())
    held = 0
    try:
        async for chunk in _chunks(request, limits, limits.form_bytes):
            ledger.take(len(chunk))
            held += len(chunk)
            parser.write(chunk)
        parser.finalize()
    except FormParserError as error:
        raise Refusal(400, "the form arrived broken", "send it again") from error
    finally:
        ledger.give(held)
    if not collector.ended:
        raise Refusal(400, "the upload stopped half-way", "send it again")
    return collector.form


async def _chunks(request: Request, limits: Limits, most: int) -> AsyncIterator[bytes]:
    """The body piece by piece, cut off when too large, too slow or silent."""
    too_large = Refusal(
        413, "that is too much at once", "send fewer photos, or photos below 40 MB each"
    )
    declared = request.headers.get("content-length", "0")
    if declared.isdigit() and int(declared) > most:
        raise too_large
    end, total = time.monotonic() + limits.upload_seconds, 0
    stream = request.stream().__aiter__()
    while True:
        wait = min(limits.silence, end - time.monotonic())
        try:
            chunk = await asyncio.wait_for(anext(stream), max(wait, 0.001))
        except StopAsyncIteration:
            return
        except TimeoutError as error:
            raise Refusal(
                408, "the upload was too slow", "go nearer to the access point and send it again"
            ) from error
        except ClientDisconnect as error:
            raise Refusal(400, "the upload stopped half-way", "send it again") from error
        total += len(chunk)
        if total > most:
            raise too_large
        yield chunk


class Collector:
    """Takes the parser's events and builds the form; raises as soon as a limit is passed."""

    def __init__(self, limits: Limits) -> None:
        self.form, self.ended = Form(), False
        self._limits = limits
        self._header, self._value = bytearray(), bytearray()
        self._headers: dict[bytes, bytes] = {}
        self._name, self._is_file = "", False
        self._data = bytearray()

    def callbacks(self) -> Any:
        """The events that python-multipart's parser tells."""
        names = (
            "part_begin part_data part_end header_field header_value header_end "
            "headers_finished end"
        )
        return {f"on_{name}": getattr(self, f"_on_{name}") for name in names.split()}

    def _on_part_begin(self) -> None:
        self._headers.clear()
        self._data = bytearray()

    def _on_header_field(self, data: bytes, start: int, end: int) -> None:
        self._header += data[start:end]

    def _on_header_value(self, data: bytes, start: int, end: int) -> None:
        self._value += data[start:end]
        if len(self._value) + len(self._header) > 4096:
            raise Refusal(400, "the form arrived broken", "send it again")

    def _on_header_end(self) -> None:
        self._headers[bytes(self._header).lower()] = bytes(self._value)
        self._header, self._value = bytearray(), bytearray()
        if len(self._headers) > 12:
            raise Refusal(400, "the form arrived broken", "send it again")

    def _on_headers_finished(self) -> None:
        _, options = parse_options_header(self._headers.get(b"content-disposition", b""))
        self._name = options.get(b"name", b"").decode(errors="replace")
        self._is_file = b"filename" in options
        if len(self.form.fields) >= FIELDS:
            raise Refusal(400, "the form has too many fields", "use the form on the page")

    def _on_part_data(self, data: bytes, start: int, end: int) -> None:
        self._data += data[start:end]
        most = self._limits.file_bytes if self._is_file else self._limits.text_bytes
        if len(self._data) > most:
            raise Refusal(413, "one photo is too large", f"send photos below {most // 10**6} MB")

    def _on_part_end(self) -> None:
        data = bytes(self._data)
        self._data = bytearray()
        if not self._is_file:
            self.form.fields[self._name] = data.decode(errors="replace")
            return
        if not data:  # a file field that was left empty
            return
        if not looks_like_photo(data):
            raise Refusal(415, "one file is not a photo", PHOTO_WANTED)
        if len(self.form.files) >= self._limits.photos:
            raise Refusal(413, "too many photos of one part", f"send {self._limits.photos} at most")
        self.form.files.append(data)

    def _on_end(self) -> None:
        self.ended = True
