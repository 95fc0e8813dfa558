"""What tyremark stands on: python -m reader.train.notices writes THIRD-PARTY.md and bom.cdx.json.

Both go into the wheel. They list the packages that an installation brings, at the versions of the
environment this runs in; the wheel itself holds none of them, but for the fonts and models named at
the end. Format of the second: CycloneDX 1.6 (ECMA-424).
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
FIELDS = ("License-Expression", "License", "Classifier")
SHIPPED = (
    ("DejaVu Sans", "Bitstream-Vera AND LicenseRef-DejaVu-public-domain", "reader/data/fonts"),
    ("recogniser and line finder", "Apache-2.0", "reader/data/*.onnx, our own training"),
)


def packages(requirements: list[str]) -> dict[str, Distribution]:
    """Every package that these bring, by its lower-case name; those not installed are left out."""
    found: dict[str, Distribution] = {}
    waiting = [Requirement(text) for text in requirements]
    while waiting:
        asked = waiting.pop()
        key = re.sub(r"[-_.]+", "-", asked.name).lower()
        if key in found or (asked.marker and not asked.marker.evaluate({"extra": ""})):
            continue
        try:
            found[key] = distribution(asked.name)
        except PackageNotFoundError:
            continue
        waiting += [Requirement(text) for text in found[key].requires or ()]
    return dict(sorted(found.items()))


def licence(package: Distribution) -> str:
    """Its licence in few words, as its metadata tell it."""
    told = {name: package.metadata.get_all(name) or [] for name in FIELDS}
    if told["License-Expression"]:
        return str(told["License-Expression"][0])
    marks = [line for line in told["Classifier"] if "License ::" in line]
    if marks:
        return ", ".join(sorted({mark.rsplit(" :: ", 1)[1] for mark in marks}))
    lines = "".join(told["License"][:1]).strip().splitlines()
    return lines[0][:60] if lines else "see the package"


def notices(found: dict[str, Distribution]) -> str:
    """THIRD-PARTY.md."""
    rows = [f"| {key} | {one.version} | {licence(one)} |" for key, one in found.items()]
    shipped = [f"| {name} | {terms} | {where} |" for name, terms, where in SHIPPED]
    return "\n".join(
        [
            "# Notices of third parties",
            "",
            "Written by `python -m reader.train.notices`. An installation brings these packages,",
            "each under its own licence, whose full text lies in the package:",
            "",
            "| package | version | licence |",
            "|---|---|---|",
            *rows,
            "",
            "The wheel itself holds:",
            "",
            "| what | licence | where |",
            "|---|---|---|",
            *shipped,
            "",
        ]
    )


def components(found: dict[str, Distribution]) -> Iterator[dict[str, object]]:
    """The packages as CycloneDX components."""
    for key, one in found.items():
        yield {
            "type": "library",
            "bom-ref": f"pkg:pypi/{key}@{one.version}",
            "name": key,
            "version": one.version,
            "purl": f"pkg:pypi/{key}@{one.version}",
            "licenses": [{"license": {"name": licence(one)}}],
        }


def bill(project: dict[str, object], found: dict[str, Distribution]) -> dict[str, object]:
    """The bill of materials."""
    name, version = str(project["name"]), str(project["version"])
    own = {"type": "application", "bom-ref": name, "name": name, "version": version}
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"component": own},
        "components": list(components(found)),
        "dependencies": [
            {"ref": name, "dependsOn": [f"pkg:pypi/{k}@{one.version}" for k, one in found.items()]}
        ],
    }


def main() -> None:
    """Write both files."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    found = packages(project["dependencies"])
    (ROOT / "THIRD-PARTY.md").write_text(notices(found), "utf-8")
    text = json.dumps(bill(project, found), indent=1, ensure_ascii=False)
    (ROOT / "bom.cdx.json").write_text(text + "\n", "utf-8")


if __name__ == "__main__":
    main()
