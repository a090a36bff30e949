"""What the races of a set back team are read as: by hand on made-up races, and one small study."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from simrun.engine.set_back import BY_PLAN, FOR_PLACES, WAYS
from simrun.measure.loss import places
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan, digest_of
from simrun.trials.races import Outcome, packed
from simrun.trials.run_back import (
    Marks,
    arm_of,
    kick_table,
    lost_table,
    marks_of,
    run_back_plan,
    timed,
    twin_way,
)
from simrun.trials.store import Store

SCENARIOS = Path(__file__).parents[3] / "scenarios"
HAND, DELAY = 20.0, 6.0


@pytest.fixture(scope="module")
def dual() -> tuple[Scenario, Marks]:
    return timed(read(SCENARIOS / "dual_meet.toml"))


@pytest.fixture(scope="module")
def study(
    dual: tuple[Scenario, Marks], tmp_path_factory: pytest.TempPathFactory
) -> tuple[Plan, Path, Marks]:
    """Two seeds of the dual meet, our team on time and six seconds late."""
    day, marks = dual
    plan = run_back_plan(day, "Millbrook", [0.0, DELAY], [HAND], (1, 2))
    store = tmp_path_factory.mktemp("back") / "races.db"
    return plan, carry_out(plan, store, workers=1), marks


def test_the_marks_are_where_the_start_is_over_and_so_far_from_the_finish() -> None:
    """Of every shipped course, however its own marks lie: nothing to go lies before the end of the start."""
    expected = {
        "dual_meet": (246.888, (200.0,)),
        "brindle_fen": (600.0, (200.0,)),
        "ferry_meadow": (415.0, (1000.0, 400.0, 200.0)),
        "sallow_heath": (620.0, (1000.0, 400.0, 200.0)),
    }
    for name, (start_m, to_go_m) in expected.items():
        day = read(SCENARIOS / f"{name}.toml")
        marks = marks_of(day)
        assert (marks.start_m, marks.to_go_m) == (pytest.approx(start_m), to_go_m)
        there, _ = timed(day)
        stations = [mark.station_m for mark in there.strip.checkpoints]
        assert len(np.unique(stations)) == len(stations)
        wanted = [marks.start_m, *(marks.finish_m - far for far in to_go_m), day.strip.length_m]
        np.testing.assert_allclose(stations, wanted, atol=0.03)


def test_a_mark_that_is_drawn_is_not_told_twice() -> None:
    """Two marks at one place would leave one of them uncrossed: the drawing's own stays, once."""
    day, marks = timed(read(SCENARIOS / "ostrel_common.toml"))
    stations = [mark.station_m for mark in day.strip.checkpoints]
    assert sorted(round(at) for at in stations) == [400, 600, 1000, 1200, 1400, 1600]
    assert marks.name == "400 m"


def test_every_way_and_delay_is_an_arm_and_late_by_nothing_is_the_twin(
    dual: tuple[Scenario, Marks],
) -> None:
    """Two twins and five ways a delay; every arm is another race, and none of them is a plain one."""
    plan = run_back_plan(dual[0], "Millbrook", [0.0, 5.0, 10.0], [20.0, 40.0], (1,))
    assert len(plan) == len(plan.arms) == 2 * (2 + 2 * len(WAYS))
    plain = {digest_of(arm) for arm in plan.arms.values()}
    assert not plain & set(plan.digests.values())
    assert plan.set_back[arm_of(40.0, BY_PLAN, 10.0)].seconds == 10.0


def test_late_by_nothing_runs_nothing_back(study: tuple[Plan, Path, Marks]) -> None:
    """The placebo, to the bit, in seconds, places and points."""
    plan, store, marks = study
    table = lost_table(plan, store, marks, [0.0, DELAY], [HAND])
    assert len(table) == 2 * 2 * len(WAYS)
    nothing = table[table["delay_s"] == 0.0]
    columns = ["start_s", "finish_s", "back_s", "places", "points"]
    assert (nothing[columns] == 0.0).all().all()
    late = table[table["delay_s"] == DELAY]
    assert (late["start_s"] > 1.0).all()
    assert (late["runners"] == 10).all()
    np.testing.assert_allclose(late["back_s"], DELAY - late["finish_s"])


def made_up(plan: Plan, folder: Path, times: dict[str, np.ndarray]) -> Path:
    """A store in which these arms have these crossing times, with the first seed of the plan."""
    path = folder / "races.db"
    with Store(path, writing=True) as kept:
        kept.add_arms(plan.texts)
        for arm, crossing_s in times.items():
            roster = plan.arms[arm].roster(1)
            still = np.zeros(len(roster), dtype=np.float32)
            alone = {f"{name}_s": crossing_s for name in ("alone", "shortest", "best", "raced")}
            race = Outcome(
                roster.team_index, roster.box, roster.row, roster.line, crossing_s, **alone,
                reserve_m=np.full_like(crossing_s, 9.0), place=places(crossing_s),
                clear_place=places(crossing_s), stood_s=still, stood_m=still,
            )  # fmt: skip
            kept.add_races([(plan.digests[arm], 1, packed(race))])
    return path


def test_seconds_places_and_points_by_hand(dual: tuple[Scenario, Marks], tmp_path: Path) -> None:
    """Our ten are first by a minute; late by 100 s they come behind all ten others: 10 places each, and
    8 + 9 + 10 + 11 + 12 - 15 points, since the first seven of a team are counted. Six seconds are run back.
    """
    day, marks = dual
    plan = run_back_plan(day, "Millbrook", [100.0], [HAND], (1,))
    twin = np.arange(20.0)[:, None] + np.array([100.0, 160.0, 200.0])
    twin[10:] += 60.0
    late = twin.copy()
    late[:10] += np.array([100.0, 95.0, 94.0])
    late[9, -1] = np.nan
    arms = {arm_of(HAND, twin_way(way), 0.0): twin for way in WAYS}
    arms |= {arm_of(HAND, way, 100.0): late for way in WAYS}
    store = made_up(plan, tmp_path, arms)
    for row in lost_table(plan, store, marks, [100.0], [HAND]).to_dict("records"):
        assert (row["runners"], row["start_s"], row["finish_s"]) == (9.0, 100.0, 94.0)
        assert (row["back_s"], row["places"], row["points"]) == (6.0, 10.0, 35.0)
        assert (row["kept_m"], row["left_m"]) == (9.0, 9.0)


def test_a_kick_is_counted_from_its_mark_to_the_finish(
    dual: tuple[Scenario, Marks], tmp_path: Path
) -> None:
    """The last of ours passes three in the last 200 m, nobody else anybody; what came before is no kick."""
    day, marks = dual
    plan = run_back_plan(day, "Millbrook", [5.0], [HAND], (1,))
    times = np.arange(20.0)[:, None] + np.array([100.0, 160.0, 200.0])
    times[9, 2] -= 3.5
    times[5, 0] += 9.5
    arms = {arm_of(HAND, way, 0.0): times for way in (BY_PLAN, FOR_PLACES)}
    table = kick_table(plan, made_up(plan, tmp_path, arms), marks, [HAND])
    assert list(table["to_go_m"]) == [200.0, 200.0]
    for row in table.to_dict("records"):
        assert (row["our_places"], row["our_most"]) == (0.0, 3.0), "three of ours lose one each"
        assert (row["winners"], row["most"]) == (1.0, 3.0)


def test_a_study_is_taken_up_again(
    study: tuple[Plan, Path, Marks], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of it in one sitting, the rest in another: the same tables, and nothing is run twice."""
    plan, store, marks = study
    half = replace(plan, seeds=plan.seeds[:1])
    path = carry_out(half, tmp_path / "again.db", workers=1)
    carry_out(plan, path, workers=1)
    asked = ([0.0, DELAY], [HAND])
    pd.testing.assert_frame_equal(
        lost_table(plan, path, marks, *asked), lost_table(plan, store, marks, *asked)
    )
    monkeypatch.setattr("simrun.trials.races.set_back_outcome", None)
    carry_out(plan, path, workers=1)
    arm = arm_of(HAND, BY_PLAN, DELAY)
    assert len(list(outcomes_of(plan, arm, path))) == 2
