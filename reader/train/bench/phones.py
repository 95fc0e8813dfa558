"""What a phone's browser sees: lost pictures, first paint, bytes, answers, accessibility.

Helpers of `page.py`; Chromium plays the phone. Faults fall at moments drawn from a fixed seed.
"""

from __future__ import annotations

import json
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

CODE = "BENCHBENCH"
SEED = 5775
PHONE = {"width": 360, "height": 640}
START = (
    "import reader.web.serving as s, reader.web.settings as t, dataclasses;"
    "old = s.settings;"
    "s.settings = lambda *a: dataclasses.replace(old(*a), waiting=3);"
    "from reader.cli import main; main()"
)


class Server:
    """The server as users start it, with a short queue, that can be killed and started again."""

    def __init__(self, folder: Path, port: int) -> None:
        self._folder, self._port = folder, port
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it takes connections."""
        import socket

        command = [sys.executable, "-c", START, "serve", "--port", str(self._port)]
        quiet = subprocess.DEVNULL
        self._process = subprocess.Popen(
            [*command, "--code", CODE], cwd=self._folder, stdout=quiet, stderr=quiet
        )
        for _ in range(600):
            try:
                socket.create_connection(("127.0.0.1", self._port), timeout=1).close()
                return
            except OSError:
                time.sleep(0.1)
        raise SystemExit("the server did not start")

    def kill(self) -> None:
        """End it without a word, as a power cut does."""
        if self._process is not None:
            self._process.send_signal(signal.SIGKILL)
            self._process.wait()

    @property
    def bench(self) -> Path:
        """Where it keeps the bench."""
        return self._folder / "catalogue-bench" / "parts"


@contextmanager
def browser() -> Iterator[Any]:
    """Chromium without a window."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        made = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        yield made
        made.close()


def uploads_lost(
    chromium: Any, server: Server, address: str, photos: list[Path], count: int
) -> tuple[int, dict[str, int]]:
    """Send `count` pictures while network and server fail; give those lost, and the faults."""
    chance = random.Random(SEED)
    faults = {"network cut": 0, "server killed": 0}
    context = chromium.new_context(viewport=PHONE, base_url=address)
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.goto("/")
    page.wait_for_function("() => caches.match('/offline').then(found => !!found)")
    over, cut = threading.Event(), threading.Event()

    def kills() -> None:
        while not over.wait(chance.uniform(20, 60)):
            server.kill()
            faults["server killed"] += 1
            time.sleep(chance.uniform(0.2, 3))
            server.start()

    killer = threading.Thread(target=kills)
    killer.start()
    for _ in range(count):
        if chance.random() < 0.15:
            cut.clear() if cut.is_set() else cut.set()
            faults["network cut"] += cut.is_set()
            context.set_offline(cut.is_set())
        take(page, chance.choice(photos))
        time.sleep(chance.uniform(0, 0.4))
    over.set()
    killer.join()
    context.set_offline(False)
    kept = arrived(page, server, count)
    context.close()
    return count - kept, faults


def take(page: Any, photo: Path) -> None:
    """Take one picture on whatever page the phone shows, and leave it to its own."""
    for _ in range(60):
        try:
            if not page.locator("form[action='/snap'] input[multiple]").count():
                page.goto("/")
            page.evaluate("() => document.querySelector('#work')?.close()")
            page.set_input_files("form[action='/snap'] input[multiple]", [photo])
            page.wait_for_selector("#work[open]", timeout=10_000)
            return
        except Exception:  # the page was just leaving for an answer, or the server was away
            time.sleep(0.3)
    raise SystemExit("the page took no picture for a long time")


def arrived(page: Any, server: Server, count: int) -> int:
    """Wait until the outbox is empty; count the pictures that became parts and were read."""
    end = time.monotonic() + 900
    while time.monotonic() < end:
        try:
            page.goto("/")
            page.wait_for_selector("#outbox", state="hidden", timeout=20_000)
        except Exception:
            continue
        if read_parts(server) >= count:
            break
        time.sleep(2)
    return read_parts(server)


def read_parts(server: Server) -> int:
    """Uploads that the server has read to their end."""
    names = set()
    for sheet in server.bench.glob("*/part.json"):
        try:
            known = json.loads(sheet.read_text())
        except (OSError, ValueError):
            continue
        if known["drawn"]:
            names.add(known["sent"])
    return len(names - {""})


def first_page(chromium: Any, address: str, photos: list[Path], parts: int) -> dict[str, float]:
    """Bytes and first paint of the start page with so many parts on the bench."""
    context = chromium.new_context(viewport=PHONE, base_url=address, service_workers="block")
    page = context.new_page()
    for number in range(parts):
        page.goto("/")
        page.set_input_files("form[action='/snap'] input[multiple]", [photos[number % len(photos)]])
        page.wait_for_selector(".answer, .caution", timeout=60_000)
    fresh = chromium.new_context(
        viewport=PHONE,
        base_url=address,
        service_workers="block",
        storage_state=context.storage_state(),
    )
    page = fresh.new_page()
    sizes: list[int] = []
    page.on("requestfinished", lambda asked: sizes.append(asked.sizes()["responseBodySize"]))
    page.goto("/")
    page.wait_for_load_state("networkidle")
    paint = page.evaluate(
        "() => performance.getEntriesByName('first-contentful-paint')[0].startTime"
    )
    rows = page.locator(".parts .row").count()
    fresh.close()
    context.close()
    return {"bytes": float(sum(sizes)), "paint": float(paint), "rows": float(rows)}


def answered(chromium: Any, address: str, photos: list[Path]) -> list[float]:
    """Seconds from choosing a close-up to its answer on the screen, in the browser."""
    context = chromium.new_context(viewport=PHONE, base_url=address)
    page, times = context.new_page(), []
    for photo in photos:
        page.goto("/")
        begun = time.perf_counter()
        page.set_input_files("form[action='/snap'] input[multiple]", [photo])
        page.wait_for_selector(".answer, .caution", timeout=60_000)
        times.append(time.perf_counter() - begun)
    context.close()
    return times


PATHS = (
    "/", "/fit?tyre=47-507&rim=507x21C", "/fit?rim=622x19C", "/wheel?tyre=28-622", "/bins",
    "/review", "/names", "/pairs", "/tally", "/labels", "/let-in", "/pair", "/offline", "/nowhere",
)  # fmt: skip
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def axe_findings(chromium: Any, address: str, axe: str, tell: Callable[[str], None]) -> int:
    """What axe-core finds on every page, in every language, light and dark."""
    from reader.language import LANGUAGES

    found = 0
    for language in LANGUAGES:
        scheme = "dark" if language in ("de", "es") else "light"
        context = chromium.new_context(
            viewport=PHONE, base_url=address, locale=language, color_scheme=scheme
        )
        page = context.new_page()
        for path in PATHS:
            page.goto(path)
            high = page.evaluate("() => document.documentElement.scrollHeight")
            page.set_viewport_size({"width": 360, "height": max(640, high)})
            page.evaluate(axe)
            seen = page.evaluate("tags => axe.run(document, {runOnly: tags})", RULES)
            page.set_viewport_size(PHONE)
            for one in seen["violations"]:
                found += len(one["nodes"])
                tell(f"{language} {path}: {one['id']}")
        context.close()
    return found
