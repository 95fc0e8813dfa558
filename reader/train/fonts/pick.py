"""Which files of a font package to take: up to three cuts of a family, one of them italic."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from reader.train.fonts import fetch as fontfetch

_STATIC = re.compile(r"(?P<stem>.+)-latin-(?P<weight>\d+)-(?P<style>normal|italic)\.woff2$")


@dataclass(frozen=True)
class Found:
    """A font file in a fetched package."""

    name: str
    family: str
    style: str
    package: str
    version: str
    licence: str
    path: Path
    file: str
    axes: str = ""


def find_files(package: str, pick: str, work: Path) -> Iterator[Found]:
    """Files to take from one package.

    `pick` is empty (choose by weight), a list of file patterns (Debian), or a list of places on
    the axes of a variable font ('wdth=125,wght=700').
    """
    if package.startswith("@fontsource-variable/"):
        return _variable(package, pick, work / "npm")
    if package.startswith("@"):
        return _static(package, work / "npm")
    return _debian(package, pick, work / "debian")


def pick_weights(weights: set[int], italics: set[int]) -> list[tuple[int, str]]:
    """Up to three cuts (weight, style): a plain one, a bold one, and a bold-ish italic.

    >>> pick_weights({300, 400, 500, 700, 900}, {400, 700})
    [(500, 'normal'), (700, 'normal'), (700, 'italic')]
    >>> pick_weights({400}, set())
    [(400, 'normal')]
    """
    nearest = [min(weights, key=lambda w: abs(w - aim)) for aim in (500, 750) if weights]
    cuts = [(weight, "normal") for weight in dict.fromkeys(nearest)]
    if italics:
        cuts.append((min(italics, key=lambda w: abs(w - 620)), "italic"))
    return cuts


def _static(package: str, work: Path) -> Iterator[Found]:
    folder = fontfetch.npm_folder(package, work)
    matches = [
        m for path in sorted((folder / "files").iterdir()) if (m := _STATIC.match(path.name))
    ]
    by_style: dict[str, set[int]] = {"normal": set(), "italic": set()}
    for match in matches:
        by_style[match["style"]].add(int(match["weight"]))
    for weight, style in pick_weights(by_style["normal"], by_style["italic"]):
        file = f"files/{matches[0]['stem']}-latin-{weight}-{style}.woff2"
        short = package.split("/")[1]
        name = f"{short}-{weight}{'i' if style == 'italic' else ''}"
        yield _npm_found(package, work, name, f"{weight} {style}", file)


def _variable(package: str, pick: str, work: Path) -> Iterator[Found]:
    short = package.split("/")[1]
    files = fontfetch.npm_folder(package, work) / "files"
    candidates = [f"{short}-latin-{part}-normal.woff2" for part in ("standard", "full", "wdth")]
    file = next(name for name in candidates if (files / name).exists())
    for axes in pick.split():
        name = f"{short}-{axes.replace('=', '').replace(',', '-')}"
        yield _npm_found(package, work, name, axes, f"files/{file}", axes)


def _npm_found(package: str, work: Path, name: str, style: str, file: str, axes: str = "") -> Found:
    folder = fontfetch.npm_folder(package, work)
    about = folder / "metadata.json"
    known = json.loads(about.read_text()) if about.exists() else {}
    family = known.get("family") or package.split("/")[1].replace("-", " ").title()
    version = fontfetch.npm_version(package, work) or ""
    licence = fontfetch.npm_licence(package, work)
    if not (folder / "LICENSE").exists() or licence.upper() == "MIT" and version.startswith("4."):
        licence = ""  # old packages name the licence of their packaging only
    return Found(name, family, style, package, version, licence, folder / file, file, axes)


def _debian(package: str, pick: str, work: Path) -> Iterator[Found]:
    folder = fontfetch.debian_folder(package, work)
    found = [
        p for p in sorted((folder / "usr/share").rglob("*")) if p.suffix.lower() in (".ttf", ".otf")
    ]
    wanted = [p for p in found if not p.is_symlink() and _matches(p, pick.split())]
    for path in wanted:
        family, style = _names(path)
        name = re.sub(r"[^a-z0-9]+", "-", f"{package[6:]}-{path.stem}".lower()).strip("-")
        yield Found(
            name, family, style, package, fontfetch.debian_version(package, work),
            fontfetch.debian_licence(package, work), path, str(path.relative_to(folder)),
        )  # fmt: skip


def _matches(path: Path, patterns: list[str]) -> bool:
    return not patterns or any(path.match(pattern) for pattern in patterns)


def _names(path: Path) -> tuple[str, str]:
    """Family and style that a font file names itself."""
    from fontTools.ttLib import TTFont

    names = TTFont(path, lazy=True)["name"]
    family = names.getDebugName(16) or names.getDebugName(1) or path.stem
    return family.strip(), (names.getDebugName(17) or names.getDebugName(2) or "").strip()
