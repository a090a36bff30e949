"""Which edges does everybody keep off, and by how much?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simrun.course.route import trace
from simrun.course.string import cuts_of
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.tactics.margins import (
    gives_m,
    keep_across_bends,
    own_margins,
    shortest_margins,
    unnamed_bends,
)
from tests.helpers.worlds import mirrored

OSTREL = read("scenarios/ostrel_common.toml")
FERRY = read("scenarios/ferry_meadow.toml")


def named_cuts(day: Scenario) -> np.ndarray:
    """Which cuts lie inside a named turn?"""
    cuts = np.zeros(len(day.strip.width_m), dtype=bool)
    for gate in day.strip.gates:
        if gate.kind == "turn":
            cuts[gate.first_cut : gate.last_cut + 1] = True
    return cuts


def test_a_drawn_bend_is_found_and_a_named_turn_left_alone() -> None:
    """The long bend of a drawn course is an inside edge for many cuts; a named turn is left to the choice."""
    left, right = unnamed_bends(OSTREL.strip)
    assert left.sum() + right.sum() > 20
    assert not (left | right)[named_cuts(OSTREL)].any()


def test_on_a_straight_nobody_keeps_off_anything_more() -> None:
    """On a course of pieces a string can bend so only where the width changes."""
    left, right = unnamed_bends(FERRY.strip)
    width = FERRY.strip.width_m
    for cut in np.flatnonzero(left | right):
        assert np.ptp(width[cut - 1 : cut + 2]) > 1e-3


def test_everybody_has_a_place_of_their_own_in_a_bend() -> None:
    """Spread over 0.3 m to a third of the width, 3 m at most, evenly by the share; the shortest way keeps
    the measuring margin."""
    roster = OSTREL.roster(1)
    left, _ = own_margins(OSTREL.strip, roster)
    plain, _ = shortest_margins(OSTREL.strip, len(roster))
    bends, _ = unnamed_bends(OSTREL.strip)
    throats = [gate.last_cut for gate in OSTREL.strip.gates if gate.kind != "turn"]
    bends[throats] = False
    inside = left[:, bends]
    most = np.minimum(3.0, OSTREL.strip.width_m[bends] / 3)
    assert (inside >= plain[:, bends]).all()
    assert (inside <= most + 1e-9).all()
    share = (inside - plain[:, bends]) / (most - plain[:, bends])
    np.testing.assert_allclose(share, np.tile(roster.edge_share[:, None], bends.sum()), atol=1e-9)
    assert np.ptp(roster.edge_share) > 0.9


def test_who_keeps_off_more_runs_further_round_a_drawn_bend() -> None:
    """From one place on the line: the last of the band further than the first, by no more than the turning of
    the edges times the band."""
    strip, roster = OSTREL.strip, OSTREL.roster(1)
    cuts, last = cuts_of(strip.left_m, strip.right_m), strip.gates[-1].first_cut - 8
    length = {}
    for share in (0.0, 1.0):
        told = replace(roster, edge_share=np.full(len(roster), share), pull=np.ones(len(roster)))
        left, right = own_margins(strip, told)
        length[share] = trace(cuts, left[0], right[0], (0.0, 0.0), last).length_m
    edges = (strip.left_m[:last], strip.right_m[:last])
    turning = sum(
        np.abs(np.diff(np.unwrap(np.arctan2(*np.diff(e, axis=0).T)))).sum() for e in edges
    )
    assert 0.5 < length[1.0] - length[0.0] < 2.7 * turning


def test_mirrored_edges_are_mirrored() -> None:
    """Left and right change places, to the last bit."""
    left, right = unnamed_bends(FERRY.strip)
    glass_left, glass_right = unnamed_bends(mirrored(FERRY.strip))
    assert (left == glass_right).all()
    assert (right == glass_left).all()


def test_a_line_is_shifted_where_a_string_can_bend_and_there_is_room() -> None:
    """At a throat, a drawn bend all but 3 m; nothing on a straight, at a named turn and on a boardwalk."""
    for day in (FERRY, OSTREL):
        strip, gives = day.strip, gives_m(day.strip)
        bends = unnamed_bends(strip)[0] | unnamed_bends(strip)[1]
        for gate in strip.gates:
            bends[gate.last_cut] |= gate.kind != "turn"
        np.testing.assert_allclose(gives[bends], np.maximum(0.0, strip.width_m[bends] - 3.0))
        assert (gives[~bends] == 0.0).all()
        assert (gives[named_cuts(day)] == 0.0).all()
        assert (gives[strip.width_m <= 3.0] == 0.0).all()
        assert (gives > 5.0).any()


def told(lines: dict[str, object]) -> Scenario:
    """The farm race with our team told these lines."""
    return FERRY.changed({"teams.Alderbrook.lines": lines, "teams.Alderbrook.line": None})


def of_ours(day: Scenario) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Our rows, and their margins from the left and the right."""
    roster = day.roster(2)
    left, right = own_margins(day.strip, roster)
    return roster.team == "Alderbrook", left, right


def test_entry_apex_and_exit_of_a_turn_are_told_apart() -> None:
    """Wide in and cut back after: far off the inside up to where the corner begins, and near it from there;
    nobody else's way, and no other cut, is another's than with the inside all through."""
    ours, inside, right = of_ours(told({"barn corner@1": "inside"}))
    _, wide, same = of_ours(told({"barn corner@1": ["outside", "inside", "inside"]}))
    gate = next(gate for gate in FERRY.strip.gates if (gate.name, gate.lap) == ("barn corner", 1))
    entry = gate.first_cut
    width = FERRY.strip.width_m[entry]
    assert (wide[ours, entry] >= 2 / 3 * width - 1e-9).all()
    assert (wide[ours, gate.last_cut] <= width / 3 + 1e-9).all()
    assert (wide[~ours] == inside[~ours]).all()
    assert (right == same).all()
    moved = np.flatnonzero((wide != inside).any(axis=0))
    stations = FERRY.strip.station_m[moved]
    assert stations.max() <= FERRY.strip.station_m[gate.last_cut] + 5.0
    assert stations.min() >= FERRY.strip.station_m[entry] - 5.0


def test_three_times_the_same_word_touches_the_apex_as_one_word_does() -> None:
    ours, one, _ = of_ours(told({"barn corner@1": "inside"}))
    _, three, _ = of_ours(told({"barn corner": ["inside", "inside", "inside"]}))
    gate = next(gate for gate in FERRY.strip.gates if gate.name == "barn corner")
    apex = (gate.first_cut + gate.last_cut) // 2
    assert (one[ours, apex] == three[ours, apex]).all()


def test_a_side_of_a_narrowing_is_told() -> None:
    """Left, middle, right third of the throat, each at a place of their own; nobody else, nowhere else."""
    gate = next(gate for gate in FERRY.strip.gates if gate.name == "headland")
    cut, width = gate.last_cut, FERRY.strip.width_m[gate.last_cut]
    ours, plain, other = of_ours(told({}))
    for side, low, high in (("left", 0, 1 / 3), ("middle", 1 / 3, 2 / 3), ("right", 2 / 3, 1)):
        _, left, right = of_ours(told({"headland": side}))
        assert (left[ours, cut] >= low * width - 1e-9).all()
        assert (left[ours, cut] <= high * width + 1e-9).all()
        np.testing.assert_allclose(left[ours, cut] + right[ours, cut], width)
        assert np.ptp(left[ours, cut]) > 0.3
        assert (left[~ours] == plain[~ours]).all()
        assert (np.delete(right, cut, axis=1) == np.delete(other, cut, axis=1)).all()


def test_the_own_place_is_kept_up_to_a_mark() -> None:
    """At the cut of the mark, where each stands across the line, in shares of the width."""
    day = FERRY.changed(
        {"course.checkpoints": [{"name": "oak", "at": 90}, {"name": "gateway", "at": 520}]}
    ).changed({"teams.Alderbrook.lines": {"oak": "own"}})
    ours, left, right = of_ours(day)
    roster, cut = day.roster(2), day.strip.checkpoint_cuts()[0]
    width = day.strip.width_m[cut]
    np.testing.assert_allclose(left[ours, cut], (1 + roster.throat_share[ours]) / 2 * width)
    np.testing.assert_allclose(left[ours, cut] + right[ours, cut], width)
    assert (left[~ours, cut] + right[~ours, cut] < width - 1).all()


def test_a_bend_is_shared_over_its_whole_width() -> None:
    """From the left edge to the right one, the same place in bends to both sides; what lies in no unnamed
    bend is left alone."""
    share = np.array([0.0, 0.5, 1.0])
    for day in (OSTREL, FERRY):
        left, right = shortest_margins(day.strip, 3)
        was, width = (left.copy(), right.copy()), day.strip.width_m
        keep_across_bends(left, right, day.strip, share)
        throats = [gate.last_cut for gate in day.strip.gates if gate.kind != "turn"]
        sides = zip((left, right[::-1]), was, unnamed_bends(day.strip), strict=True)
        for margin, before, bends in sides:
            bends[throats] = False
            np.testing.assert_array_equal(margin[:, ~bends], before[:, ~bends])
            np.testing.assert_allclose(margin[0, bends], 0.3)
            np.testing.assert_allclose(margin[1, bends], width[bends] / 2)
            np.testing.assert_allclose(margin[2, bends], width[bends] - 0.3)
