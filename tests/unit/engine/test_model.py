"""Does the mesa face show the same race, and does what a mesa user expects work on it?"""

from __future__ import annotations

import gc
import inspect
import weakref
from dataclasses import fields
from pathlib import Path
from typing import Any

import mesa
import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.engine import model as model_module
from simrun.engine import run as run_module
from simrun.engine.held import HeldValues
from simrun.engine.model import RaceModel
from simrun.engine.run import run_race
from simrun.scenario.reader import read
from simrun.state.recording import Recording

MEET = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"


def run_to_end(model: RaceModel) -> RaceModel:
    """Step until mesa is told to stop."""
    while model.running:
        model.step()
    return model


def batch(seeds: list[int], **options: Any) -> list[dict[str, Any]]:
    """batch_run over seeds, as the installed mesa wants them: a parameter, or in newer ones `rng`."""
    parameters: dict[str, Any] = {"scenario": str(MEET), "agents": False}
    if "rng" in inspect.signature(mesa.batch_run).parameters:
        options["rng"] = seeds
    else:
        parameters["seed"] = seeds
    options = {"max_steps": 5000, "display_progress": False, **options}
    return mesa.batch_run(RaceModel, parameters, **options)


@pytest.fixture(scope="module")
def recording() -> Recording:
    return run_race(read(MEET), 3)


@pytest.fixture(scope="module")
def model() -> RaceModel:
    """The race of seed 3, run to its end."""
    return run_to_end(RaceModel(MEET, 3))


@pytest.fixture(scope="module")
def midway() -> RaceModel:
    """The race of seed 3, twenty seconds old."""
    model = RaceModel(MEET, 3)
    for _ in range(400):
        model.step()
    return model


@pytest.mark.parametrize("agents", [True, False])
def test_same_recording_to_the_last_bit(agents: bool, recording: Recording) -> None:
    stepped = run_to_end(RaceModel(read(MEET), 3, agents=agents)).recording()
    for column in fields(Recording):
        ours, theirs = getattr(stepped, column.name), getattr(recording, column.name)
        if isinstance(ours, np.ndarray):
            assert ours.tobytes() == theirs.tobytes(), column.name
        elif column.name == "tracks":
            assert ours.reached_ms.tobytes() == theirs.reached_ms.tobytes()
        elif column.name != "roster":
            assert ours == theirs, column.name
    assert stepped.roster.name == recording.roster.name


def test_same_recording_where_the_limit_ends_the_race() -> None:
    """Nobody is at the last checkpoint, and the limit is no multiple of the usual pieces."""
    short = read(MEET).changed({"clock.limit": "31.05 s"})
    whole, stepped = run_race(short, 3), run_to_end(RaceModel(short, 3))
    assert stepped.t_s == pytest.approx(31.05)
    assert np.isnan(whole.crossing_s[:, -1]).all()
    assert stepped.recording().position_m.tobytes() == whole.position_m.tobytes()


def test_same_recording_where_everybody_leaves(monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked so seldom whether it is over, the race ends when the last has left the course."""
    for module in (run_module, model_module):
        monkeypatch.setattr(module, "CHUNK_S", 200.0)
    whole, stepped = run_race(read(MEET), 3), run_to_end(RaceModel(MEET, 3))
    assert all(runner.is_gone for runner in stepped.agents)
    assert stepped.steps < stepped.race.last_step
    assert stepped.steps % 100 != 0
    assert stepped.recording().position_m.tobytes() == whole.position_m.tobytes()
    assert np.isnan(stepped.datacollector.get_model_vars_dataframe()["mean_speed_m_s"].iloc[-1])


def test_the_last_frame_was_written(recording: Recording) -> None:
    """Somebody is still on the run-out when the clock is stopped: the last frame shows it."""
    assert np.isfinite(recording.position_m[-1]).any()


def test_a_recording_taken_midway_stays_as_it_was() -> None:
    model = RaceModel(MEET, 3)
    for _ in range(400):
        model.step()
    early = model.recording()
    before = early.crossing_s.copy()
    run_to_end(model)
    assert np.array_equal(early.crossing_s, before, equal_nan=True)
    assert np.isfinite(model.recording().crossing_s).sum() > np.isfinite(before).sum()


def test_mesa_counts_what_was_run(midway: RaceModel) -> None:
    assert (midway.steps, midway.race.steps_done) == (400, 400)
    assert midway.t_s == pytest.approx(400 * midway.race.step_s)


def test_nothing_happens_after_the_end() -> None:
    model = run_to_end(RaceModel(MEET, 3, agents=False))
    steps, notes = model.steps, len(model.datacollector.noted_after)
    bodies = model.bodies.copy()
    model.step()
    assert (model.steps, model.race.steps_done) == (steps, steps)
    assert len(model.datacollector.noted_after) == notes
    assert np.array_equal(model.bodies, bodies)


def test_runners_show_the_rows_of_the_arrays(midway: RaceModel) -> None:
    roster = midway.roster
    assert len(midway.agents) == len(roster)
    for runner in midway.agents:
        at = runner.index
        assert runner.position_m == (midway.bodies["x"][at], midway.bodies["y"][at])
        assert runner.speed_m_s == midway.bodies["speed"][at]
        assert runner.wished_m_s == midway.bodies["wished_m_s"][at]
        assert (runner.name, runner.team) == (roster.name[at], roster.team[at])
        assert (runner.box, runner.row) == (roster.box[at], roster.row[at])
        assert runner.line == roster.line[at]
        assert not runner.is_gone


def test_runners_are_numbered_from_one_in_every_model(midway: RaceModel) -> None:
    other = RaceModel(MEET, 1)
    for model in (midway, other):
        assert [runner.unique_id for runner in model.agents] == [*range(1, len(model.roster) + 1)]


def test_runners_see_the_next_step() -> None:
    model = RaceModel(MEET, 3)
    first = next(iter(model.agents))
    before = first.position_m
    for _ in range(100):
        model.step()
    assert first.position_m != before
    assert first.place == model.place()[0]


def test_selecting_and_summing_up(midway: RaceModel) -> None:
    box = int(midway.roster.box[0])
    chosen = midway.agents.select(lambda runner: runner.box == box)
    wanted = midway.roster.box == box
    assert len(chosen) == wanted.sum() > 0
    mean = chosen.agg("speed_m_s", np.mean)
    assert mean == pytest.approx(midway.bodies["speed"][wanted].mean(), rel=1e-12)
    fast = midway.agents.select(lambda runner: runner.place <= 3).get("speed_m_s")
    assert len(fast) >= 3


def test_place_on_the_first_straight_is_the_order_of_metres_run() -> None:
    """The course begins along +x, so that x itself says who is in front."""
    model = RaceModel(MEET, 3)
    for _ in range(200):
        model.step()
    order = np.argsort(-model.bodies["x"])
    assert model.place()[order].tolist() == [*range(1, len(order) + 1)]
    by_place = model.agents.sort("place", ascending=True)
    assert [runner.index for runner in by_place] == order.tolist()


def test_place_at_the_end_is_the_order_of_arrival(model: RaceModel) -> None:
    end_s = model.race.tape.crossing_s[:, -1]
    assert np.isfinite(end_s).all()
    assert [(end_s < own).sum() + 1 for own in end_s] == model.place().tolist()


def test_who_is_across_comes_before_who_is_not() -> None:
    model = RaceModel(MEET, 3, agents=False)
    while np.isfinite(model.race.tape.crossing_s[:, -1]).sum() < 5:
        model.step()
    across = np.isfinite(model.race.tape.crossing_s[:, -1])
    assert model.place()[across].max() < model.place()[~across].min()


def test_notes_agree_with_the_recording(model: RaceModel, recording: Recording) -> None:
    """Every second, from the gun to the end: against the frames of the same race."""
    notes = model.datacollector.get_model_vars_dataframe()
    seconds = notes["time_s"].to_numpy()
    assert seconds[:-1] == pytest.approx(np.arange(len(seconds) - 1))
    assert notes.index.tolist() == [round(t / model.race.step_s) for t in seconds]
    every = round(1.0 / recording.scenario.clock.frame_s)
    for second in range(len(seconds) - 1):
        speed = recording.speed_m_s[second * every]
        there = np.isfinite(speed)
        slowed = speed[there] < 0.5 * recording.wished_m_s[second * every][there]
        assert notes["mean_speed_m_s"].iloc[second] == pytest.approx(speed[there].mean(), abs=0.005)
        assert notes["slowed_share"].iloc[second] == pytest.approx(slowed.mean())


def test_notes_count_who_is_past(model: RaceModel) -> None:
    notes = model.datacollector.get_model_vars_dataframe()
    crossing_s = model.race.tape.crossing_s
    for at, mark in enumerate(model.race.scenario.strip.checkpoints):
        past = [(crossing_s[:, at] <= t).sum() for t in notes["time_s"]]
        assert notes[f"past {mark.name}"].tolist() == past
    assert notes.iloc[-1][[c for c in notes if c.startswith("past ")]].eq(len(crossing_s)).all()


def test_batch_run_takes_seeds() -> None:
    """Different seeds are different races; the same seed is the same race."""
    one, two, again = (
        {key: value for key, value in row.items() if key not in ("RunId", "iteration", "Step")}
        for row in batch([1, 2, 1])
    )
    assert one == again
    assert one["mean_speed_m_s"] != two["mean_speed_m_s"]
    assert one["past quarter mile"] == two["past quarter mile"] > 0


def test_batch_run_ends_with_the_last_note() -> None:
    model = run_to_end(RaceModel(MEET, 1, agents=False))
    (row,) = batch([1])
    assert row["time_s"] == model.t_s
    assert row["seed"] == 1


@pytest.mark.skipif(
    "rng" in inspect.signature(mesa.batch_run).parameters, reason="newer mesa notes its own steps"
)
def test_batch_run_looks_up_notes_by_step() -> None:
    """Row n of batch_run is the state after n + 1 steps: here at one second and two, and the stop."""
    rows = batch([1], data_collection_period=20, max_steps=58)
    assert [row["Step"] for row in rows] == [0, 20, 40, 58]
    assert [row["time_s"] for row in rows] == pytest.approx([0.0, 1.0, 2.0, 2.0])


@pytest.mark.skipif(
    "rng" in inspect.signature(mesa.batch_run).parameters, reason="newer mesa takes rng instead"
)
def test_iterations_repeat_one_race() -> None:
    """What the docstring warns of: mesa's iterations with a fixed seed are copies."""
    first, second = batch([4], iterations=2, max_steps=900)
    assert (first["iteration"], second["iteration"]) == (0, 1)
    assert first["mean_speed_m_s"] == second["mean_speed_m_s"]


def test_held_values_hold() -> None:
    held = HeldValues([0, 3, 5], lambda: 6)
    for note in "abc":
        held.append(note)
    assert list(held) == ["a", "a", "b", "b", "c", "c"]
    assert (held[-1], held[1:4]) == ("c", ["a", "b", "b"])
    with pytest.raises(IndexError):
        held[6]


def test_a_finished_model_is_let_go() -> None:
    model = RaceModel(MEET, 1)
    model.step()
    gone, arrays = weakref.ref(model), weakref.ref(model.race)
    del model
    gc.collect()
    assert gone() is None
    assert arrays() is None


def test_mistakes_are_told() -> None:
    with pytest.raises(BadInput, match="seed: none"):
        RaceModel(MEET, None)
    with pytest.raises(BadInput, match="data_every_s: 0"):
        RaceModel(MEET, 1, data_every_s=0)
    with pytest.raises(BadInput, match="nowhere"):
        RaceModel("nowhere.toml", 1)


def test_own_reporters_of_the_model_and_of_every_runner() -> None:
    """Names and functions, as mesa has them, beside what is always noted."""
    model = RaceModel(
        MEET,
        3,
        data_every_s=1.0,
        model_reporters={"best": lambda race: min(one.place for one in race.agents)},
        agent_reporters={"team": "team", "fast": lambda one: one.speed_m_s > 1.0},
    )
    while model.t_s < 5.0:
        model.step()
    notes = model.datacollector.get_agent_vars_dataframe()
    assert list(notes.columns) == ["team", "fast"]
    assert len(notes) == 6 * len(model.roster)
    last = notes.xs(model.steps, level="Step")
    assert last["fast"].sum() == (model.bodies["speed"] > 1.0).sum() > 0
    frame = model.datacollector.get_model_vars_dataframe()
    assert (frame["best"] == 1).all()
    assert "slowed_share" in frame


def test_a_runner_does_not_act_alone() -> None:
    """One error of ours that says what to do."""
    model = RaceModel(MEET, 3)
    with pytest.raises(BadInput, match=r"model\.step\(\)"):
        model.agents.do("step")
    with pytest.raises(BadInput, match="agents=True"):
        RaceModel(MEET, 3, agents=False, agent_reporters={"team": "team"})
