"""Where the time goes: a wider line, place by place; the metres of a line, turn by turn."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

import simrun
from simrun.answers.evidence.check_kinds import mean_and_reach
from simrun.answers.evidence.experiments.queue import field_day
from simrun.course.strip import MEASURING_MARGIN_M
from simrun.engine.field import stand_m
from simrun.engine.run import alone_runs
from simrun.measure.places import lost_by_place
from simrun.tactics.margins import own_margins

Array = NDArray[np.float64]
SCENARIOS = Path(__file__).parents[2] / "scenarios"
SEEDS = range(1, 11)


def parts_of(width_m: float) -> Array:
    """Mean seconds a runner to the throat, seed by seed: standing, on the straight, in the taper; box."""
    found = []
    for seed in SEEDS:
        recording = simrun.race(field_day(width_m, 150, 6), seed)
        split = lost_by_place(recording)
        assert [place.kind for place in split.places] == ["standing", "straight", "taper"]
        assert np.isfinite(split.traffic_s).all()
        found.append([*split.traffic_s.mean(axis=0), split.box_s.sum(axis=1).mean()])
    return np.array(found)


@pytest.mark.slow
def test_a_wider_line_costs_less_traffic_and_says_where() -> None:
    """120 people, lines of 48 and 160 m, a straight of 150 m, a throat of 6 m, ten paired seeds.

    Traffic falls, as published; what is saved is saved standing and on the straight, where the wider
    line stands looser, and the ends of the wider line pay for it in metres.
    Bogenberger, Treiber and Malcolm (2025), Physica A 665; signs seen.
    """
    narrow, wide = parts_of(48), parts_of(160)
    saved = narrow - wide
    mean, reach = mean_and_reach(saved[:, :3].sum(axis=1))
    assert mean - reach > 0
    for part in (0, 1):
        mean, reach = mean_and_reach(saved[:, part])
        assert mean - reach > 0, ("standing", "straight")[part]
    mean, reach = mean_and_reach(-saved[:, 3])
    assert mean - reach > 0
    first = saved[:, :2].sum(axis=1).mean()
    assert first > np.abs(saved[:, 2].mean()), "more was saved before the taper than in it"


def test_a_line_costs_its_metres_at_every_turn_and_nothing_else() -> None:
    """Two turns of 90 degrees of the heath, 210 runners alone: what the own line costs against the shortest.

    A line that touches the apex d off the inside edge is (pi / 2)(d - 0.30) longer than the measured one.
    Over a race of twelve such turns these metres are all that the line part is.
    computed
    """
    day = simrun.read(SCENARIOS / "sallow_heath.toml")
    day = day.changed({"course.checkpoints": [{"name": "behind the orchard turn", "at": 840}]})
    roster = day.roster(1)
    own = own_margins(day.strip, roster)
    alone = alone_runs(day, roster, stand_m(day.start_line, roster), own).alone()
    line = (alone.alone_s - alone.shortest_s)[:, 0]
    turns = [k for k, g in enumerate(day.strip.gates) if g.kind == "turn"][:2]
    metres = (np.pi / 2 * (roster.inside_m[:, turns] - MEASURING_MARGIN_M)).sum(axis=1)
    expected = metres / (roster.cruise_m_s * day.strip.footing[0])
    assert line.mean() == pytest.approx(expected.mean(), rel=0.05)
    assert np.corrcoef(line, expected)[0, 1] > 0.99
