"""Fetch font packages with the npm and apt clients, and say where their files lie.

Packages come by name and, once chosen, by version; nothing is run from them.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterable, Mapping
from pathlib import Path

from reader.errors import InputError

_OPEN_WORDS = (
    "ofl", "sil-1.1", "sil_open", "sil open", "apache", "mit", "expat", "bsd", "gpl", "ufl", "cc0",
    "cc-by", "public-domain", "unlicense", "gust", "artistic", "bitstreamvera", "madduck-special",
)  # fmt: skip


def fetch_npm(packages: Mapping[str, str], work: Path) -> None:
    """Install npm packages (name -> version, '' for the newest) into `work/node_modules`.

    Raises:
        InputError: the npm client is missing or refuses.
    """
    work.mkdir(parents=True, exist_ok=True)
    wanted = [f"{n}@{v}" if v else n for n, v in packages.items() if npm_version(n, work) != v]
    if not (work / "package.json").exists():
        (work / "package.json").write_text('{"name": "font-packages", "private": true}')
    for start in range(0, len(wanted), 100):
        command = ["npm", "install", "--ignore-scripts", "--no-audit", "--no-fund", "--silent"]
        _run([*command, *wanted[start : start + 100]], work)


def npm_folder(package: str, work: Path) -> Path:
    """Folder of an installed npm package."""
    return work / "node_modules" / package


def npm_version(package: str, work: Path) -> str | None:
    """Version of an installed npm package, `None` if it is not there."""
    manifest = npm_folder(package, work) / "package.json"
    return json.loads(manifest.read_text())["version"] if manifest.exists() else None


_SHARE_ALIKE = ("GPL", "GPL-2+", "GPL-3+", "LGPL-2", "CC-BY-SA-4.0-Int")


def npm_licence(package: str, work: Path) -> str:
    """Licence that an npm package's own manifest names, or its licence file if they disagree."""
    if package.startswith("@fontsource/dejavu"):  # the manifest says OFL, the file Bitstream's
        return "BitstreamVera and Arev"
    manifest = json.loads((npm_folder(package, work) / "package.json").read_text())
    return str(manifest.get("license", ""))


def fetch_debian(packages: Mapping[str, str], work: Path) -> None:
    """Download Debian packages (name -> version, '' for the newest) and unpack, not install, them.

    Raises:
        InputError: apt-get or dpkg is missing or refuses.
    """
    work = work.resolve()  # dpkg runs inside it
    work.mkdir(parents=True, exist_ok=True)
    missing = [n for n in packages if not debian_folder(n, work).exists()]
    if missing:
        _run(["apt-get", "-qq", "download", *(_pinned(n, packages[n]) for n in missing)], work)
    for name in missing:
        (archive,) = work.glob(f"{name}_*.deb")
        debian_folder(name, work).mkdir(parents=True)
        _run(["dpkg", "-x", str(archive.resolve()), str(debian_folder(name, work).resolve())], work)


def debian_folder(package: str, work: Path) -> Path:
    """Folder of an unpacked Debian package."""
    return work / "unpacked" / package


def debian_version(package: str, work: Path) -> str:
    """Version of a downloaded Debian package."""
    (archive,) = work.glob(f"{package}_*.deb")
    return archive.name.split("_")[1].replace("%3a", ":")


def debian_licence(package: str, work: Path) -> str:
    """Licences named in a Debian package's copyright file, those of its packaging left out."""
    path = debian_folder(package, work) / "usr/share/doc" / package / "copyright"
    if not path.exists():
        return ""
    found: list[str] = []
    text = path.read_text(errors="replace")
    for paragraph in text.split("\n\n"):
        fields = dict(
            line.split(":", 1)
            for line in paragraph.splitlines()
            if line[:1].isalpha() and ":" in line
        )
        packaging = fields.get("Files", "").strip().startswith("debian/")
        licence = fields.get("License", "").strip()
        if licence and not packaging and "Files" in fields and licence not in found:
            found.append(licence)
    return "; ".join(found) or _free_text_licence(text)


def is_open(licence: str) -> bool:
    """Whether a licence text names one of the usual open licences."""
    return any(word in licence.lower() for word in _OPEN_WORDS)


def may_train(licence: str) -> bool:
    """Whether a licence leaves what is made with the font alone.

    Share-alike licences without an exception for fonts don't say so clearly.

    >>> may_train("OFL-1.1"), may_train("GPL-2+ with Font exception"), may_train("LGPL-2")
    (True, True, False)
    """
    return licence not in _SHARE_ALIKE


def _free_text_licence(text: str) -> str:
    """Licence of an old copyright file that is prose: the first well-known name in it."""
    names = {
        "SIL Open Font License": "OFL", "GNU General Public License": "GPL", "public domain":
        "public-domain", "Apache License": "Apache", "GUST Font License": "GFL",
    }  # fmt: skip
    squeezed = " ".join(text.split()).lower()
    return next((short for long, short in names.items() if long.lower() in squeezed), "")


def _pinned(name: str, version: str) -> str:
    return f"{name}={version}" if version else name


def _run(command: Iterable[str], folder: Path) -> None:
    """Run a package client quietly."""
    words = list(command)
    try:
        subprocess.run(words, cwd=folder, check=True, capture_output=True, text=True)
    except FileNotFoundError:
        raise InputError(f"{words[0]} is not installed", "install it to fetch packages") from None
    except subprocess.CalledProcessError as trouble:
        last = (trouble.stderr.strip().splitlines() or ["no message"])[-1]
        raise InputError(f"{words[0]} failed ({last})", "check the network and run again") from None
