"""How fast does a film run, second by second? Slow where seconds are lost, fast where nothing happens."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.story.losing import Losing

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

STEP_S = 0.1
FASTEST, SLOWEST = 16.0, 1.0
"""Speed-ups between which a film changes, and it never runs slower than the race."""

OPENING_S = 2.0
"""At the gun the film runs as the race does: the whole line is shown."""

SMOOTH_S = 4.0
"""The speed changes over so much of the race, not at once."""

QUIET = 0.25
"""What a second without any loss weighs, against the mean second: it passes fast, not in no time."""

STRETCH = 50
"""The place that cost most is looked for in so many metres, or yards."""


def costliest(
    losing: Losing, who: Mask, span_s: tuple[float, float], stretch_m: float = float(STRETCH)
) -> tuple[float, float] | None:
    """Which stretch cost those followed most? Its ends, metres along the measured line, or None.

    span_s: only what was run between these seconds counts. Formula: the largest mean of lost(p + stretch) -
    lost(p), everybody timed where they ran.
    """
    t_s = np.arange(span_s[0], span_s[1] + STEP_S / 2, STEP_S)
    place, lost = losing.place_m(t_s)[:, who], losing.lost_s(t_s)[:, who]
    known = np.isfinite(lost).all(axis=0) if len(t_s) else np.zeros(0, dtype=bool)
    if not known.any():
        return None
    place, lost = place[:, known], lost[:, known]
    ends = np.arange(max(0.0, place[0].min()), place[-1].max() + 1.0, 5.0)
    gone = np.zeros((len(ends), place.shape[1]))
    for i in range(place.shape[1]):
        first = np.unique(place[:, i], return_index=True)[1]
        gone[:, i] = np.interp(ends, place[first, i], lost[first, i])
    far = np.minimum(np.searchsorted(ends, ends + stretch_m - 1e-9), len(ends) - 1)
    cost = gone[far].mean(axis=1) - gone.mean(axis=1)
    cost[ends > ends[-1] - stretch_m] = -np.inf if len(ends) > stretch_m / 5.0 else 0.0
    at = int(cost.argmax())
    if not cost[at] > 0.05:
        return None
    return float(ends[at]), float(ends[at] + stretch_m)


def behind_s(losing: Losing, who: Mask, station_m: float) -> float:
    """When has the last of those followed come past a place? Who does not come there is not waited for."""
    times, place = losing.account.times_s, losing.account.place_m[:, who]
    past = place >= station_m
    when = times[past.argmax(axis=0)][past.any(axis=0)]
    return float(when.max()) if len(when) else float(times[-1])


def paced_s(
    races: Sequence[Losing],
    who: Mask,
    span_s: tuple[float, float],
    length_s: float,
    frames_per_s: float,
) -> Array:
    """At which seconds is a frame drawn, so that the film lasts length_s? (F,), even on the screen.

    The time on the screen that a second of the race gets rises with what those followed lose in it; who is
    faster than FASTEST or slower than SLOWEST gives to the others. Of several races of the same people the
    mean counts: they are shown at one time.
    Check: tests/unit/pictures/test_pacing.py.
    """
    begin, end = span_s
    t_s = np.linspace(begin, end, max(2, round((end - begin) / STEP_S) + 1))
    rate = np.mean([losing.rate_s_s(t_s)[:, who].mean(axis=1) for losing in races], axis=0)
    rate = np.maximum(rate, 0.0)
    weight = _smooth(rate, SMOOTH_S / max(t_s[1] - t_s[0], 1e-9))
    weight = weight + QUIET * max(float(weight.mean()), 1e-6)
    on_screen = _shared(weight, t_s[1] - t_s[0], length_s, t_s < OPENING_S)
    clock = np.concatenate([[0.0], np.cumsum((on_screen[1:] + on_screen[:-1]) / 2 * np.diff(t_s))])
    count = max(1, round(clock[-1] * frames_per_s))
    return np.interp(np.linspace(0.0, clock[-1], count), clock, t_s)


def _shared(weight: Array, step_s: float, length_s: float, opening: Mask) -> Array:
    """Seconds on the screen for every second of the race, (T,): shares of the weight between the limits."""

    def shares(factor: float) -> Array:
        found = np.clip(factor * weight, 1 / FASTEST, 1 / SLOWEST)
        found[opening] = 1.0
        return _smooth(found, SMOOTH_S / 2 / step_s)

    low, high = 1e-9, 1e9
    for _ in range(60):
        middle = float(np.sqrt(low * high))
        low, high = (low, middle) if shares(middle).sum() * step_s > length_s else (middle, high)
    return shares(low)


def _smooth(values: Array, frames: float) -> Array:
    """A moving average over about so many values, ends held, (T,)."""
    from scipy.ndimage import uniform_filter1d

    return np.asarray(uniform_filter1d(values, max(1, round(frames)), mode="nearest"))
