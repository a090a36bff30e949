"""What holds of every race holds of one by a behaviour of one's own; one that changes nothing changes no
bit."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.cli import main
from simrun.engine.field import stand_m
from simrun.engine.model import RaceModel
from simrun.engine.run import Race, run_race
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording
from simrun.tactics.margins import own_margins
from simrun.tactics.own.given import behaviour_named
from tests.helpers.worlds import SHARP_TURN, glass_of, rows_of, scenario_of

TOP = Path(__file__).parents[2]
PATIENT = behaviour_named("shared.examples.patient_pack:PATIENT")
EVERYBODY = simrun.Behaviour(wish=PATIENT.wish, figures=PATIENT.figures)

pytestmark = pytest.mark.slow


def as_wished(wished_m_s: float) -> float:
    return wished_m_s


def as_chosen(offset_m: float) -> float:
    return offset_m


def far_right(room_right_m: float) -> float:
    return min(room_right_m, 1.5)


def everything(recording: Recording) -> dict[str, bytes]:
    values = {column.name: getattr(recording, column.name) for column in fields(Recording)}
    return {name: v.tobytes() for name, v in values.items() if isinstance(v, np.ndarray)}


@pytest.fixture(scope="module")
def day() -> Scenario:
    return simrun.read(TOP / "scenarios" / "brindle_fen.toml").changed({"clock.limit": 150})


@pytest.fixture(scope="module")
def usual(day: Scenario) -> Recording:
    return run_race(day, 2)


def test_one_that_wants_what_is_wanted_anyway_changes_no_bit(
    day: Scenario, usual: Recording
) -> None:
    """The placebo: through the hooks, and every array of the recording the same."""
    same = simrun.Behaviour(wish=as_wished, side=as_chosen)
    assert everything(simrun.race(day, 2, behaviour=same)) == everything(usual)


def test_only_those_it_is_for_are_told_anything_alone(day: Scenario, usual: Recording) -> None:
    """Alone, the others' times are the same to the last bit; ours, easing behind nobody, too. In the field
    ours change."""
    own = simrun.race(day, 2, behaviour=PATIENT)
    assert own.alone_s.tobytes() == usual.alone_s.tobytes()
    ours = usual.roster.team == day.our_team
    assert not np.array_equal(own.crossing_s[ours], usual.crossing_s[ours], equal_nan=True)


def test_a_side_is_gone_to(day: Scenario, usual: Recording) -> None:
    """Everybody told to keep right is further right on the straight, facing along +x: lower y."""
    right = simrun.race(day, 2, behaviour=simrun.Behaviour(side=far_right))
    at = int(20.0 / 0.1)
    moved = right.position_m[at, :, 1] - usual.position_m[at, :, 1]
    assert np.nanmean(moved) < -0.2


def test_mesa_steps_the_same_race(day: Scenario) -> None:
    model = RaceModel(day, 2, agents=False, tactic=PATIENT)
    while model.running:
        model.step()
    told = everything(simrun.race(day, 2, behaviour=PATIENT))
    assert everything(model.recording()) == told


def test_the_mirrored_course_gives_the_mirrored_race(tmp_path: Path) -> None:
    scenario = scenario_of(SHARP_TURN, tmp_path)
    roster = scenario.roster(4)
    stand = stand_m(scenario.start_line, roster)
    left, right = own_margins(scenario.strip, roster)
    seen = Race(scenario, roster, stand, (left, right), own=EVERYBODY).run()
    turn = np.array([1.0, -1.0])
    other = Race(glass_of(scenario), roster, stand * turn, (right, left), own=EVERYBODY).run()
    np.testing.assert_array_equal(seen.tape.position * turn.astype(np.float32), other.tape.position)
    np.testing.assert_array_equal(seen.tape.crossing_s, other.tape.crossing_s)


def test_the_order_of_the_runners_does_not_matter(tmp_path: Path) -> None:
    scenario = scenario_of(SHARP_TURN, tmp_path)
    roster = scenario.roster(4)
    order = np.random.default_rng(1).permutation(len(roster))
    stand, margins = stand_m(scenario.start_line, roster), own_margins(scenario.strip, roster)
    one = Race(scenario, roster, stand, margins, own=EVERYBODY).run()
    some = (stand[order], tuple(side[order] for side in margins))
    other = Race(scenario, rows_of(roster, order), *some, own=EVERYBODY).run()
    np.testing.assert_array_equal(one.tape.crossing_s[order], other.tape.crossing_s)


def test_half_the_step_changes_what_it_costs_by_less_than_chance(tmp_path: Path) -> None:
    """Mean crossing times at step 0.05 and 0.025 s, as for everybody without it (test_half_step): within 2 %
    of the time lost or 0.1 s, our own requirement, or within three standard errors of 24 seeds."""
    scenario = scenario_of(SHARP_TURN, tmp_path)
    half = scenario.changed({"clock.step_s": 0.025})
    changes = []
    for seed in range(1, 25):
        whole_s, half_s = (
            run_race(simrun.with_behaviour(one, EVERYBODY), seed, frames=False).crossing_s
            for one in (scenario, half)
        )
        changes.append((half_s - whole_s).mean(axis=0))
    mean, error = np.mean(changes, axis=0), np.std(changes, axis=0, ddof=1) / np.sqrt(len(changes))
    assert (np.abs(mean) < np.maximum(0.1, 3 * error)).all(), f"{mean} +/- {error} s"


def test_the_command_line_and_python_write_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Through two processes of a study, too: they find it by its name."""
    monkeypatch.chdir(TOP)
    words = ["boxes", "scenarios/dual_meet.toml", "--seeds", "4", "--until", "130 m", "--quiet"]
    words += ["--behaviour", "shared.examples.patient_pack:PATIENT", "--workers"]
    for count in ("1", "2"):
        assert main([*words, count, "--out", str(tmp_path / count)]) == 0
    one, two = ((tmp_path / count / "boxes.csv").read_bytes() for count in ("1", "2"))
    assert one == two
    own = simrun.with_behaviour(simrun.read("scenarios/dual_meet.toml"), PATIENT)
    found = simrun.boxes(own, tmp_path / "own", seeds=4, until_m=130.0, workers=1)
    assert found.save()
    assert (tmp_path / "own" / "boxes.csv").read_bytes() == one
    assert "by ease_behind" in (tmp_path / "1" / "boxes.html").read_text("utf-8")
