"""What does the crew lay out? The line to scale: stakes, pegs, tapes, box numbers, the gun."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.base.units import METRES_A_YARD, length_text
from simrun.measure.stakes import StakePlan
from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

MOST_NUMBERED = 16
BAR_M = 10.0


def crew_map(plan: StakePlan, names: list[str], gun_m: Array, units: str) -> bytes:
    """The stakes and pegs from above, the way ahead up, one metre as long in both directions.

    names: of the pegs from left to right. gun_m (2,): where the gun stands. The tapes of the first, the
    middle and the last stake are drawn; all are in the table. Check: tests/unit/pictures/test_crew_map.py.
    """
    stakes, pegs = _seen(plan.stake_m), _seen(plan.pegs_m)
    wide = float(np.ptp(stakes[:, 0]))
    deep = 1.3 * float(pegs[:, 1].max()) + 0.2 * wide
    figure = blank_figure(9.0, min(7.0, 1.0 + 8.0 * deep / wide))
    axes = figure.subplots()
    axes.plot(*stakes.T, color=chart_ink("text"), linewidth=1.6, zorder=2)
    axes.scatter(stakes[:, 0], stakes[:, 1], marker="|", s=70, color=chart_ink("text"), zorder=3)
    _tapes(axes, plan, stakes, pegs)
    axes.plot(*pegs.T, color=chart_ink("muted"), linewidth=0.8, linestyle="--")
    axes.scatter(pegs[:, 0], pegs[:, 1], marker="^", s=60, color=chart_ink("ours"), zorder=4)
    for name, (x, y) in zip(names, pegs, strict=True):
        axes.annotate(
            name, (x, y), xytext=(0, 8), textcoords="offset points", ha="center", fontsize=9
        )
    axes.scatter(0, 0, marker="s", s=36, color=chart_ink("ours"), zorder=4)
    _words(axes, (0.0, 0.0), -18, "middle peg")
    top = float(pegs[:, 1].max()) * 1.3
    axes.plot([0.0, 0.0], [0.0, top], color=chart_ink("muted"), linewidth=1.2, linestyle=":")
    _words(axes, (0.0, top), 4, "to the sighting mark")
    _boxes(axes, stakes)
    _gun(axes, gun_m)
    _bar(axes, stakes, units)
    axes.set_aspect("equal")
    axes.set_axis_off()
    return png_of(figure)


def _seen(points_m: Array) -> Array:
    """Metres ahead and to the left as the page has them: to the right, and up."""
    return np.stack([-points_m[:, 1], points_m[:, 0]], axis=1)


def _tapes(axes: Axes, plan: StakePlan, stakes: Array, pegs: Array) -> None:
    for i in (0, len(stakes) // 2, len(stakes) - 1):
        for peg in (plan.left_peg[i], plan.left_peg[i] + 1):
            ends = np.stack([pegs[peg], stakes[i]])
            axes.plot(*ends.T, color=chart_ink("slowed"), linewidth=0.9, zorder=1)


def _boxes(axes: Axes, stakes: Array) -> None:
    """Numbers behind the line, every one of a short line and every fifth of a long one."""
    for number, (x, y) in enumerate((stakes[:-1] + stakes[1:]) / 2, start=1):
        if len(stakes) - 1 <= MOST_NUMBERED or number % 5 == 0 or number == 1:
            _words(axes, (x, y), -7, str(number))


def _gun(axes: Axes, gun_m: Array) -> None:
    """Behind the line, where it stands along it."""
    ((x, y),) = _seen(gun_m[None, :])
    _words(axes, (x, y), -32, "\N{BLACK STAR} gun")


def _bar(axes: Axes, stakes: Array, units: str) -> None:
    """How long are so many metres (or yards) here?"""
    long_m = BAR_M * (METRES_A_YARD if units == "us" else 1.0)
    long_m *= 1.0 if np.ptp(stakes[:, 0]) > 4 * long_m else 0.2
    right, behind = float(stakes[:, 0].max()), float(stakes[:, 1].min())
    ends, y = [right - long_m, right], behind - 0.08 * float(np.ptp(stakes[:, 0]))
    axes.plot(ends, [y, y], color=chart_ink("text"), linewidth=2)
    _words(axes, (right - long_m / 2, y), -4, length_text(long_m, units))


def _words(axes: Axes, at: tuple[float, float], points: float, words: str) -> None:
    """Words so many points above (or, below zero, below) a place."""
    axes.annotate(
        words,
        at,
        (0, points),
        textcoords="offset points",
        ha="center",
        va="top" if points < 0 else "bottom",
        fontsize=8,
        annotation_clip=False,
    )
