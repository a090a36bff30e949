"""Small layouts for the tests, raced in this process."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from numpy.typing import NDArray

from simrun.answers.layout.fair.layout_sample import LayoutSample, sample_of
from simrun.answers.layout.varied import layout_of
from simrun.measure.crowd import CROWD_NAMES, CrowdFigures
from simrun.scenario.scenario import Scenario
from simrun.trials.races import crowd_outcome


def day_of(
    line_m: float,
    straight_m: float,
    throat_m: float,
    teams: int,
    *,
    taper_m: float = 30.0,
    hard: bool = False,
    front_row: int = 3,
    beyond_m: float = 40.0,
    **field: Any,
) -> Scenario:
    """A line, a straight, a narrowing (or, `hard`, a wall with an opening), and a little beyond."""
    shut = {"piece": "straight", "length": beyond_m, "width": throat_m}
    edges = {"left": "barrier", "right": "barrier"}
    taper = {"piece": "narrowing", "length": taper_m, "width": throat_m}
    pieces: list[dict[str, Any]] = [{"piece": "straight", "length": straight_m, "width": line_m}]
    pieces += [shut | edges] if hard else [taper, {"piece": "straight", "length": beyond_m}]
    start = {"width": line_m, "boxes": teams, "box_width": line_m / teams, "front_row": front_row}
    document = {
        "name": "Layout",
        "clock": {"limit": "10 min"},
        "start": start,
        "course": {"pieces": pieces},
        "field": {"fill": True, "runners": 7, **field},
    }
    return Scenario.assembled(document, {}, "layout")


def raced(
    day: Scenario, seeds: Sequence[int], until_m: float | None = None, **values: float
) -> LayoutSample:
    """The races of a layout of this day."""
    layout = layout_of(day, values, until_m)
    return sample_of(layout, [crowd_outcome(layout, seed) for seed in seeds])


def crowds(density_per_m2: NDArray[Any]) -> tuple[CrowdFigures, ...]:
    """Races of which as crowds only the density is known, 0 for all the rest."""
    rest = dict.fromkeys(CROWD_NAMES, 0.0)
    return tuple(
        CrowdFigures(**(rest | {"density_per_m2": float(each)})) for each in density_per_m2
    )
