"""mesa's space over a race, and what mesa users may not do to runners, said in one line of ours."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.engine.model import RaceModel

FEN = Path(__file__).parents[3] / "scenarios" / "brindle_fen.toml"


@pytest.fixture(scope="module")
def model() -> RaceModel:
    """Five seconds after the gun."""
    model = RaceModel(FEN, 3)
    for _ in range(100):
        model.step()
    return model


def test_neighbours_are_those_of_the_arrays_now(model: RaceModel) -> None:
    """Against plain distances, before and after a step: nothing is kept from the moment before."""
    for _ in range(2):
        xy = np.stack([model.bodies["x"], model.bodies["y"]], axis=1)
        one = list(model.agents)[7]
        away = np.hypot(*(xy - xy[7]).T)
        near = model.space.get_neighbors(one.pos, 3.0)
        assert {runner.index for runner in near} == set(np.flatnonzero(away <= 3.0))
        assert one not in model.space.get_neighbors(one.pos, 3.0, include_center=False)
        other = near[-1]
        assert model.space.get_distance(one.pos, other.pos) == pytest.approx(away[other.index])
        model.step()


def test_the_space_holds_everybody_on_the_course(model: RaceModel) -> None:
    assert len(model.space.agents) == len(model.roster)
    assert not any(model.space.out_of_bounds(runner.pos) for runner in model.agents)


def test_without_agents_the_space_is_empty() -> None:
    assert RaceModel(FEN, 3, agents=False).space.get_neighbors((0.0, 0.0), 10.0) == []


@pytest.mark.parametrize(
    ("done", "told"),
    [
        (lambda model: model.agents.do("step"), "model.step"),
        (lambda model: model.agents.shuffle_do("step"), "model.step"),
        (lambda model: model.agents.do("advance"), "model.step"),
        (lambda model: model.agents.do("remove"), "the field of a race stays whole"),
        (lambda model: model.agents.set("speed_m_s", 3.0), "a tactic handed to RaceModel"),
        (lambda model: setattr(model.agents[0], "pos", (0.0, 0.0)), "a tactic handed to RaceModel"),
        (lambda model: model.space.move_agent(model.agents[0], (0, 0)), "a tactic handed"),
        (lambda model: model.space.place_agent(model.agents[0], (0, 0)), "a tactic handed"),
        (lambda model: model.space.remove_agent(model.agents[0]), "a tactic handed"),
    ],
)
def test_what_cannot_be_done_to_runners_is_said(done, told: str, model: RaceModel) -> None:  # type: ignore[no-untyped-def]
    before = model.bodies.copy()
    with pytest.raises(BadInput, match=told):
        done(model)
    assert np.array_equal(model.bodies, before)
