"""Whether models and tables are whole: SHA-256 of each file, worked out once a process.

What a file should be stands in the installed package's RECORD (PyPA, 'Recording installed
projects'), which names every file of a wheel; of the packaged models also in `data/checksums.txt`,
since a check-out has no RECORD. `python -m reader.checksums` writes that file anew.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path

from reader.errors import EngineError

DATA = Path(__file__).parent / "data"
LISTED = DATA / "checksums.txt"  # as `sha256sum` writes and checks it
MODELS = ("finder.onnx", "moulded.onnx")
CHECKED = (".onnx", ".csv", ".json", ".ort", ".txt")  # suffixes; prose may be touched
AGAIN = "install it again: pip install --force-reinstall --no-deps {}"


def sha256(path: Path) -> str:
    """The file's SHA-256 in hexadecimal; not worked out again while size and time stay.

    Raises:
        OSError: it can't be read.
    """
    status = path.stat()
    return _sha256(path, status.st_size, status.st_mtime_ns)


@lru_cache(maxsize=256)
def _sha256(path: Path, size: int, mtime_ns: int) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


@lru_cache(maxsize=8)
def recorded(package: str) -> Mapping[Path, str]:
    """What the installed package's RECORD says of its models and tables: path -> SHA-256."""
    from importlib.metadata import PackageNotFoundError, distribution

    try:
        files = distribution(package).files or []
    except PackageNotFoundError:
        return {}
    found = {}
    for file in files:
        if file.suffix in CHECKED and file.hash is not None and file.hash.mode == "sha256":
            padded = file.hash.value + "=" * (-len(file.hash.value) % 4)
            found[Path(str(file.locate()))] = base64.urlsafe_b64decode(padded).hex()
    return found


@lru_cache(maxsize=1)
def _own() -> Mapping[Path, str]:
    """What our models and tables should be: path -> SHA-256."""
    lines = LISTED.read_text(encoding="ascii").splitlines() if LISTED.is_file() else []
    listed = {DATA / name: digest for digest, name in (line.split("  ") for line in lines)}
    ours = {path: digest for path, digest in recorded("tyremark").items() if path.parent == DATA}
    return {**listed, **ours}


def assure(path: Path, package: str = "tyremark") -> str:
    """The SHA-256 of a model or table that is there and whole.

    Raises:
        EngineError: it is missing, can't be read, or is not what the package brought.
    """
    try:
        digest = sha256(path)
    except OSError as error:
        what = "is missing" if isinstance(error, FileNotFoundError) else "can't be read"
        raise EngineError(f"{path} {what}", AGAIN.format(package)) from error
    known = _own() if package == "tyremark" else recorded(package)
    if known.get(path, digest) != digest:
        raise EngineError(f"{path} is damaged", AGAIN.format(package))
    return digest


def troubles() -> Iterator[EngineError]:
    """Our own models and tables that are missing or damaged."""
    expected = {*_own(), *DATA.glob("*.csv"), *(DATA / name for name in MODELS)}
    for path in sorted(expected):
        try:
            assure(path)
        except EngineError as error:
            yield error


def assure_tables() -> None:
    """Make sure of all tables that the package brought.

    Raises:
        EngineError: one is missing or damaged.
    """
    for path in _own():
        if path.suffix != ".onnx":
            assure(path)


def digest_of_tables() -> str:
    """One SHA-256 for all tables together; readings by the same tables and models are alike."""
    state = hashlib.sha256()
    for path in sorted([*DATA.glob("*.csv"), *DATA.glob("*.json")]):
        state.update(f"{path.name} {assure(path)}\n".encode())
    return state.hexdigest()


def write() -> None:
    """Write `data/checksums.txt` anew, after a model was exported."""
    lines = [f"{sha256(path)}  {path.name}\n" for path in (DATA / name for name in MODELS)]
    LISTED.write_text("".join(lines), encoding="ascii")


if __name__ == "__main__":
    write()
