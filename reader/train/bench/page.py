"""How fast the phone page is: python -m reader.train.bench.page PHOTO… [--out page.md].

Each PHOTO is a close-up of a marking; the first is also what ten phones send, at 12 MP. The server
runs as users run it, in a process of its own; this process plays the phones. Times include sending
the photo and fetching the answer's page.
"""

from __future__ import annotations

import argparse
import http.client
import io
import json
import os
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from reader.train.bench.markdown import markdown

CODE = "BENCHBENCH"
PHONES = 10
TIMES = 3
TARGETS = {
    "close-up, sent to answered, median": ("s", 1.2),
    "pictures lost": ("", 0.0),
    "start page with 20 parts, as sent": ("kB", 60.0),
    "start page, first paint": ("ms", 500.0),
    "close-up chosen in the browser to answer on the screen, median": ("s", 1.2),
    "axe findings, 14 pages in 5 languages": ("", 0.0),
    "ten phones at once, 12 MP each: errors": ("", 0.0),
    "page without reading meanwhile, p95": ("ms", 200.0),
}


@dataclass
class Figures:
    """What was measured, by name."""

    values: dict[str, float] = field(default_factory=dict)

    def table(self) -> str:
        """As a Markdown table."""
        rows = [["what", "measured", "wanted"]]
        for name, value in self.values.items():
            unit, most = TARGETS.get(name, ("" if "times" in name or "sent" in name else "s", None))
            wanted = "" if most is None else f"at most {most:g} {unit}"
            rows.append([name, f"{value:.3g} {unit}", wanted])
        return markdown(rows)


@contextmanager
def served(folder: Path) -> Iterator[int]:
    """A server on a free port of this computer."""
    from reader.web.serving import bound, plan

    probe = bound(plan(False, "", 0, []))
    port = int(probe.getsockname()[1])
    probe.close()
    command = [sys.executable, "-c", "from reader.cli import main; main()", "serve"]
    command += ["--port", str(port), "--code", CODE]
    with subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL) as server:
        try:
            wait_for(port)
            yield port
        finally:
            server.terminate()


def wait_for(port: int) -> None:
    """Until the server answers."""
    for _ in range(300):
        try:
            fetch(port, "/")
            return
        except OSError:
            time.sleep(0.1)
    raise SystemExit("the server did not start")


def fetch(port: int, path: str, body: bytes = b"", kind: str = "") -> tuple[int, bytes]:
    """One request on a connection of its own: status and content."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    headers = {"authorization": f"Bearer {CODE}"} | ({"content-type": kind} if kind else {})
    line.request("POST" if kind else "GET", path, body or None, headers)
    answer = line.getresponse()
    content = answer.read()
    line.close()
    return answer.status, content


def read_once(port: int, photo: bytes, pause: float = 0.05) -> tuple[float, bool]:
    """Send a photo and wait for its answer's page: seconds, and whether all went well.

    `pause` is the time between two questions whether it is read.
    """
    begun = time.perf_counter()
    body = (
        b'--x\r\ncontent-disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n'
        + photo
        + b"\r\n--x--\r\n"
    )
    status, content = fetch(port, "/api/parts", body, "multipart/form-data; boundary=x")
    if status != 202:
        return time.perf_counter() - begun, False
    name = json.loads(content)["id"]
    while True:
        status, content = fetch(port, f"/api/parts/{name}")
        told = json.loads(content)
        if status != 200 or told["state"] in ("done", "failed"):
            break
        time.sleep(pause)
    if status != 200:
        return time.perf_counter() - begun, False
    status, _ = fetch(port, f"/part/{name}")
    return time.perf_counter() - begun, status == 200 and told["state"] == "done"


def enlarged(photo: bytes) -> bytes:
    """The photo at 12 megapixels, as phones send it."""
    from PIL import Image

    picture = Image.open(io.BytesIO(photo)).convert("RGB")
    wide = picture.width >= picture.height
    out = io.BytesIO()
    picture.resize((4000, 3000) if wide else (3000, 4000)).save(out, "JPEG", quality=90)
    return out.getvalue()


def crowd(port: int, photo: bytes) -> tuple[list[tuple[float, bool]], list[float]]:
    """Ten phones send at once while another one looks at pages."""
    done: list[tuple[float, bool]] = []
    phones = [
        threading.Thread(target=lambda: done.append(read_once(port, photo, 0.25)))
        for _ in range(PHONES)
    ]
    for phone in phones:
        phone.start()
    waits: list[float] = []
    paths = ("/", "/names", "/fit?tyre=47-507&rim=507x21C", "/bins")
    while any(phone.is_alive() for phone in phones):
        begun = time.perf_counter()
        fetch(port, paths[len(waits) % len(paths)])
        waits.append(time.perf_counter() - begun)
        time.sleep(0.05)
    return done, waits


def measure(photos: list[bytes]) -> Figures:
    """All figures, in the order of the table."""
    found = Figures()
    with tempfile.TemporaryDirectory() as folder, served(Path(folder)) as port:
        read_once(port, photos[0])  # loads the engines
        times = [
            statistics.median(read_once(port, photo)[0] for _ in range(TIMES)) for photo in photos
        ]
        found.values["close-up, sent to answered, median"] = statistics.median(times)
        found.values[f"the slowest of these {len(photos)} close-ups"] = max(times)
        large = enlarged(photos[0])
        alone = read_once(port, large)[0]
        done, waits = crowd(port, large)
        errors = PHONES - sum(well for _, well in done)
        found.values["ten phones at once, 12 MP each: errors"] = errors
        p95 = statistics.quantiles(waits, n=20)[-1] * 1000
        found.values["page without reading meanwhile, p95"] = p95
        found.values["one photo of 12 MP alone"] = alone
        found.values["last of the ten phones answered after"] = max(time for time, _ in done)
    return found


def in_browser(photos: list[Path], uploads: int) -> Figures:
    """Everything that takes a real browser."""
    from reader.train.bench import phones
    from reader.web.serving import bound, plan

    found = Figures()
    probe = bound(plan(False, "", 0, []))
    port = int(probe.getsockname()[1])
    probe.close()
    address = f"http://localhost:{port}"
    with tempfile.TemporaryDirectory() as folder, phones.browser() as chromium:
        server = phones.Server(Path(folder), port)
        server.start()
        try:
            times = phones.answered(chromium, address, photos[:10])[1:]
            name = "close-up chosen in the browser to answer on the screen, median"
            found.values[name] = statistics.median(times)
            page = phones.first_page(chromium, address, photos, 20)
            found.values["start page with 20 parts, as sent"] = page["bytes"] / 1000
            found.values["start page, first paint"] = page["paint"]
            axe = AXE.read_text(encoding="utf-8")
            findings = phones.axe_findings(chromium, address, axe, print)
            found.values["axe findings, 14 pages in 5 languages"] = findings
        finally:
            server.kill()
    with tempfile.TemporaryDirectory() as folder, phones.browser() as chromium:
        server = phones.Server(Path(folder), port)
        server.start()
        try:
            lost, faults = phones.uploads_lost(chromium, server, address, photos, uploads)
            found.values["pictures sent while network and server fail"] = uploads
            found.values.update({f"{name}, times": much for name, much in faults.items()})
            found.values["pictures lost"] = lost
        finally:
            server.kill()
    return found


AXE = Path(__file__).parents[3] / "tests" / "web" / "vendor" / "axe.min.js"


def main() -> None:
    """Measure and write the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("photo", type=Path, nargs="+")
    asked.add_argument("--out", type=Path, default=Path(__file__).with_suffix(".md"))
    asked.add_argument("--uploads", type=int, default=200)
    given = asked.parse_args()
    found = measure([photo.read_bytes() for photo in given.photo])
    found.values.update(in_browser(given.photo, given.uploads).values)
    model = re.search(r"model name\s*:\s*(.*)", Path("/proc/cpuinfo").read_text())
    where = f"{os.cpu_count()} cores ({model[1] if model else platform.processor()})"
    command = f"python -m reader.train.bench.page {' '.join(map(str, given.photo))}"
    given.out.write_text(
        f"# The phone page\n\n`{command}` on {where}; the phones run on the same cores.\n\n"
        f"{found.table()}\n"
    )
    print(found.table())


if __name__ == "__main__":
    main()
