"""Frames as clips, coded as phones code them.

Needs PyAV (`av`, of the `train` extra) or, for H.264 into Matroska, the program x264 on PATH.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from reader.errors import EngineError
from reader.records import Pixels

TICKS = 60_000  # a second, of a clip's own clock
RATE = 17_000_000  # bits a second at 1920 x 1080 and 30 frames, as phones write (common practice)


def encode(
    path: Path,
    frames: Iterable[Pixels],
    fps: float,
    codec: str = "libx264",
    bits: int = RATE,
    options: dict[str, str] | None = None,
    times: Iterable[float] | None = None,
    turned: int = 0,
    tint: tuple[int, int] = (128, 128),
) -> None:
    """Write a clip.

    Args:
        path: its suffix names the container.
        frames: RGB or grey, uint8, all of one even size.
        fps: frames a second.
        codec: an encoder of PyAV's: libx264, libx265, libvpx-vp9.
        bits: a second.
        options: of the encoder.
        times: seconds of each frame; evenly by default.
        turned: degrees that a player must turn the picture by, as a rotation flag.
        tint: blue and red difference of grey frames, 128 for none.
    """
    import av

    clock = iter(times) if times is not None else None
    with av.open(str(path), "w") as container:
        stream: Any = None
        for number, frame in enumerate(frames):
            if stream is None:
                stream = container.add_stream(codec, rate=Fraction(fps).limit_denominator(1001))
                stream.height, stream.width = frame.shape[:2]
                stream.pix_fmt, stream.bit_rate = "yuv420p", bits
                stream.options = options or {"preset": "veryfast"}
                stream.codec_context.time_base = Fraction(1, TICKS)
                if turned:
                    stream.set_display_rotation(-turned)
            shown = av.VideoFrame.from_ndarray(
                *((_planes(frame, tint), "yuv420p") if frame.ndim == 2 else (frame, "rgb24"))
            )
            seconds = next(clock) if clock is not None else number / fps
            shown.pts, shown.time_base = round(seconds * TICKS), Fraction(1, TICKS)
            for packet in stream.encode(shown):
                container.mux(packet)
        if stream is not None:
            for packet in stream.encode():
                container.mux(packet)


def encode_plainly(folder: Path, frames: Iterable[Pixels], fps: float) -> Path:
    """Write grey frames as H.264 at RATE, with whatever can: PyAV, or the program x264.

    Returns:
        The clip: `sweep.mp4`, or `sweep.mkv` by the program.

    Raises:
        EngineError: neither is there, or the program failed.
    """
    if _has_pyav():
        path = folder / "sweep.mp4"
        encode(path, frames, fps)
        return path
    program = shutil.which("x264")
    if program is None:
        raise EngineError("nothing here codes H.264", "install PyAV, or put x264 on PATH")
    path = folder / "sweep.mkv"
    process: subprocess.Popen[bytes] | None = None
    for frame in frames:
        process = process or _started(program, path, frame.shape, fps)
        assert process.stdin is not None
        process.stdin.write(_planes(frame, (128, 128)).tobytes())
    if process is None or process.communicate()[0] or process.returncode:
        raise EngineError("x264 failed", "try it by hand on a few frames")
    return path


def _has_pyav() -> bool:
    try:
        import av  # noqa: F401
    except ImportError:
        return False
    return True


def _started(
    program: str, path: Path, shape: tuple[int, ...], fps: float
) -> subprocess.Popen[bytes]:
    height, width = shape[:2]
    words = [
        *("--demuxer", "raw", "--input-res", f"{width}x{height}", "--fps", f"{fps:g}"),
        *("--preset", "veryfast", "--bitrate", str(RATE // 1000), "--threads", "1"),
        *("--log-level", "error", "--no-progress"),
        *("-o", str(path), "-"),
    ]
    return subprocess.Popen([program, *words], stdin=subprocess.PIPE)


def _planes(grey: Pixels, tint: tuple[int, int]) -> Pixels:
    """Grey as the three planes of 4:2:0, one below the other."""
    height, width = grey.shape
    out = np.empty((height * 3 // 2, width), np.uint8)
    out[:height] = grey
    quarter = height // 4
    out[height : height + quarter], out[height + quarter :] = tint
    return out
