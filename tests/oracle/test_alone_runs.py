"""The runs alone, which all time lost is measured against, where a pencil can say what they come to."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simrun.engine.field import settings_for, stand_m
from simrun.engine.run import SOUND_STEPS, alone_runs, best_box, field_of, raced_in, run_race
from simrun.measure.loss import time_lost
from simrun.tactics.margins import MEASURING_MARGIN_M, own_margins
from tests.helpers.worlds import TWO_ON_A_FIELD, scenario_of
from tests.oracle.days import BOXES, SPEED_M_S, STRAIGHT

pytestmark = pytest.mark.oracle


@pytest.mark.parametrize("room_m", [0.0, 1.1])
def test_who_hugs_every_corner_runs_the_shortest_line_however_it_is_rounded(
    tmp_path: Path, room_m: float
) -> None:
    """Their own line is the shortest one, whatever room a race gives at a post: it costs nothing."""
    day = scenario_of(BOXES.format(boxes=5, limit=120), tmp_path)
    roster, settings = day.roster(1), settings_for(day, 1)._replace(bend_rounding_room_m=room_m)
    nearest = np.full_like(roster.inside_m, MEASURING_MARGIN_M)
    roster = replace(roster, inside_m=nearest, edge_share=np.zeros_like(roster.edge_share))
    own = own_margins(day.strip, roster, room_m)
    found = alone_runs(day, roster, stand_m(day.start_line, roster), own, settings).alone()
    assert found.best_box == int(roster.box[0]) == 1
    np.testing.assert_allclose(found.alone_s, found.shortest_s, atol=1e-9)
    np.testing.assert_allclose(found.best_s, found.shortest_s, atol=0.06)


def test_what_is_left_alone_is_what_the_own_line_took(tmp_path: Path) -> None:
    """Spent = (speed - critical speed) x the time on the own line, wide round the corner."""
    day = scenario_of(BOXES.format(boxes=5, limit=120), tmp_path)
    roster = day.roster(1)
    even = {"wander": np.ones_like(roster.wander), "opening": np.zeros_like(roster.opening)}
    roster = replace(roster, inside_m=np.full_like(roster.inside_m, 30.0), **even)
    own = own_margins(day.strip, roster)
    stand = stand_m(day.start_line, roster)
    found = alone_runs(day, roster, stand, own, settings_for(day, 1)).alone()
    assert (found.alone_s - found.shortest_s)[0, 1] > 2.0
    spent_m = (found.reserve_m[:, 0] - found.reserve_m[:, 1])[0]
    between_s = (found.alone_s[:, 1] - found.alone_s[:, 0])[0]
    assert spent_m == pytest.approx((SPEED_M_S - roster.critical_m_s[0]) * between_s, rel=0.02)


def test_alone_the_front_is_known(tmp_path: Path) -> None:
    """With racing on the slower of two goes out faster alone than with no front's pace to know."""
    day = scenario_of(TWO_ON_A_FIELD, tmp_path)
    field = field_of(day, 1, frames=False).run()
    own = (field.ways.margin_left, field.ways.margin_right)
    roster, stand = field.roster, stand_m(day.start_line, field.roster)
    slower = int(np.argmin(roster.cruise_m_s))
    raced = raced_in(field)
    assert raced is not None
    known = alone_runs(day, roster, stand, own, field.settings, racing=raced).alone()
    nobody = raced._replace(front_m_s=np.zeros(0))
    unknown = alone_runs(day, roster, stand, own, field.settings, racing=nobody).alone()
    assert known.alone_s[slower, 0] < unknown.alone_s[slower, 0] - 0.5


@pytest.mark.slow
def test_two_far_apart_who_race_cost_each_other_nothing(tmp_path: Path) -> None:
    """With racing on: what each wished in the race, wished for alone, takes as long; so nothing is traffic.

    They are a minute apart over 5 km and never near, but each of them runs for a place.
    """
    ran = run_race(scenario_of(TWO_ON_A_FIELD, tmp_path), frames=False)
    table = time_lost(ran)
    assert np.abs(table["traffic_s"]).max() < 0.05
    assert np.abs(table["line_s"]).max() < 0.05
    assert np.isfinite(table["racing_s"]).all()
    np.testing.assert_allclose(
        ran.raced_s - ran.alone_s, table["racing_s"].to_numpy().reshape(2, -1)
    )
    assert (ran.alone_reserve_m <= ran.roster.reserve_m[:, None] + 1e-9).all()


@pytest.mark.slow
def test_where_nobody_races_what_was_raced_is_the_own_line(tmp_path: Path) -> None:
    """At a corner in a wide lane, where lines differ: racing takes nothing, and the line does."""
    ran = run_race(scenario_of(BOXES.format(boxes=5, limit=120), tmp_path), frames=False)
    np.testing.assert_array_equal(ran.raced_s, ran.alone_s)
    assert np.abs(ran.alone_s - ran.shortest_s)[:, 1].max() > 0.1


def test_nearly_equal_boxes_may_be_taken_for_each_other_by_a_step_and_a_half(
    tmp_path: Path,
) -> None:
    """Straight on from a line that is a little turned: a box is later as it lies further back.

    Waiting for the sound is whole steps of 0.05 s. Over all turns and guns the reference is never later than
    the best box by more than 0.075 s; it is later in some, and never where boxes lie further apart than that.
    """
    plain = scenario_of(STRAIGHT.format(boxes=5, limit=120), tmp_path)
    options = {"alone": True, "frames": False, "settings": None}
    late_s = []
    for turn_deg in (-6.0, -2.5, -1.2, -0.7, 0.4, 0.9, 1.6, 3.0, 8.0):
        for gun in ("left", "middle", "right"):
            day = plain.changed({"start.tilt": turn_deg, "start.gun": gun})
            ahead_m = [float(day.start_line.stand_middle_m(box)[0]) for box in range(1, 6)]
            by_hand_s = (max(ahead_m) - np.array(ahead_m)) / SPEED_M_S
            found = best_box(day, day.roster(1), options)
            late_s.append(float(by_hand_s[found - 1]))
            if np.diff(np.sort(by_hand_s))[0] > SOUND_STEPS * 0.05:
                assert late_s[-1] == 0.0
    assert max(late_s) <= SOUND_STEPS * 0.05 + 1e-9
    assert max(late_s) > 0.0
