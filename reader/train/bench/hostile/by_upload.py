"""Hostile files sent to a page."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Sequence
from pathlib import Path

from reader.train.bench.hostile.rows import Row, tree_mb


def by_upload(files: Sequence[Path], work: Path) -> Row:
    """Every plain file is sent to a page; each ends answered or refused, and the page stays."""
    from starlette.testclient import TestClient

    from reader.web.app import build
    from reader.web.settings import Limits, PageSettings

    row = Row("upload")
    free = Limits(uploads=(1e6, 1e6), requests=(1e6, 1e6))
    settings = PageSettings(
        catalogue=str(work / "page.db"),
        photos=work / "kept",
        folder=work / "bench",
        hosts=("testserver",),
        code="BENCHBENCH",
        limits=free,
    )
    with TestClient(build(settings), headers={"authorization": "Bearer BENCHBENCH"}) as page:
        for file in files:
            if file.is_file() and file.stat().st_size < 2**30:
                _send(page, file, row)
        if page.get("/").status_code != 200:
            row.faults.append("the page is gone")
    return row


def _send(page, file: Path, row: Row) -> None:  # type: ignore[no-untyped-def]
    row.tried += 1
    data = file.read_bytes()
    answer = page.post("/api/parts", files=[("photo", ("a.jpg", data, "image/jpeg"))])
    row.most_mb = max(row.most_mb, tree_mb(os.getpid()))
    if 400 <= answer.status_code < 500:
        row.refused += 1
        return
    if answer.status_code != 202:
        row.faults.append(f"{file.name}: {answer.status_code}")
        return
    part = {"state": "waiting"}
    until = time.monotonic() + 120
    while part["state"] not in ("done", "failed") and time.monotonic() < until:
        time.sleep(0.05)
        part = page.get(f"/api/parts/{answer.json()['id']}").json()
        row.most_mb = max(row.most_mb, tree_mb(os.getpid()))
    text = json.dumps(part)
    if "could not be read" in text or "took too long" in text or part["state"] == "waiting":
        row.faults.append(f"{file.name}: the reading process was lost: {text[:200]}")
    elif part["state"] == "done":
        row.fine += 1
    else:
        row.refused += 1
