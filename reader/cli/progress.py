"""Progress on stderr while photos are read; silent when nobody looks on."""

from __future__ import annotations

from collections.abc import Callable
from types import TracebackType

from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from reader.language import said


class Steps:
    """A bar over several parts, each reporting its own steps. Use it as a context manager."""

    def __init__(self, parts: int) -> None:
        console = Console(stderr=True)
        self._parts = parts
        self._bar = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            TimeElapsedColumn(),
            console=console,
            transient=True,
            disable=not console.is_terminal,
        )
        self._task = self._bar.add_task(said("opening"), total=parts)

    def part(self, number: int, name: str) -> Callable[[str, float], None]:
        """What to call with each step's name and share done (0..1) of part `number`, from 0."""
        count = said(f"{number + 1} of {self._parts}") + " " if self._parts > 1 else ""

        def step(what: str, share: float) -> None:
            text = escape(f"{count}{name}: {said(what)}")
            self._bar.update(self._task, description=text, completed=number + share)

        step("opening", 0.0)
        return step

    def __enter__(self) -> Steps:
        self._bar.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._bar.stop()
