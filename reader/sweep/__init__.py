"""A moving phone sees what a still does not: clips, bursts and live frames of ONE part, as one.

`sweep.Sweep` takes frames one by one and says after each what is known so far; `clip.frames`
decodes files. Frames are chosen (`choose`), followed by homography (`motion`), lines known again
from frame to frame (`tracks`), their letters voted (`vote`) and scored by the grammar (`fuse`).
"""

from reader.sweep.clip import Clip, is_clip
from reader.sweep.read import read_clips, read_sources

__all__ = ["Clip", "is_clip", "read_clips", "read_sources"]
