"""tyremark: from a photo of a bicycle tyre or rim to its ISO 5775 size."""

from reader.errors import ReaderError
from reader.records import Reading, Size, Verdict

__all__ = ["Reading", "ReaderError", "Size", "Verdict"]
