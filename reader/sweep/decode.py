"""The process in which clips are decoded: a stranger's file in, chosen frames out.

Started by `clip`, for one file. It is told by one line of JSON what to open; it answers with lines
of JSON, each frame's followed by its pixels (RGB, uint8). It judges every frame and passes on the
sharpest of each stretch of time, so that a clip costs what a few stills do.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from contextlib import suppress
from typing import IO, Any

MOST_MEMORY = 1800 * 2**20  # address space, bytes: HEVC at 3840 x 2160 on two threads took 1.3 GB
LARGEST_PIXELS = 9_500_000  # 4096 x 2304
LONGEST_SIDE = 2560  # larger frames are shrunk to this
# No playlists, no addresses, no files named inside a file; and only what phones write.
OPTIONS = (
    "protocol_whitelist;file"
    "|format_whitelist;mov,mp4,m4a,3gp,3g2,mj2,matroska,webm"
    "|codec_whitelist;h264,hevc,vp9,vp8,av1,libdav1d"
)


def serve() -> None:
    """Decode the one clip that the first line of input names."""
    source, sink = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a decoder prints must not get among the answers
    _limit()
    os.environ["OPENCV_FFMPEG_CAPTURE_OPTIONS"] = OPTIONS
    request = json.loads(source.readline())
    with suppress(BrokenPipeError):
        try:
            many = _pictures if request["animated"] else _video
            for head, frame in many(request):
                _send(sink, head, frame)
        except MemoryError:
            _send(sink, {"error": "memory"}, None)
        except Exception as error:  # decoders raise nearly anything on damaged files
            _send(sink, {"error": "damaged", "why": type(error).__name__}, None)


def _limit() -> None:
    with suppress(ImportError, ValueError, OSError):  # Windows knows no such limits
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))


def _send(sink: IO[bytes], head: dict[str, Any], frame: Any) -> None:
    if frame is not None:
        head = {**head, "rows": frame.shape[0], "columns": frame.shape[1]}
    sink.write(json.dumps(head).encode() + b"\n")
    if frame is not None:
        sink.write(memoryview(frame).cast("B"))
    sink.flush()


Sent = tuple[dict[str, Any], Any]


def _video(request: dict[str, Any]) -> Iterator[Sent]:
    """Frames of a clip: the sharpest of each stretch, then how it ended."""
    import cv2

    from reader.sweep.choose import Chooser

    cv2.setNumThreads(1)
    wanted = [cv2.CAP_PROP_N_THREADS, 1]
    video = cv2.VideoCapture(request["path"], cv2.CAP_FFMPEG, wanted)
    if not video.isOpened():
        yield {"error": "unknown"}, None
        return
    fps, count = video.get(cv2.CAP_PROP_FPS), video.get(cv2.CAP_PROP_FRAME_COUNT)
    seconds = count / fps if fps > 0 and 0 < count < 1e6 else 0.0
    chooser = Chooser(min(seconds, request["seconds"]), request["looks"])
    number, last, cut = 0, -1.0, False
    while video.grab():
        at = video.get(cv2.CAP_PROP_POS_MSEC) / 1000
        at = at if at > last else last + 1 / (fps if 1 <= fps <= 240 else 30)
        last, number = at, number + 1
        if at > request["seconds"]:
            cut = True
            break
        good, frame = video.retrieve()
        if not good or frame is None:
            continue
        if frame.shape[0] * frame.shape[1] > LARGEST_PIXELS:
            yield {"error": "large", "size": [frame.shape[1], frame.shape[0]]}, None
            return
        for when, chosen in chooser.offer(at, frame):
            yield {"seconds": when}, _ready(chosen)
    for when, chosen in chooser.rest():
        yield {"seconds": when}, _ready(chosen)
    missing = not cut and count > 0 and number < 0.9 * count and seconds <= request["seconds"]
    yield {"end": True, "frames": number, "cut": cut, "missing": missing}, None


def _ready(frame: Any) -> Any:
    """RGB, at most LONGEST_SIDE."""
    import cv2

    scale = LONGEST_SIDE / max(frame.shape[:2])
    if scale < 1:
        frame = cv2.resize(frame, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return cv2.cvtColor(frame, cv2.COLOR_BGR2RGB)


def _pictures(request: dict[str, Any]) -> Iterator[Sent]:
    """Frames of an animated picture, or the pictures of a burst in one file."""
    import numpy as np
    import pi_heif
    from PIL import Image, ImageOps, ImageSequence

    from reader.sweep.choose import Chooser

    pi_heif.register_heif_opener()
    Image.MAX_IMAGE_PIXELS = LARGEST_PIXELS * 2
    with Image.open(request["path"], formats=("WEBP", "HEIF")) as image:
        if image.width * image.height > LARGEST_PIXELS * 6:
            yield {"error": "large", "size": list(image.size)}, None
            return
        count = int(getattr(image, "n_frames", 1))
        chooser = Chooser(count * 0.1, request["looks"])
        at, number = 0.0, 0
        for page in ImageSequence.Iterator(image):
            if at > request["seconds"]:
                break
            frame = np.asarray(ImageOps.exif_transpose(page).convert("RGB"))[..., ::-1]
            for when, chosen in chooser.offer(at, np.ascontiguousarray(frame)):
                yield {"seconds": when}, _ready(chosen)
            at += max(0.02, float(page.info.get("duration", 100) or 100) / 1000)
            number += 1
        for when, chosen in chooser.rest():
            yield {"seconds": when}, _ready(chosen)
    yield {"end": True, "frames": number, "cut": number < count, "missing": False}, None
