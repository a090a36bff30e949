"""The mesa face: selection, data collector, batch run, and the same race underneath."""

from __future__ import annotations

import gc
import weakref
from pathlib import Path

import mesa
import numpy as np
import pytest

from simrun.race.model import RaceModel, Runner
from tests.helpers.worlds import field_race

DUAL = Path(__file__).parents[2] / "scenarios" / "dual_meet.toml"


@pytest.fixture
def model() -> RaceModel:
    return RaceModel(DUAL, seed=5)


def test_agents_are_selected_like_any_agents(model: RaceModel) -> None:
    """AgentSet selection and aggregation read the rows of the race."""
    box_two = model.agents.select(lambda runner: runner.box == 2)
    assert len(box_two) == 10
    assert {runner.team for runner in box_two} == {"Millbrook"}
    for _ in range(200):
        model.step()
    assert model.agents.agg("speed_m_s", np.mean) == pytest.approx(model.mean_speed_m_s())
    first = model.agents[0]
    assert isinstance(first, Runner)
    assert first.position_m[0] == model.race.bodies["x"][0] > 20


def test_the_data_collector_writes_once_a_second(model: RaceModel) -> None:
    """Twenty steps of 0.05 s are a second; the field speeds up after the gun."""
    for _ in range(200):
        model.step()
    frame = model.datacollector.get_model_vars_dataframe()
    np.testing.assert_allclose(frame["t_s"], np.arange(1, 11))
    assert frame["mean_speed_m_s"].iloc[-1] > frame["mean_speed_m_s"].iloc[0]
    assert frame["slowed_share"].between(0, 1).all()


def test_the_model_runs_the_same_race(model: RaceModel) -> None:
    """Stepped one by one or in one go: the same bits; and it stops by itself."""
    while model.running:
        model.step()
    whole = field_race(model.scenario, 5)
    np.testing.assert_array_equal(model.race.tape.crossing_s, whole.tape.crossing_s)
    assert model.finished() == 20


def test_batch_run_over_seeds() -> None:
    """Every seed is a race of its own, and a seed twice is the same race twice."""
    rows = mesa.batch_run(
        RaceModel,
        {"scenario": str(DUAL), "seed": [1, 2, 1], "agents": False, "collect_every_s": 0.05},
        max_steps=600,
        number_processes=1,
        data_collection_period=-1,
        display_progress=False,
    )
    speeds = [row["mean_speed_m_s"] for row in rows]
    assert len(rows) == 3
    assert speeds[0] == speeds[2] != speeds[1]


def test_a_released_model_is_freed() -> None:
    """mesa keeps a model with agents alive; `release` lets it go."""
    model = RaceModel(DUAL)
    watched = weakref.ref(model)
    model.release()
    del model
    gc.collect()
    assert watched() is None
