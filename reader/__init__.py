"""tyremark: from a photo of a bicycle tyre or rim to its ISO 5775 size."""

import os

from reader.errors import ReaderError
from reader.records import Reading, Size, Verdict

__all__ = ["Reading", "ReaderError", "Size", "Verdict"]

# onnxruntime from 1.29 on records how it is used and sends that off, unless its environment says no
# when it is loaded. Every process of ours comes by here first, and hands this to those it starts.
os.environ["ORT_DISABLE_TELEMETRY"] = "1"
