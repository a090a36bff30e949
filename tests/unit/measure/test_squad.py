"""Where to be, who is near, who is seen twice: closed forms by hand-made times, and the placebos."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.measure.squad.seen_twice import DETOUR, WALKS_M_S, seen_twice
from simrun.measure.squad.what_is_ahead import what_is_ahead
from simrun.measure.squad.where_to_be import last_free_place, lost_between, narrow_pieces
from simrun.measure.squad.with_whom import company
from tests.helpers.worlds import scenario_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"
PLACES = np.arange(1.0, 41.0)


def test_a_queue_that_grows_by_a_tenth_of_a_second_a_place_is_free_up_to_the_tenth() -> None:
    """Loss = 0.1 s x place: at place 10 it is a second, and not above it."""
    assert last_free_place(PLACES, 0.1 * PLACES) == 10
    shuffled = np.random.default_rng(1).permutation(40)
    assert last_free_place(PLACES[shuffled], 0.1 * PLACES[shuffled]) == 10


def test_one_who_is_unlucky_far_ahead_moves_the_place_little() -> None:
    """The third loses 1.2 s and everybody else 0.1 s a place: what never falls is still found near ten."""
    lost = 0.1 * PLACES
    lost[2] = 1.2
    assert 9 <= last_free_place(PLACES, lost) <= 10


@pytest.mark.parametrize("lost_s", [0.0, 0.9, 1.5])
def test_where_everybody_loses_the_same_there_is_no_place_to_be(lost_s: float) -> None:
    """Placebo: alone (nothing), equal and cheap, equal and dear."""
    assert np.isnan(last_free_place(PLACES, np.full(40, lost_s)))


def test_of_few_or_of_those_who_did_not_come_no_place_is_told() -> None:
    assert np.isnan(last_free_place(PLACES[:7], PLACES[:7]))
    gone = np.where(PLACES > 6, np.nan, PLACES)
    assert np.isnan(last_free_place(PLACES, gone))


def test_what_is_lost_between_two_marks_is_the_time_beyond_that_alone() -> None:
    field = np.array([[10.0, 32.0], [11.0, 30.0]])
    alone = np.array([[9.0, 29.0], [10.0, 29.0]])
    np.testing.assert_allclose(lost_between(field, alone, 0, 1), [2.0, 0.0])


def test_narrow_pieces_are_called_by_their_gates_and_lead_in_to_out() -> None:
    """The fen closes down twice: at the hedge gap with the drove behind it, and on the fen path."""
    found = narrow_pieces(simrun.read(SCENARIOS / "brindle_fen.toml").strip)
    assert [piece.name for piece in found] == ["hedge gap", "fen path"]
    assert found[0].from_m == pytest.approx(130, abs=1)
    assert found[0].to_m == pytest.approx(255, abs=2)


# --- who is near ---

STATIONS = np.arange(50.0, 501.0, 50.0)


def even(*speeds_m_s: float) -> np.ndarray:
    """Crossings of the stations at even paces from the gun."""
    return STATIONS[None, :] / np.array(speeds_m_s)[:, None]


def test_at_even_paces_the_gap_is_the_pace_that_is_more_times_the_time() -> None:
    """Ours at 5 and 4.9 m/s, a rival at 5.05: at 100 s of the first (500 m, left out) and before by hand.

    On the stretch 200 to 400 m the first of ours crosses 250, 300, 350, 400 m at 50, 60, 70, 80 s:
    the other is 0.1 m/s x 65 s = 6.5 m behind in the middle, the rival 0.05 x t = 4 m ahead at its
    end. From the second the rival is 0.15 x t ahead: 7.7, 9.2, 10.7 and 12.2 m, so within ten on one
    half of it and not on more.
    """
    ours = np.array([True, True, False])
    found = company(STATIONS, even(5.0, 4.9, 5.05), ours, 200.0, 400.0)
    assert found.gap_m[0, 1] == pytest.approx(-6.5)
    assert found.near.tolist() == [[False, True, True], [True, False, False]]
    assert found.rivals.tolist() == [1.0, 0.5]
    assert found.ahead.tolist() == [2, 0]
    assert found.ahead_m[0] == pytest.approx(0.05 * 80)
    assert not found.alone.any()


def test_who_runs_alone_has_nobody_near_and_nobody_ahead() -> None:
    """Placebo: one runner; and of two far apart the one behind looks for the one ahead."""
    lone = company(STATIONS, even(5.0), np.array([True]), 200.0, 400.0)
    assert lone.alone.tolist() == [True]
    assert lone.ahead.tolist() == [-1]
    assert np.isnan(lone.gap_m).all()
    assert lone.rivals.tolist() == [0.0]
    two = company(STATIONS, even(5.0, 4.0), np.array([True, True]), 200.0, 400.0)
    assert two.alone.tolist() == [True, True]
    assert two.ahead.tolist() == [-1, 0]


def test_everybody_equal_is_everywhere_with_everybody() -> None:
    """Placebo: no gap, every rival near, nobody alone, nobody ahead."""
    ours = np.arange(6) < 3
    found = company(STATIONS, even(*[5.0] * 6), ours, 0.0, 500.0)
    assert np.nanmax(np.abs(found.gap_m)) == 0.0
    assert found.rivals.tolist() == [3.0, 3.0, 3.0]
    assert found.near.sum(axis=1).tolist() == [5, 5, 5]
    assert found.ahead.tolist() == [-1, -1, -1]


def test_whoever_has_finished_was_ahead_when_last_seen() -> None:
    """At 2.5 m/s the one ahead, at 5, is home before 300 m: he is looked for at the marks before."""
    found = company(STATIONS, even(2.5, 5.0), np.array([True, False]), 150.0, 450.0)
    assert found.ahead.tolist() == [1]
    assert found.ahead_m[0] == pytest.approx(250.0)


def test_who_drops_out_is_nowhere_from_there_on() -> None:
    times = even(5.0, 5.0)
    times[1, 5:] = np.nan
    found = company(STATIONS, times, np.array([True, False]), 300.0, 450.0)
    assert found.alone.tolist() == [True]
    assert not found.near.any()


# --- where they are seen twice ---

SQUARE = (
    """
name = "Square"
[start]
width = 20
boxes = 4
box_width = 4
front_row = 3
[course]
laps = {{ from = "a", to = "t4", times = {laps} }}
"""
    + "".join(
        f"""
[[course.pieces]]
piece = "straight"
name = "{side}"
length = 100
{"width = 20" if side == "a" else ""}
[[course.pieces]]
piece = "turn"
name = "t{number}"
side = "left"
angle = 90
inside_radius = 10
"""
        for number, side in enumerate("abcd", start=1)
    )
    + """
[[course.checkpoints]]
name = "half"
at = 50
[field]
teams = 2
"""
)


def test_on_two_laps_of_a_square_one_spot_is_enough_and_on_one_there_is_a_walk(tmp_path) -> None:  # type: ignore[no-untyped-def]
    """A lap on, the same place; half a lap on, the other side of the square, if there is time to walk."""
    strip = scenario_of(SQUARE.format(laps=2), tmp_path).strip
    lap_m = strip.length_m / 2
    marks = [50.0, 50.0 + lap_m / 2, 50.0 + lap_m]
    times = (np.array(marks) / 4.0)[None, None, :] * np.ones((3, 5, 1))
    first, *others = seen_twice(strip, marks, times)
    assert (first.first, first.second, first.walk_m) == (0, 2, 0.0)
    spots = np.array([strip.point_at(at) for at in marks])
    across = float(np.hypot(*(spots[1] - spots[0])))
    spare = lap_m / 2 / 4.0
    assert bool(others) == (spare > DETOUR * across / WALKS_M_S)


def test_who_would_have_to_run_does_not_see_them_and_a_straight_course_has_no_second_place() -> (
    None
):
    """The dual meet leads one way: nobody on foot is faster than the runners."""
    strip = simrun.read(SCENARIOS / "dual_meet.toml").strip
    marks = [60.0, 200.0, 400.0]
    times = (np.array(marks) / 4.0)[None, None, :] * np.ones((2, 3, 1))
    assert seen_twice(strip, marks, times) == ()
    slow = times * 10
    assert seen_twice(strip, marks, slow) != ()


def test_the_last_of_ours_is_waited_for() -> None:
    """The same two marks, but one of ours comes by the first so late that the walk is not made."""
    strip = simrun.read(SCENARIOS / "dual_meet.toml").strip
    marks = [60.0, 200.0]
    times = np.array([[[10.0, 300.0], [12.0, 320.0]]])
    assert len(seen_twice(strip, marks, times)) == 1
    times[0, 1, 0] = 290.0
    assert seen_twice(strip, marks, times) == ()


# --- what lies ahead ---


def test_the_ground_ahead_is_told_as_it_was_drawn() -> None:
    """The fen: 36 m closing to 4 at the gap, the corner to the right by 90 degrees, 3 m up to the finish."""
    strip = simrun.read(SCENARIOS / "brindle_fen.toml").strip
    field = what_is_ahead(strip, 0.0, 175.0)
    assert (field.width_m, field.narrowest_m) == pytest.approx((36.0, 4.0), abs=0.01)
    assert field.narrowest_in_m == pytest.approx(175.0, abs=0.1)
    assert field.closes
    assert not field.opens
    drove = what_is_ahead(strip, 175.0, 290.0)
    (corner,) = drove.bends
    assert (corner.name, corner.side, corner.is_tight) == ("pump corner", 1, True)
    assert corner.angle_deg == pytest.approx(90.0, abs=0.1)
    assert corner.in_m == pytest.approx(95.0, abs=0.1)
    assert drove.opens
    last = what_is_ahead(strip, 600.0, strip.length_m)
    assert last.climb_m == pytest.approx(3.0, abs=0.05)
    assert last.bends == ()
    assert not any((last.closes, last.opens, last.barrier_left, last.barrier_right))


def test_a_mirrored_course_has_its_bends_on_the_other_side() -> None:
    day = simrun.read(SCENARIOS / "brindle_fen.toml")
    other = {"left": "right", "right": "left"}
    pieces = [piece for piece in day.course.pieces if piece.side]
    mirrored = day.changed({f"course.pieces.{p.name}.side": other[str(p.side)] for p in pieces})
    one, two = (what_is_ahead(each.strip, 0.0, each.strip.length_m) for each in (day, mirrored))
    assert [bend.side for bend in two.bends] == [-bend.side for bend in one.bends]


def test_a_wall_all_along_is_told_and_a_wall_half_way_is_not() -> None:
    day = simrun.read(SCENARIOS / "brindle_fen.toml").changed(
        {"course.pieces.ditch side.left": "barrier"}
    )
    assert what_is_ahead(day.strip, 290.0, 400.0).barrier_left
    assert not what_is_ahead(day.strip, 290.0, 560.0).barrier_left
    assert not what_is_ahead(day.strip, 290.0, 400.0).barrier_right
