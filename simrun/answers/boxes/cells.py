"""Every box, line and checkpoint in one table: means, intervals, ranges, what can be seen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.boxes.sample import ANY_LINE, Sample
from simrun.measure.loss import PARTS
from simrun.measure.wheel import measure_ground
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import Best, best_of, estimate, holm, single_range

if TYPE_CHECKING:
    import pandas


def cells(sample: Sample, scenario: Scenario) -> pandas.DataFrame:
    """One row a box, line and checkpoint: means with 95 % intervals over seeds, ranges of single runners.

    Per part: _mean, _low, _high (interval of the mean), _p10, _p90 (eight of ten single runners).
    extra_m: metres further than from the best box, by the wheel, to the finish. against_s: the box's
    mean less the mean of all boxes in the same race, with interval and a p-value corrected for all
    boxes having been looked at (Holm), for line "all" only. seeds: races with anybody in the cell.
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
    _add_against(table, sample)
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
            found, (low, high) = estimate(seeds[:, c, p]), single_range(singles[:, c, p])
            row |= {
                f"{part}_mean": found.mean,
                f"{part}_low": found.low,
                f"{part}_high": found.high,
            }
            row |= {f"{part}_p10": low, f"{part}_p90": high}
        yield row


def _add_against(table: pandas.DataFrame, sample: Sample) -> None:
    """Every box against the mean of all boxes of the same race, at every checkpoint."""
    names = ["against_s", "against_s_low", "against_s_high", "against_p"]
    table[names] = np.nan
    lost = np.stack([sample.by_seed(box)[:, :, 0] for box in sample.boxes])
    over = lost - lost.mean(axis=0)
    for c, name in enumerate(sample.checkpoints):
        found = [estimate(over[b, :, c]) for b in range(len(sample.boxes))]
        honest = holm([f.p_value for f in found])
        for box, f, p in zip(sample.boxes, found, honest, strict=True):
            here = (table.box == box) & (table.checkpoint == name) & (table.line == ANY_LINE)
            table.loc[here, names] = [f.mean, f.low, f.high, p]


def best_cell(sample: Sample, checkpoint: int = -1, line: str | None = None) -> Best:
    """Which box (with `line` None: box and line) loses least by a checkpoint, and is that beyond luck?"""
    lines = sample.lines if line is None else [line]
    named = {
        f"box {box}" + (f", {told}" if line is None else ""): sample.by_seed(box, told)
        for box in sample.boxes
        for told in lines
    }
    return best_of({name: seeds[:, checkpoint, 0] for name, seeds in named.items()})
