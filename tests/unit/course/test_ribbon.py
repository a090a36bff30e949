"""Cross-cuts between two edges: square, fanned, symmetric, never crossed."""

from __future__ import annotations

import time

import numpy as np
import pytest

from simrun.course.drawing.ribbon import crossed_cell, join_edges
from tests.helpers.ribbons import arc, cell_area_m2, path_m

NOTHING_KEPT = (np.zeros(0, dtype=int), np.zeros(0, dtype=int))


def test_a_straight_has_square_cuts_no_more_than_30_m_apart():
    ribbon = join_edges(
        np.array([[0.0, 5], [95, 5]]), np.array([[0.0, -5], [95, -5]]), NOTHING_KEPT
    )
    np.testing.assert_allclose(ribbon.left_m[:, 0], ribbon.right_m[:, 0], atol=1e-9)
    assert len(ribbon.left_m) == 5


def test_a_hairpin_about_one_post_is_a_fan_of_triangles():
    """Every cut of the fan ends at the post, no cell turns by more than 5 degrees.

    The walls are 0.3 degrees off parallel, and the cells before and after the fan may turn by 5
    degrees each: at least 169.7 of the 180 degrees are the fan's. Computed.
    """
    left = np.array([[0.0, 5], [100, 5], [0, 5.5]])
    right = np.vstack([[(0, -5)], arc((100, 5.25), 10.25, -90, 90, 37), [(0, 15.5)]])
    ribbon = join_edges(left, right, NOTHING_KEPT)
    across = np.diff(np.stack([ribbon.left_m, ribbon.right_m]), axis=0)[0]
    at_post = np.flatnonzero((ribbon.left_m == [100.0, 5.0]).all(axis=1))
    turn = np.diff(np.unwrap(np.arctan2(across[at_post, 1], across[at_post, 0])))
    assert 169.7 <= np.rad2deg(turn.sum()) <= 180.0
    assert np.rad2deg(turn.max()) <= 5.0 + 1e-9
    assert crossed_cell(ribbon.left_m, ribbon.right_m) == -1


@pytest.mark.parametrize("points", [19, 20, 47])
def test_cuts_of_a_bend_stand_square_however_densely_its_outside_was_drawn(points):
    """Inside radius 20 m, outside 30 m: cuts are 10 m long and point at the middle of the bend.

    Tolerance: half the outer edge's drawn step (30 m x 10 degrees / 2) over the width; the sagitta
    of the drawn chords, 30 (1 - cos 5 degrees) = 0.11 m on both edges. Computed.
    """
    left, right = arc((0, 20), 20, -90, 90, 19), arc((0, 20), 30, -90, 90, points)
    ribbon = join_edges(left, right, NOTHING_KEPT)
    across = ribbon.right_m - ribbon.left_m
    outward = (ribbon.left_m + ribbon.right_m) / 2 - [0, 20]
    length = np.hypot(*across.T)
    cosine = (across * outward).sum(axis=1) / length / np.hypot(*outward.T)
    assert np.abs(length - 10).max() < 0.25
    assert np.rad2deg(np.arccos(cosine.min())) < np.rad2deg(30 * np.deg2rad(10) / 2 / 10)


def test_cells_tile_the_ground_of_an_s_with_unmatched_points():
    """Cells all lie the right way round and their areas add up to the ground between the edges.

    Tolerance: 1 mm, by which a left-out point may be off the straight, times the edges' length.
    """
    x = np.linspace(0, 500, 61)
    left = np.stack([x, 6 + 25 * np.sin(x / 50)], axis=1)
    right = np.stack([x, -6 + 25 * np.sin(x / 50)], axis=1)[[*range(0, 61, 3)]]
    ribbon = join_edges(left, right, NOTHING_KEPT)
    ground = np.vstack([left, right[::-1]])
    shoelace = (
        -np.sum(ground[:, 0] * np.roll(ground[:, 1], -1) - ground[:, 1] * np.roll(ground[:, 0], -1))
        / 2
    )
    cells = cell_area_m2(ribbon.left_m, ribbon.right_m)
    assert (cells > 0).all()
    assert cells.sum() == pytest.approx(shoelace, abs=0.001 * (path_m(left) + path_m(right)))
    kept = {tuple(p) for p in ribbon.right_m}
    assert all(tuple(p) in kept for p in right)


def test_a_mirrored_drawing_has_mirrored_cuts():
    left = np.vstack([[(0, 20)], arc((80, 30), 22, -90, 0, 10), [(102, 120)]])
    right = np.vstack([[(0, -20)], arc((80, 30), 36, -90, 0, 14), [(116, 120)]])
    one = join_edges(left, right, NOTHING_KEPT)
    other = join_edges(right * [1, -1], left * [1, -1], NOTHING_KEPT)
    np.testing.assert_allclose(one.left_m, other.right_m * [1, -1], atol=1e-9)


def test_a_step_square_to_the_course_on_one_side_is_no_trouble():
    left = np.array([(0.0, 50), (150, 50), (150, 10), (300, 10)])
    ribbon = join_edges(left, np.array([(0.0, -50), (300, -50)]), NOTHING_KEPT)
    assert (cell_area_m2(ribbon.left_m, ribbon.right_m) > 0).all()
    assert {tuple(p) for p in left} <= {tuple(p) for p in ribbon.left_m}


@pytest.mark.parametrize("lean_m", [0.0, 1.0, -1.0])
def test_a_gate_in_a_wall_square_to_the_course_keeps_its_symmetry(lean_m):
    """The wall leans back, stands square, or leans forward; cuts join like to like.

    Only the dead corners are cut off: at most 1 m, and as much as the wall leans back, of the edge.
    """
    left = np.array(
        [(0, 50), (150, 50), (150 - lean_m, 2), (151, 2), (151 + lean_m, 50), (300, 50)]
    )
    ribbon = join_edges(left, left * [1, -1], NOTHING_KEPT)
    np.testing.assert_allclose(ribbon.left_m, ribbon.right_m * [1, -1], atol=1e-9)
    assert crossed_cell(ribbon.left_m, ribbon.right_m) == -1
    ends = {tuple(p) for p in ribbon.left_m}
    assert {(150 - lean_m, 2.0), (151.0, 2.0)} <= ends
    shift = max(0.0, 1.0 + lean_m) if lean_m >= 0 else 0.0
    assert (150 - shift, 50.0) in ends


def test_five_kilometres_take_less_than_a_second():
    """1667 points on each edge, 3 m apart."""
    x = np.linspace(0, 5000, 1667)
    left = np.stack([x, 8 + 30 * np.sin(x / 80)], axis=1)
    right = np.stack([x + 1.0, -8 + 30 * np.sin(x / 80)], axis=1)
    join_edges(left[:5], right[:5], NOTHING_KEPT)
    began = time.process_time()
    ribbon = join_edges(left, right, NOTHING_KEPT)
    assert time.process_time() - began < 1.0
    assert crossed_cell(ribbon.left_m, ribbon.right_m) == -1
