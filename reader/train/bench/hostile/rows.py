"""How one way went: a row of the table."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path


@dataclass
class Row:
    """How one way went."""

    way: str
    tried: int = 0
    fine: int = 0  # read, or answered
    refused: int = 0  # in one line with a remedy
    faults: list[str] = field(default_factory=list)
    most_mb: float = 0.0
    seconds: float = 0.0

    def cells(self) -> list[str]:
        """As a row of the table."""
        memory = f"{self.most_mb:.0f} MB" if self.most_mb else ""
        counts = [str(n) for n in (self.tried, self.fine, self.refused, len(self.faults))]
        return [self.way, *counts, memory, f"{self.seconds:.0f} s"]


def tree_mb(root: int) -> float:
    """Memory of a process and all below it, MB; pages that several share count once each."""
    below: dict[int, list[int]] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            name, rest = stat.read_text().rsplit(")", 1)
        except OSError:  # it ended
            continue
        below.setdefault(int(rest.split()[1]), []).append(int(name.split()[0]))
    waiting, total = [root], 0
    while waiting:
        number = waiting.pop()
        waiting += below.get(number, [])
        try:
            text = Path(f"/proc/{number}/smaps_rollup").read_text()
        except OSError:
            continue
        found = re.search(r"^Pss:\s+(\d+)", text, re.MULTILINE)
        total += int(found[1]) if found else 0
    return total / 1024
