"""Models and tables are what they should be, or one line says which is not."""

import hashlib
import shutil
from pathlib import Path

import numpy as np
import pytest

from reader import checksums, pipeline
from reader.cli import read_run
from reader.errors import EngineError
from reader.ocr import moulded, stamp
from reader.records import Photo
from reader.web import serving
from reader.web.settings import PageSettings

SAMPLE = Path(__file__).parents[1] / "samples" / "printed-120.jpg"


def test_the_list_names_the_packaged_models_as_they_are() -> None:
    """`python -m reader.checksums` writes it anew after a model was exported."""
    listed = dict(line.split("  ")[::-1] for line in checksums.LISTED.read_text().splitlines())
    assert set(listed) == set(checksums.MODELS)
    for name, digest in listed.items():
        assert hashlib.sha256((checksums.DATA / name).read_bytes()).hexdigest() == digest
    assert list(checksums.troubles()) == []


def test_a_damaged_or_missing_file_is_told_in_one_line(tmp_path, monkeypatch) -> None:
    for name in checksums.MODELS:
        shutil.copy(checksums.DATA / name, tmp_path)
    path = tmp_path / "moulded.onnx"
    known = {path: checksums.sha256(path)}
    monkeypatch.setattr(checksums, "_own", lambda: known)
    assert checksums.assure(path) == known[path]
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    with pytest.raises(EngineError, match="moulded.onnx is damaged: install it again: pip") as told:
        checksums.assure(path)
    assert told.value.exit_code == 5 and "\n" not in str(told.value)
    path.unlink()
    with pytest.raises(EngineError, match="moulded.onnx is missing: install it again"):
        checksums.assure(path)


def test_without_our_model_nothing_is_read_at_all(monkeypatch, tmp_path) -> None:
    """The other engines alone would tell a size where there is none."""
    monkeypatch.setattr(moulded, "MODEL", tmp_path / "moulded.onnx")
    page = PageSettings(str(tmp_path / "c.db"), tmp_path / "photos", tmp_path / "bench")
    photo = Photo("grey", np.full((60, 80, 3), 128, np.uint8))
    for way in (
        lambda: stamp.assure_ready(("moulded", "scene", "tesseract")),
        lambda: read_run.run(read_run.Wishes((SAMPLE,))),
        lambda: pipeline.read([photo]),
        lambda: serving.ready(serving.plan(False, "", 0, []), page),
    ):
        with pytest.raises(EngineError, match="moulded.onnx is missing"):
            way()
    assert pipeline.read([photo], pipeline.Settings(engines=("tesseract",))).markings == ()


def test_what_a_wheel_records_is_found() -> None:
    """RECORD of an installed package (PyPA: recording installed projects) names each model."""
    models = [path for path in checksums.recorded("rapidocr") if path.suffix == ".onnx"]
    assert models and all(len(digest) == 64 for digest in checksums.recorded("rapidocr").values())
    assert checksums.assure(models[0], "rapidocr")


def test_a_stamp_tells_engines_models_tables_and_libraries() -> None:
    made = stamp.stamp(("moulded",))
    assert made["engine moulded"] == checksums.sha256(moulded.MODEL)[:16]
    assert {"finder", "tables", "numpy", "onnxruntime"} <= set(made)
    assert stamp.difference(made, made) == ""
    assert stamp.difference(made, {}) != ""
