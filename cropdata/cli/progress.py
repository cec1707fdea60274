"""How far a check is, shown on a terminal once it lasts."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from typing import TextIO

_AFTER = 2.0  # seconds: what is done sooner needs no bar
_EVERY = 0.1
_WIDTH = 20


class Bar:
    """A line that is written over again, from the third second on, and taken away at the end.

    Called as `check` calls its `progress`: file, rows read so far, share of the file that is read or None.
    """

    def __init__(self, stream: TextIO, clock: Callable[[], float] = time.monotonic) -> None:
        self.stream, self.clock = stream, clock
        self.due = clock() + _AFTER
        self.shown = 0

    def __call__(self, file: str, rows: int, share: float | None) -> None:
        """Write the line anew where it is due."""
        if self.clock() < self.due:
            return
        self.due = self.clock() + _EVERY
        filled = round((share or 0.0) * _WIDTH)
        bar = "…" if share is None else f"[{'#' * filled}{'.' * (_WIDTH - filled)}] {share:.0%}"
        self._write(f"{file} {bar}, {rows:,} rows"[: shutil.get_terminal_size().columns - 1])

    def _write(self, line: str) -> None:
        self.stream.write("\r" + line.ljust(self.shown))
        self.stream.flush()
        self.shown = len(line)

    def close(self) -> None:
        """Take the line away."""
        if self.shown:
            self._write("")
            self.stream.write("\r")
            self.stream.flush()
