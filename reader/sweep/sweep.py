"""One sweep, frame by frame: `add` frames, `finish` with the answer."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from reader.errors import EngineError
from reader.ocr import engine
from reader.photo.rectify import flip, straighten
from reader.pipeline import Settings
from reader.records import Floats, Hypothesis, PartKind, Photo, Pixels, Reading, Region
from reader.resolve.resolve import resolve
from reader.sweep import hints
from reader.sweep.fuse import Fitted, Fused, fuse
from reader.sweep.mosaic import Album, Kept
from reader.sweep.motion import Matrix, Motion, moved, scale_at
from reader.sweep.quality import Quality, judge
from reader.sweep.records import SeenLine, SweepState
from reader.sweep.tracks import Look, Track, is_same, letters_of, light_look, seen_in
from reader.sweep.trust import assured, is_done
from reader.tables import load_tables

WHOLE_EVERY = 8  # looks between two at a frame's own size
QUICK_EVERY = 3  # looks between two of the finder at all
MOST_STRIPS = 6  # lines read in one frame
PADS = (0.25, 0.36, 0.18)  # lines are cut a little higher and lower: letters vote
WORD = 0.9  # mean certainty from which a line without digits is a plain word
POOR = 0.55  # of the best sharpness so far, below which a frame is not read
BETWEEN = 200.0  # pixels between the mosaics of two segments


class Sweep:
    """Frames of ONE part in the order in which they were taken, and what they say together.

    `tracks` are the lines followed so far, `outlines` the frames of each segment on its mosaic.
    """

    def __init__(
        self, settings: Settings | None = None, part: PartKind = "unknown", name: str = "sweep"
    ) -> None:
        self.settings = settings or Settings()
        self.part, self.name = part, name
        self._motion = Motion()
        self.tracks: list[Track] = []
        self.outlines: dict[int, list[Floats]] = {}  # of the frames, on each segment's mosaic
        self._looks = self._frames = 0
        self._whole = -WHOLE_EVERY
        self._best = 0.0
        self._seconds = 0.0
        self._fused: list[Fused] = []
        self._state = SweepState()
        self._before: list[tuple[Floats, float]] = []
        self._album = Album()

    @property
    def state(self) -> SweepState:
        """What is known so far."""
        return self._state

    def add(self, frame: Pixels, seconds: float | None = None) -> SweepState:
        """Look at one more frame.

        Args:
            frame: RGB (H x W x 3) or grey (H x W), uint8, upright.
            seconds: when it was taken; now by default.

        Returns:
            What is known so far, with hints for whoever holds the phone.
        """
        began = time.perf_counter()
        seconds = time.monotonic() if seconds is None else seconds
        grey = frame if frame.ndim == 2 else cv2.cvtColor(frame, cv2.COLOR_RGB2GRAY)
        photo = Photo(self.name, np.asarray(grey, np.uint8), self.part)
        quality = judge(photo.pixels)
        self._frames += 1
        self._best = max(self._best * 0.98, quality.usable)
        use = quality.usable >= POOR * self._best or not self._looks
        if use:
            self._read(photo, seconds)
            self._album.offer(frame, quality.usable, self._motion.segment, self._to_mosaic, seconds)
            self._conclude()
        self._seconds += time.perf_counter() - began
        self._tell(photo, quality, use)
        return self._state

    def finish(self) -> Reading:
        """The answer of all frames together.

        Raises:
            EngineError: no engine works.
        """
        from reader.sweep.settle import settle

        began = time.perf_counter()
        reading = settle(self)
        self._seconds += time.perf_counter() - began
        reading = replace(reading, photos=(self.name,), seconds=self._seconds)
        self._state = replace(self._state, reading=reading)
        return reading

    # --- reading one frame

    def _read(self, photo: Photo, seconds: float) -> None:
        to_mosaic = self._motion.step(photo.pixels, self._before)
        self._to_mosaic = to_mosaic
        segment = self._motion.segment
        high, wide = photo.shape
        corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float32)
        self.outlines.setdefault(segment, []).append(moved(corners, to_mosaic))
        self._find(photo, to_mosaic)
        self._look_at(photo, to_mosaic, seconds)
        self._looks += 1

    def _here(self) -> list[Track]:
        return [track for track in self.tracks if track.segment == self._motion.segment]

    def _find(self, photo: Photo, to_mosaic: Matrix) -> None:
        """Run the finder where it is due, and know again the lines that it sees."""
        from reader.detect.trace import glance

        here = self._here()
        promising = [track for track in here if _digits(track) >= 3]
        whole = self._looks - self._whole >= (WHOLE_EVERY if promising else WHOLE_EVERY // 2)
        whole = whole or not here
        if not whole and self._looks % QUICK_EVERY:
            return
        if whole:
            self._whole = self._looks
        for line in glance(photo, whole):
            curve = moved(line.region.centreline, to_mosaic)
            height = line.region.height * scale_at(line.region.centreline, to_mosaic)
            known = next((track for track in here if is_same(curve, height, track)), None)
            if known is not None:
                known.meet(curve, height, self._looks)
            else:
                track = Track(self._motion.segment, curve, height, self._looks, line.is_open)
                self.tracks.append(track)
                here.append(track)

    def _look_at(self, photo: Photo, to_mosaic: Matrix, seconds: float) -> None:
        """Read the promising lines of this frame."""
        wanted: list[tuple[Track, bool, Region]] = []
        self._before = []
        order = sorted(self._here(), key=self._promise, reverse=True)
        for track in order:
            region = seen_in(track, to_mosaic, photo)
            if region is None:
                continue
            if track.is_lettering:
                self._before.append((region.centreline, region.height))
            if len({id(one) for one, _, _ in wanted}) >= MOST_STRIPS or self._is_told(track):
                continue
            ways = (track.straight,) if track.way_is_known else (True, False)
            wanted += [(track, way, region if way else flip(region)) for way in ways]
        pad = PADS[self._looks % len(PADS)]
        strips = [straighten(region, pad=pad) for _, _, region in wanted]
        for (track, way, _), seen in zip(wanted, self._run(strips), strict=False):
            seen = light_look(seen)
            letters = letters_of(seen, to_mosaic, 1.0)
            track.add(Look(self._looks, seconds, seen, letters, to_mosaic), way)

    def _run(self, strips: Sequence) -> list[Hypothesis]:
        if not strips:
            return []
        try:
            return engine("moulded").read(strips)
        except EngineError:
            if self.settings.engines == ("moulded",):
                raise
            return []

    def _promise(self, track: Track) -> tuple[int, int, float]:
        """Digits first, then what was not read yet, then large lines."""
        return min(_digits(track), 4), -len(track.looks), track.height

    def _is_told(self, track: Track) -> bool:
        """Whether a line was read often enough: a plain word, or nothing at all."""
        best = track.best
        if best is None or track.fresh > 0 or _digits(track) > 2:
            return False
        return (self._looks - track.found) % 6 != 0 or best.hypothesis.score >= WORD

    # --- what it comes to

    def _conclude(self) -> None:
        self._fused = self.fused()
        markings = [m for one in self._fused for m in one.markings]
        reading = resolve(markings, self.part, load_tables(), self.settings.market)
        reading = assured(reading, self._fused)
        done = is_done(reading, self._fused)
        self._state = replace(self._state, reading=reading, done=done, looks=self._looks)

    def fused(self, painted: bool = False, numbers: Fitted | None = None) -> list[Fused]:
        """Each line's voted reading, of all segments, with `painted` on a picture of the sweep."""
        shifts, size = self.places()
        pixels = self._album.painted(shifts, size) if painted else None
        if pixels is None:
            pixels = np.broadcast_to(np.zeros(1, np.uint8), (*size, 3))
        canvas = Photo(self.name, pixels, self.part)
        out: list[Fused] = []
        for segment, shift in shifts.items():
            tracks = [track for track in self.tracks if track.segment == segment]
            out += fuse(tracks, canvas, shift, numbers)
        return out

    def sharpest(self, count: int) -> list[Kept]:
        """The sharpest of the frames kept, which are of different places."""
        return sorted(self._album.frames, key=lambda kept: -kept.usable)[:count]

    def places(self) -> tuple[dict[int, Floats], tuple[int, int]]:
        """Where each segment's mosaic lies on one canvas, side by side, and the canvas' size."""
        shifts: dict[int, Floats] = {}
        left, high = 0.0, 1
        for segment, outlines in sorted(self.outlines.items()):
            corners = np.vstack(outlines)
            low, top = corners.min(0), corners.max(0)
            shifts[segment] = np.array([left - low[0], -low[1]], np.float32)
            left += float(top[0] - low[0]) + BETWEEN
            high = max(high, int(np.ceil(top[1] - low[1])))
        return shifts, (high, max(1, int(np.ceil(left))))

    def _tell(self, photo: Photo, quality: Quality, use: bool) -> None:
        lines = []
        if use:
            texts = {id(one.track): one for one in self._fused}
            for track in self._here():
                region = seen_in(track, self._to_mosaic, photo)
                if region is not None and id(track) in texts:
                    lines.append(_drawn(region, texts[id(track)]))
        found = hints.hints(quality, self._best, lines, self._state, photo.shape, self._here())
        self._state = replace(
            self._state, frames=self._frames, lines=tuple(lines), hints=found, used=use
        )


def _digits(track: Track) -> int:
    best = track.best
    return 0 if best is None else sum(char.isdigit() for char in best.hypothesis.text)


def _drawn(region: Region, one: Fused) -> SeenLine:
    from reader.markings import MEASURES
    from reader.photo.rectify import locate_in_photo
    from reader.records import Strip

    outline = locate_in_photo(Strip(region, np.zeros((1, 1), np.uint8)))
    size = any(m.notation in MEASURES and m.cost <= 2.0 for m in one.markings)
    return SeenLine(outline, one.hypothesis.text, size)
