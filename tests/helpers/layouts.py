"""Small layouts for the tests, raced in this process."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simrun.answers.layout.knobs import layout_of
from simrun.answers.layout.layout_measures import LayoutSample, sample_of
from simrun.scenario.assemble import assemble
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
    return assemble(document, {}, "layout")


def raced(
    day: Scenario, seeds: Sequence[int], until_m: float | None = None, **values: float
) -> LayoutSample:
    """The races of a layout of this day."""
    layout = layout_of(day, values, until_m)
    return sample_of(layout, [crowd_outcome(layout, seed) for seed in seeds])
