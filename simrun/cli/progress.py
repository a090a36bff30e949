"""How does long work show that it goes on? A bar on a terminal; elsewhere a line every ten seconds."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from simrun.cli.console import aside

LINE_EVERY_S = 10.0

PACE_S = 2.0
"""For so long a pace is watched before anything is said of what is left."""


@contextmanager
def progress_of(title: str, quiet: bool) -> Iterator[Callable[[float], None]]:
    """Tell it the share that is done, from 0 to 1. Everything goes to standard error."""
    if quiet or sys.stderr is None:
        yield lambda share: None
    elif sys.stderr.isatty():
        with _bar(title) as told:
            yield told
    else:
        yield _Lines(title).told


@contextmanager
def _bar(title: str) -> Iterator[Callable[[float], None]]:
    from tqdm import tqdm

    shape = "{desc}: {percentage:3.0f}% |{bar}| {remaining} left"
    with tqdm(total=100, desc=title, unit="%", leave=False, bar_format=shape) as shown:

        def told(share: float) -> None:
            if not shown.n:  # what came before, such as compiling, is no pace
                shown.initial, shown.start_t = 100 * share, time.time()
            shown.update(max(0.0, 100 * share - shown.n))

        yield told


class _Lines:
    """A plain line now and then, with what is left at the pace so far."""

    def __init__(self, title: str) -> None:
        self.title, self.said = title, time.monotonic()
        self.first: tuple[float, float] | None = None

    def told(self, share: float) -> None:
        """So much is done. The pace counts from the first time that it was told: before comes compiling."""
        now = time.monotonic()
        begun, had = self.first = self.first or (now, share)
        if now - self.said < LINE_EVERY_S or not 0.0 < share < 1.0:
            return
        self.said = now
        line = f"{self.title}: {100 * share:.0f} % done"
        if share > had and now - begun >= PACE_S:
            left_s = (now - begun) * (1 - share) / (share - had)
            line += f", about {max(1.0, left_s):.0f} s left"
        aside(line)
