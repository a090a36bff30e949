"""What do books, guidelines and coaches say of a start and a course? For the inspection alone."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any

from simrun.sources.library import shared_folder

KNOWN = ("seen", "second-hand", "memory", "common practice")


@dataclass(frozen=True)
class Guidance:
    """One saying: which measured figure it is about, its bounds (infinite where there is none), whose it is.

    title, year, place: in what it stands, of which year, at which clause, page or paragraph; a title in
    square brackets describes, it does not quote.

    unit: "m", "runners" or "%". known: seen, second-hand (quoted by somebody else), memory, common practice.
    """

    measure: str
    low: float
    high: float
    unit: str
    says: str
    who: str
    known: str
    title: str
    year: str
    place: str

    @property
    def source(self) -> str:
        """Whose saying, in what, of which year, where in it and how it is known, on one line."""
        return f"{self.who}: {self.title} ({self.year}), {self.place}; {self.known}"

    def stands(self, value: float) -> str:
        """Where does a measured value lie against it? "below", "within" or "above"."""
        if value < self.low:
            return "below"
        return "above" if value > self.high else "within"


@cache
def guidance() -> tuple[Guidance, ...]:
    """Everything that was gathered, in the order of the table. Raises ValueError where the table is wrong."""
    text = (shared_folder() / "figures" / "guidance.toml").read_text("utf-8")
    return tuple(_entry(said) for said in tomllib.loads(text)["said"])


def guidance_about(measure: str) -> tuple[Guidance, ...]:
    """What is said of one figure of the inspection?"""
    return tuple(said for said in guidance() if said.measure == measure)


def _entry(said: dict[str, Any]) -> Guidance:
    low, high = float(said.get("low", -math.inf)), float(said.get("high", math.inf))
    if said["known"] not in KNOWN or low > high or not (math.isfinite(low) or math.isfinite(high)):
        raise ValueError(f"guidance: {said}")
    unit = said.get("unit", "m")
    where = (said[key] for key in ("who", "known", "title", "year", "place"))
    return Guidance(said["measure"], low, high, unit, said["says"], *where)
