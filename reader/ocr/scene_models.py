"""The PP-OCRv6 small models, as files of the `rapidocr` wheel, opened with onnxruntime.

The wheel's own code is never imported: only its two model files are used. Weights: PaddleOCR
project, Apache-2.0; the wheel's MODEL_LICENSES.md names origin and checksums.
"""

from __future__ import annotations

import os
from functools import lru_cache
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from reader.checksums import assure
from reader.errors import EngineError
from reader.language import N_
from reader.threads import cores, open_model

PACKAGE = "rapidocr"
FINDER = "PP-OCRv6_det_small.onnx"
RECOGNISER = "PP-OCRv6_rec_small.onnx"


def model_path(file: str) -> Path:
    """Where the wheel put a model file.

    Raises:
        EngineError: the wheel is not installed, or has no such file.
    """
    spec = find_spec(PACKAGE)  # finds the folder without running the package
    folders = list(spec.submodule_search_locations or ()) if spec else []
    for folder in folders:
        path = Path(folder) / "models" / file
        if path.is_file():
            return path
    raise EngineError(
        f"the scene engine's model {file} is missing", f"run: pip install {PACKAGE}==3.10.0"
    )


def session(file: str) -> Any:
    """An open onnxruntime session of this process; opened once, shared by all who ask."""
    return _session(file, os.getpid())


@lru_cache(maxsize=8)
def _session(file: str, process: int) -> Any:
    """`process` is in the key because a session inherited through a fork hangs."""
    path = model_path(file)
    try:
        return open_model(path, cores(), PACKAGE, arena=False)
    except EngineError:
        raise
    except Exception as error:  # onnxruntime has no common base class for its errors
        raise EngineError(
            f"the scene engine's model {file} can't be opened ({error})",
            f"reinstall it: pip install --force-reinstall {PACKAGE}==3.10.0",
        ) from error


def fingerprint() -> str:
    """The two models' checksums.

    Raises:
        EngineError: the wheel or one of its model files is missing or damaged.
    """
    return " ".join(assure(model_path(file), PACKAGE)[:16] for file in (FINDER, RECOGNISER))


def describe() -> str:
    """Model, wheel and runtime with their versions, in one line.

    Raises:
        EngineError: the wheel or one of its model files is missing.
    """
    fingerprint()
    runtime = version("onnxruntime")
    own = version(PACKAGE)
    return N_(f"PP-OCRv6 small, from the wheel {PACKAGE} {own}, by onnxruntime {runtime}")
