"""What part of the race is shown, how large and how fast?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.base.units import METRES_A_FOOT, METRES_A_YARD

Array = NDArray[np.float64]

SHOWN_S = 90.0
"""A picture of the start lasts so long unless somebody asks for more."""

LONGER_S, AFTER_S = 40.0, 6.0
"""Where a moment that decides comes so little later, the picture lasts until so long after it."""

MOST_FRAMES = 6000
"""Ten minutes at ten frames a second; a longer picture is a film, and no page would load it."""

_RATES = (1.0, 2.0, 4.0, 5.0, 10.0, 12.5, 20.0, 25.0)

_MIN_SIZE_PX, _MAX_SIZE_PX = (640, 360), (1920, 1080)

"""Exact by the international agreement of 1959."""


@dataclass(frozen=True)
class View:
    """Size, part of the race, speed-up (1.0 = real time), frames a second of the picture, units.

    from_s: seconds since the gun, None = the gun. to_s: None = 90 s later, or a little more where
    a moment that decides comes soon after, or the end of the recording, whichever comes first.
    units: None = as the scenario says. pauses: the picture waits at the moments that decide. inset: the
    turn of the picture in the picture, None = the first turn; with_inset: whether there is one.
    """

    width_px: int = 800
    height_px: int = 450
    from_s: float | None = None
    to_s: float | None = None
    speed: float = 1.0
    frames_per_s: float = 10.0
    units: str | None = None
    pauses: bool = True
    inset: str | None = None
    with_inset: bool = True

    @property
    def frame_ms(self) -> int:
        """How long is one frame shown? Whole hundredths of a second, as the file format keeps."""
        return round(1000 / self.frames_per_s)

    def moments_s(self, recorded_s: Array, deciding_s: Sequence[float] = ()) -> Array:
        """At which seconds since the gun is a frame drawn? (F,) Raises BadInput.

        F = (to - from) / speed x frames a second, so that the picture lasts as long as it shows.
        """
        self._check_size_and_rate()
        begin, end = self._span_s(recorded_s, deciding_s)
        count = max(1, round((end - begin) / self.speed * self.frames_per_s))
        if count > MOST_FRAMES:
            found, allowed = f"{count} frames", f"at most {MOST_FRAMES}: shorten it or speed it up"
            raise BadInput(Problem("view", found, allowed))
        return np.minimum(begin + np.arange(count) * self.speed / self.frames_per_s, end)

    def _span_s(self, recorded_s: Array, deciding_s: Sequence[float]) -> tuple[float, float]:
        first, last = float(recorded_s[0]), float(recorded_s[-1])
        begin = first if self.from_s is None else self.from_s
        late = [t + AFTER_S for t in deciding_s if t <= begin + SHOWN_S + LONGER_S]
        usual = min(max([begin + SHOWN_S, *late]), last)
        end = usual if self.to_s is None else self.to_s
        for key, value in (("view.from_s", begin), ("view.to_s", end)):
            if not first <= value <= last + 1e-9:
                allowed = f"from {first:g} to {last:g} s, what was recorded"
                raise BadInput(Problem(key, f"{value:g} s", allowed))
        if self.to_s is not None and not end > begin:
            raise BadInput(Problem("view.to_s", f"{end:g} s", f"later than {begin:g} s"))
        return begin, end

    def _check_size_and_rate(self) -> None:
        sizes = zip(("width_px", "height_px"), _MIN_SIZE_PX, _MAX_SIZE_PX, strict=True)
        for key, least, most in sizes:
            value = getattr(self, key)
            if not least <= value <= most:
                raise BadInput(Problem(f"view.{key}", f"{value}", f"from {least} to {most}"))
        if self.frames_per_s not in _RATES:
            allowed = "one of " + ", ".join(f"{rate:g}" for rate in _RATES)
            raise BadInput(Problem("view.frames_per_s", f"{self.frames_per_s:g}", allowed))
        if not 0.1 <= self.speed <= 60:
            raise BadInput(Problem("view.speed", f"{self.speed:g}", "from 0.1 to 60"))
        if self.units not in (None, "metric", "us"):
            raise BadInput(Problem("view.units", repr(self.units), "metric or us"))


def width_words(width_m: float, units: str) -> str:
    """A width as it is said: whole metres or feet, one decimal below ten metres."""
    if units == "us":
        return f"{width_m / METRES_A_FOOT:.0f} ft"
    return f"{width_m:.0f} m" if width_m >= 9.95 else f"{width_m:.1f}".removesuffix(".0") + " m"


def speed_words(speed: float) -> str:
    """The speed-up in words."""
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
