"""Every box, line and checkpoint in one table: what it costs against the average box, intervals, ranges."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.boxes.sample import ANY_LINE, Sample
from simrun.measure.loss import PARTS
from simrun.measure.wheel import measure_ground
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import holm, single_range

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

COSTS = {"cost_s": PARTS.index("lost_s"), "cost_places": PARTS.index("places_lost")}
"""What a box costs against the average box, by the part of the loss that says it."""

POINTS = "cost_points"

TOLD = ("", "_low", "_high", "_p", "_holm", "_chance_low", "_chance_high")
"""What stands in the table of every cost: see `cells`."""


def cells(sample: Sample, scenario: Scenario) -> pandas.DataFrame:
    """One row a box, line and checkpoint.

    cost_s, cost_places, and cost_points at the finish: against the average box, the same teams in all of
    them, for line "all" only. _low, _high: the 95 % interval; _chance_low, _chance_high: what chance alone
    leaves of it; _p: the p-value; _holm: the same made honest for all boxes having been looked at. Per part
    of the loss: _mean over seeds of the box's mean; _low, _high: its interval; _p10, _p90: between which
    eight of ten single runners lie. extra_m: metres further than from the best box, by the wheel. seeds:
    races with anybody in the cell.
    """
    import pandas as pd

    metres = {box.box: box for box in measure_ground(scenario).boxes}
    rows = []
    for line in [ANY_LINE, *sample.lines]:
        for box in sample.boxes:
            wheel = {
                "extra_m_first_gate": metres[box].to_first_gate_m,
                "extra_m_finish": metres[box].to_finish_m,
            }
            rows += [row | wheel for row in _rows(sample, box, line)]
    table = pd.DataFrame(rows)
    for name in (*COSTS, POINTS):
        table[[f"{name}{what}" for what in TOLD]] = np.nan
    for c, mark in enumerate(sample.checkpoints):
        for name, part in COSTS.items():
            _add_costs(table, name, mark, sample, sample.costs(c, part))
    _add_costs(table, POINTS, sample.checkpoints[-1], sample, sample.points_costs)
    return table


def _rows(sample: Sample, box: int, line: str) -> Iterator[dict[str, Any]]:
    seeds, singles = sample.by_seed(box, line), sample.singles(box, line)
    for c, name in enumerate(sample.checkpoints):
        arrived = int((~np.isnan(singles[:, c, 0])).sum())
        row: dict[str, Any] = {
            "question": sample.question,
            "box": box,
            "line": line,
            "checkpoint": name,
            "seeds": int((~np.isnan(seeds[:, c, 0])).sum()),
            "runners": arrived,
            "not_arrived": len(singles) - arrived,
        }
        for p, part in enumerate(PARTS):
            found, (low, high) = sample.judge(seeds[:, c, p]), single_range(singles[:, c, p])
            row |= {
                f"{part}_mean": found.mean,
                f"{part}_low": found.low,
                f"{part}_high": found.high,
            }
            row |= {f"{part}_p10": low, f"{part}_p90": high}
        yield row


def _add_costs(
    table: pandas.DataFrame, name: str, mark: str, sample: Sample, by_seed: Array
) -> None:
    """Every box against the average box, (B, S), into the rows of this mark and every line."""
    columns = [f"{name}{what}" for what in TOLD]
    found = [sample.judge(row) for row in by_seed]
    honest = holm([f.p_value for f in found])
    for box, f, p in zip(sample.boxes, found, honest, strict=True):
        here = (table.box == box) & (table.checkpoint == mark) & (table.line == ANY_LINE)
        alone = f.by_chance
        table.loc[here, columns] = [f.mean, f.low, f.high, f.p_value, p, alone.low, alone.high]
