"""What part of the race is shown, how large and how fast?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.base.units import METRES_A_FOOT, METRES_A_YARD

Array = NDArray[np.float64]

LENGTH_S = 25.0
"""A film lasts so long, besides its pauses, unless somebody asks for another length or speed."""

AFTER_S = 6.0
"""A film shows so much of the race after the place that cost most."""

MOST_FRAMES = 6000
"""Ten minutes at ten frames a second; a longer picture is a film, and no page would load it."""

_RATES = (1.0, 2.0, 4.0, 5.0, 10.0, 12.5, 20.0, 25.0)

_LEAST_PX, _MOST_PX = (640, 360), (1920, 1080)
"""The longer and the shorter side, lying or upright."""


@dataclass(frozen=True)
class View:
    """Size, part of the race, speed-up (1.0 = real time), frames a second of the picture, units.

    from_s: seconds since the gun, None = the gun. to_s: None = until the place that cost those followed
    most is behind them. speed: None = as the seconds go: slow where they are lost, fast where nothing
    happens, so that the whole lasts length_s.
    units: None = as the scenario says. pauses: the picture waits at the moments that decide. inset: the
    turn of the picture in the picture, None = the first turn; with_inset: whether there is one.
    """

    width_px: int = 800
    height_px: int = 450
    from_s: float | None = None
    to_s: float | None = None
    speed: float | None = None
    length_s: float = LENGTH_S
    frames_per_s: float = 10.0
    units: str | None = None
    pauses: bool = True
    inset: str | None = None
    with_inset: bool = True

    @property
    def frame_ms(self) -> int:
        """How long is one frame shown? Whole hundredths of a second, as the file format keeps."""
        return round(1000 / self.frames_per_s)

    def moments_s(self, recorded_s: Array, usual_end_s: float) -> Array:
        """At which seconds since the gun is a frame drawn at an even speed? (F,) Raises BadInput.

        F = (to - from) / speed x frames a second, so that the picture lasts as long as it shows.
        """
        begin, end = self.span_s(recorded_s, usual_end_s)
        count, speed = self._count(begin, end), self.speed or 1.0
        return np.minimum(begin + np.arange(count) * speed / self.frames_per_s, end)

    def check(self, limit_s: float) -> None:
        """Could this be shown of a race that lasts at most so long? Raises BadInput where it never could.

        A race that ends sooner may still be too short for it, which `moments_s` then says.
        """
        self._check_size_and_rate()
        begin = 0.0 if self.from_s is None else self.from_s
        end = limit_s if self.to_s is None else self.to_s
        for key, value in (("view.from_s", begin), ("view.to_s", end)):
            if not 0.0 <= value <= limit_s:
                allowed = f"from 0 to {limit_s:g} s, the clock's limit"
                raise BadInput(Problem(key, f"{value:g} s", allowed))
        if self.to_s is not None:
            self._check_order(begin, end)
            self._count(begin, end)

    def span_s(self, recorded_s: Array, usual_end_s: float) -> tuple[float, float]:
        """From which second to which? usual_end_s: where nobody says. Raises BadInput."""
        self._check_size_and_rate()
        first, last = float(recorded_s[0]), float(recorded_s[-1])
        begin = first if self.from_s is None else self.from_s
        usual = min(max(usual_end_s, begin + AFTER_S), last)
        end = usual if self.to_s is None else self.to_s
        for key, value in (("view.from_s", begin), ("view.to_s", end)):
            if not first <= value <= last + 1e-9:
                allowed = f"from {first:g} to {last:g} s, what was recorded"
                raise BadInput(Problem(key, f"{value:g} s", allowed))
        if self.to_s is not None:
            self._check_order(begin, end)
        return begin, end

    def _count(self, begin_s: float, end_s: float) -> int:
        """How many frames are there from one second to another?"""
        count = max(1, round((end_s - begin_s) / (self.speed or 1.0) * self.frames_per_s))
        if count > MOST_FRAMES:
            found, allowed = f"{count} frames", f"at most {MOST_FRAMES}: shorten it or speed it up"
            raise BadInput(Problem("view", found, allowed))
        return count

    def _check_order(self, begin_s: float, end_s: float) -> None:
        if not end_s > begin_s:
            raise BadInput(Problem("view.to_s", f"{end_s:g} s", f"later than {begin_s:g} s"))

    def _check_size_and_rate(self) -> None:
        way = -1 if self.height_px > self.width_px else 1
        sides = zip(("width_px", "height_px"), _LEAST_PX[::way], _MOST_PX[::way], strict=True)
        for key, least, most in sides:
            value = getattr(self, key)
            if not least <= value <= most:
                raise BadInput(Problem(f"view.{key}", f"{value}", f"from {least} to {most}"))
        if self.frames_per_s not in _RATES:
            allowed = "one of " + ", ".join(f"{rate:g}" for rate in _RATES)
            raise BadInput(Problem("view.frames_per_s", f"{self.frames_per_s:g}", allowed))
        if self.speed is not None and not 0.1 <= self.speed <= 60:
            raise BadInput(Problem("view.speed", f"{self.speed:g}", "from 0.1 to 60"))
        if not 5 <= self.length_s <= 300:
            raise BadInput(Problem("view.length_s", f"{self.length_s:g}", "from 5 to 300 s"))
        if self.units not in (None, "metric", "us"):
            raise BadInput(Problem("view.units", repr(self.units), "metric or us"))


def width_words(width_m: float, units: str) -> str:
    """A width as it is said: whole metres or feet, one decimal below ten metres."""
    if units == "us":
        return f"{width_m / METRES_A_FOOT:.0f} ft"
    return f"{width_m:.0f} m" if width_m >= 9.95 else f"{width_m:.1f}".removesuffix(".0") + " m"


def speed_words(speed: float | None) -> str:
    """The speed-up in words."""
    if speed is None:
        return "slow where seconds go"
    return "real time" if speed == 1 else f"{speed:g} x real time"


def scale_bar(scale_px_m: float, longest_px: float, units: str) -> tuple[str, int]:
    """Which round length fits a bar of at most `longest_px`? Its words, and its length in pixels."""
    unit_m, unit = (METRES_A_YARD, "yd") if units == "us" else (1.0, "m")
    longest = longest_px / (scale_px_m * unit_m)
    lengths = [step * 10**power for power in range(-1, 5) for step in (1, 2, 5)]
    length = max((value for value in lengths if value <= longest), default=lengths[0])
    return f"{length:g} {unit}", round(length * unit_m * scale_px_m)


def clock_words(seconds: float) -> str:
    """The race clock: minutes, seconds and tenths since the gun."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths // 10 % 60:02d}.{tenths % 10}"
