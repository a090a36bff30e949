"""What was known after each step, when notes are taken only now and then?"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import Any


class HeldValues(Sequence[Any]):
    """Notes asked for by step: item `n` is the last that had been noted when `n + 1` steps were run.

    mesa 3.3's batch_run looks notes up by step and takes for granted that every step was noted.
    noted_after: after how many steps each note was taken, kept by the owner. steps: how many are run.
    """

    def __init__(self, noted_after: list[int], steps: Callable[[], int]) -> None:
        self.noted_after, self.steps = noted_after, steps
        self.noted: list[Any] = []

    def append(self, value: Any) -> None:
        """Note a value."""
        self.noted.append(value)

    def __len__(self) -> int:
        return self.steps()

    def __getitem__(self, index: Any) -> Any:
        if isinstance(index, slice):
            return [self[step] for step in range(len(self))[index]]
        after = range(len(self))[index] + 1
        return self.noted[max(0, bisect_right(self.noted_after, after) - 1)]
