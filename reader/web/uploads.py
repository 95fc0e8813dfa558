"""Forms and files from visitors, with every limit kept while the bytes still stream in.

Files stay in memory and go to a reading process; their names are never looked at. A file's type is
told by its first bytes only.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncGenerator, AsyncIterator, Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from urllib.parse import parse_qsl

from python_multipart.multipart import parse_options_header
from starlette.datastructures import FormData
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.requests import ClientDisconnect, Request

from reader.photo.formats import NAMES, format_of, is_animated, is_video
from reader.web.refusals import Refusal
from reader.web.security import same_token
from reader.web.settings import Limits

FIELDS = 60
BROKEN = Refusal(400, "the form arrived broken", "send it again")
PHOTO_WANTED = f"send a photo as {NAMES}, or a clip as MP4, MOV or WebM"


@dataclass
class Form:
    """What was sent: plain fields, and the bytes of the files."""

    fields: dict[str, str] = field(default_factory=dict)
    files: list[bytes] = field(default_factory=list)

    def text(self, name: str, most: int = 200) -> str:
        """A field without surrounding space; empty if absent.

        Raises:
            Refusal: it is longer than `most` letters. Nothing is cut off in silence.
        """
        text = self.fields.get(name, "").strip()
        if len(text) > most:
            remedy = f"{most} letters are the most"
            raise Refusal(422, f"{text[:20]!r} and so on is too long", remedy)
        return text


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

    @contextmanager
    def account(self) -> Iterator[Callable[[int], None]]:
        """Takes bytes with the function given, and gives all of them back at the end."""
        taken = 0

        def take(count: int) -> None:
            nonlocal taken
            self.take(count)
            taken += count

        try:
            yield take
        finally:
            self.held -= taken


async def read_form(request: Request) -> Form:
    """Read the body of a POST and check the form's token.

    Raises:
        Refusal: too large, too slow, broken, not a photo, or without the session's token.
    """
    limits: Limits = request.app.state.settings.limits
    kind, options = parse_options_header(request.headers.get("content-type", ""))
    if kind == b"multipart/form-data":
        if not 0 < len(options.get(b"boundary", b"")) <= 200:
            raise BROKEN
        form = await _read_multipart(request, limits)
    elif kind in (b"application/x-www-form-urlencoded", b""):
        form = await _read_plain(request, limits)
    else:
        raise Refusal(415, "this kind of form is not known", "use the form on the page")
    _check_token(request, form)
    return form


def _check_token(request: Request, form: Form) -> None:
    if request.state.trusted:
        return
    if not same_token(form.fields.pop("token", ""), request.state.token):
        raise Refusal(403, "this form is too old", "go back, load the page again and resend it")


async def _read_plain(request: Request, limits: Limits) -> Form:
    body = bytearray()
    async for chunk in chunks(request, limits, limits.text_bytes):
        body += chunk
    try:
        pairs = parse_qsl(body.decode(), keep_blank_values=True, max_num_fields=FIELDS)
    except ValueError as error:
        raise BROKEN from error
    return Form(dict(pairs))


async def _read_multipart(request: Request, limits: Limits) -> Form:
    """Starlette's parser, fed under our limits; files stay in memory."""
    ledger: Ledger = request.app.state.ledger
    with ledger.account() as take:
        parser = Whole(
            request.headers,
            _counted(request, limits, take),
            max_files=limits.photos,
            max_fields=FIELDS,
            max_part_size=limits.text_bytes,
        )
        parser.spool_max_size = limits.form_bytes
        try:
            found = await parser.parse()
        except MultiPartException as error:
            if error.message.startswith("Too many files"):
                remedy = f"send {limits.photos} at most"
                raise Refusal(413, "too many photos of one part", remedy) from error
            raise BROKEN from error
        if not parser.ended:
            raise Refusal(400, "the upload stopped half-way", "send it again")
        return await _sorted_out(found, limits)


class Whole(MultiPartParser):
    """Knows whether the last boundary came, so that half an upload is not taken for a whole one."""

    ended = False

    def on_end(self) -> None:
        """The last boundary was read."""
        self.ended = True


async def _counted(
    request: Request, limits: Limits, take: Callable[[int], None]
) -> AsyncGenerator[bytes, None]:
    async for chunk in chunks(request, limits, limits.form_bytes):
        take(len(chunk))
        yield chunk


async def _sorted_out(found: FormData, limits: Limits) -> Form:
    """Fields and files apart; every file looked at."""
    form = Form()
    for name, value in found.multi_items():
        if isinstance(value, str):
            form.fields[name] = value
            continue
        data = await value.read()
        await value.close()
        if data:  # a file field that was left empty brings none
            check_photo(data[:64], len(data), limits)
            form.files.append(data)
    return form


def check_photo(head: bytes, size: int, limits: Limits) -> None:
    """Look at a file's first bytes and its size.

    Raises:
        Refusal: it is no photo, or too large.
    """
    clip = is_video(head) or is_animated(head)
    most = limits.clip_bytes if clip else limits.file_bytes
    if size > most:
        what = "clips" if clip else "photos"
        remedy = f"send {what} below {most // 10**6} MB"
        raise Refusal(413, "one of the files is too large", remedy)
    if not clip and format_of(head) is None:
        raise Refusal(415, "one file is not a photo", PHOTO_WANTED)


async def chunks(request: Request, limits: Limits, most: int) -> AsyncIterator[bytes]:
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
