"""One figure held against its band: the row of a table, and how it is made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from simrun.answers.evidence.experiments.arena import Array
from simrun.sources import figure
from simrun.trials.statistics import half_width

INFINITE = float("inf")


@dataclass(frozen=True)
class Check:
    """One figure held against its band.

    strength: A exact, B measured band, C ordering (the whole 95 % interval, `measured` plus and minus
    `reach`, must lie in the band). source: citation with how we know it. note: how it was measured;
    cause: what in the model makes it miss, empty where it is met.
    """

    name: str
    strength: str
    measured: float
    low: float
    high: float
    unit: str
    source: str
    reach: float = 0.0
    note: str = ""
    cause: str = ""

    @property
    def met(self) -> bool:
        """Does it lie within the band?"""
        reach = self.reach if self.strength == "C" else 0.0
        return self.low <= self.measured - reach and self.measured + reach <= self.high

    @property
    def band_text(self) -> str:
        """The band in words."""
        if self.high == INFINITE:
            return f"more than {self.low:g} {self.unit}".rstrip()
        if self.low == self.high:
            return f"{self.low:g} {self.unit}".rstrip()
        return f"{self.low:.5g} to {self.high:.5g} {self.unit}".rstrip()

    def __str__(self) -> str:
        """What a failing test prints: value, band, source."""
        reach = f" +/- {self.reach:.3g}" if self.reach else ""
        word = "met" if self.met else "MISSED"
        text = f"{word} ({self.strength}) {self.name}: {self.measured:.4g}{reach} {self.unit}"
        return f"{text} against {self.band_text}; {self.source}"


def against(key: str, measured: float, strength: str, **more: Any) -> Check:
    """A row against the band of a figure."""
    f = figure(key)
    name = more.pop("name", f.meaning)
    return Check(name, strength, float(measured), f.low, f.high, f.unit, f.citation(), **more)


def ordering(name: str, differences: Array, unit: str, source: str, **more: Any) -> Check:
    """A row for a sign: the mean of paired differences, one a seed, must be above 0, interval and all."""
    mean, reach = mean_and_reach(differences)
    return Check(name, "C", mean, 0.0, INFINITE, unit, source, reach, **more)


def mean_and_reach(values: Array) -> tuple[float, float]:
    """Mean and half of its 95 % interval (Student)."""
    from scipy.stats import sem

    return float(values.mean()), float(half_width(sem(values), len(values)))


def caused(row: Check, cause: str) -> Check:
    """The row, with what in the model makes it miss where it does."""
    return row if row.met else replace(row, cause=cause)
