"""Read what every box costs off the handbook's model."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simrun.answers.estimate.result import EstimateResult
from simrun.answers.kind import Asked, Progress
from simrun.base.errors import BadInput, Problem
from simrun.trials.handbook.estimate_model import estimate_model
from simrun.trials.handbook.handbook_table import same_engine
from simrun.trials.handbook.told_figures import ToldFigures, days_of_told


def answer(asked: Asked, progress: Progress) -> list[EstimateResult]:
    """What `simrun estimate` does."""
    told = ToldFigures(
        width_m=asked.width,
        boxes=asked.boxes,
        runners=asked.runners,
        straight_m=asked.straight,
        throat_m=asked.throat,
        abreast=asked.abreast,
        offset_m=asked.offset,
        turn_after_m=asked.turn_after,
        right=None if asked.turn is None else asked.turn == "right",
        turn_deg=asked.angle,
        turn_m=asked.turn_width,
        radius_m=asked.radius,
        mean_s=asked.time,
        spread_s=asked.spread,
        start=asked.start,
    )
    folder = asked.out or Path("outputs") / "estimate"
    return [run_estimate(told, asked.box, folder, page=asked.page, units=asked.units or "metric")]


def run_estimate(told: ToldFigures, box: int, folder: Path, **how: Any) -> EstimateResult:
    """What do the boxes of this line cost? how: page, units. Raises BadInput for a box that is not there.

    Check: tests/unit/answers/test_estimate.py.
    """
    if not 1 <= box <= told.boxes:
        raise BadInput(Problem("box", str(box), f"1 to {told.boxes}"))
    model = estimate_model()
    costs = model.costs(days_of_told(model, told))
    same = same_engine(model.content["about"])
    return EstimateResult(told, box, costs, model, folder, same_engine=same, **how)
