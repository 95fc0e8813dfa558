"""How many processor cores a reader may use, and how the packaged models are opened on them."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

VARIABLE = "TYREMARK_THREADS"


def cores() -> int:
    """Cores for one reader: TYREMARK_THREADS, else all that this process may use."""
    told = os.environ.get(VARIABLE, "")
    if told.isdigit() and int(told) > 0:
        return int(told)
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def onnxruntime() -> Any:
    """The library that runs the models, told to record and send nothing (see `reader`)."""
    import onnxruntime

    onnxruntime.disable_telemetry_events()
    return onnxruntime


def open_model(path: Path, threads: int, owner: str = "tyremark", arena: bool = True) -> Any:
    """An onnxruntime session for a model, on `threads` cores of the processor.

    Args:
        path: the model.
        threads: cores to use.
        owner: the package that brings it.
        arena: whether memory is kept between runs; where widths vary much, it would keep the
            largest of each.

    Raises:
        EngineError: the model is missing or damaged.
    """
    from reader.checksums import assure

    assure(path, owner)
    ort = onnxruntime()
    options = ort.SessionOptions()
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    options.enable_mem_pattern = False  # sizes vary from run to run
    options.enable_cpu_mem_arena = arena
    options.log_severity_level = 3
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")  # waiting costs cores
    return ort.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
