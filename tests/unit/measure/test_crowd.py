"""Do density, flow, queueing and the strung-out moment come out in worlds with a known answer?"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.measure.crowd import (
    busiest_flow,
    first_narrowing_s,
    highest_density,
    slow_seconds,
    squares_of,
    strung_out_s,
)
from simrun.measure.crowd_places import (
    density_by_place,
    flow_by_place,
    place_numbers,
    slow_by_place,
)
from simrun.measure.places import course_places
from simrun.scenario.scenario import Scenario

FRAME_S = 0.25


def funnel() -> Scenario:
    pieces = [
        {"piece": "straight", "length": 40, "width": 30},
        {"piece": "narrowing", "length": 20, "width": 4},
        {"piece": "straight", "length": 60},
    ]
    document = {
        "name": "Funnel",
        "start": {"width": 30, "boxes": 10, "box_width": 3, "front_row": 3},
        "course": {"pieces": pieces, "checkpoints": [{"name": "throat", "at": 60}]},
        "field": {"fill": True},
    }
    return Scenario.assembled(document, {}, "funnel")


DAY = funnel()
PLACES = course_places(DAY.strip)


def world(x_m: Any, y_m: Any, speed: Any, wished: float = 5.0) -> Any:
    """A recording with given ways and speeds, (T, N) each, on the funnel."""
    position = np.stack(np.broadcast_arrays(x_m, y_m), axis=2).astype(np.float32)
    return SimpleNamespace(
        strip=DAY.strip,
        crossing_s=np.full((position.shape[1], 1), np.nan),
        roster=range(position.shape[1]),
        times_s=np.arange(len(position)) * FRAME_S,
        position_m=position,
        speed_m_s=np.broadcast_to(np.asarray(speed, dtype=np.float32), position.shape[:2]),
        wished_m_s=np.full(position.shape[:2], wished, dtype=np.float32),
    )


def marching(count: int, apart_m: float, speed: float = 5.0, seconds: float = 30.0) -> Any:
    """So many in single file, the first on the line, all at one speed."""
    t = np.arange(0, seconds, FRAME_S)[:, None]
    return world(speed * t - apart_m * np.arange(count), np.zeros((len(t), count)), speed)


def test_a_file_passes_the_narrowing_one_after_the_other() -> None:
    """60 m at 5 m/s: 12 s for the first, 0.4 s for every 2 m behind it."""
    when = first_narrowing_s(marching(6, 2.0))
    np.testing.assert_allclose(when, 12 + 0.4 * np.arange(6), atol=1e-3)


def test_who_runs_past_the_narrowing_has_not_been_through() -> None:
    """A metre outside its edge is not in it."""
    race = marching(2, 2.0)
    race.position_m[:, 1, 1] = 3.0
    assert np.isnan(first_narrowing_s(race)).tolist() == [False, True]


def test_flow_of_a_file() -> None:
    """One each 0.4 s through 4 m: 25 in ten seconds, 0.625 a second and metre."""
    assert busiest_flow(first_narrowing_s(marching(40, 2.0, seconds=60)), 4.0) == pytest.approx(
        0.625
    )
    assert busiest_flow(np.array([1.0, 2.0, 50.0]), 4.0) == pytest.approx(2 / 40)
    assert np.isnan(busiest_flow(np.array([np.nan]), 4.0))


def test_density_of_a_block_of_four_to_the_square_metre() -> None:
    """A raster of half metres holds four in every square metre, wherever the square is laid."""
    grid = np.stack(np.meshgrid(np.arange(6), np.arange(6)), axis=-1).reshape(-1, 2) * 0.5 + 0.2
    assert squares_of(grid).count.max() == 4
    found = squares_of(np.concatenate([grid, [[1.3, 2.3]]]))
    fullest = int(found.count.argmax())
    assert found.count[fullest] == 5
    assert abs(found.x_m[fullest] - 1.3) <= 0.5
    assert abs(found.y_m[fullest] - 2.3) <= 0.5


def test_density_counts_nobody_on_the_line_and_the_mean_of_a_second() -> None:
    """Five abreast within a metre, standing for 4 s, then away at 5 m/s: only what is 10 m off counts."""
    t = np.arange(0, 12, FRAME_S)[:, None]
    way = np.maximum(0.0, 5 * (t - 4)) * np.ones((1, 5))
    race = world(way, np.ones_like(t) * np.linspace(0.1, 0.9, 5), 5.0)
    density, x_m, _, when = highest_density(race)
    assert x_m >= 10
    assert when >= 6
    # At 5 m/s nobody is on one square metre for longer than a frame of the four in a second.
    assert density == pytest.approx(5 / 4)
    standing = world(
        np.where(t < 4, 0.0, 20.0) * np.ones((1, 5)), np.linspace(0.1, 0.9, 5) + 0 * t, 5.0
    )
    assert highest_density(standing)[0] == pytest.approx(5.0)


def test_nobody_off_the_line_has_no_density() -> None:
    """Nothing to measure is nan, not nought."""
    assert np.isnan(highest_density(world(np.zeros((20, 3)), np.zeros((20, 3)), 0.0))[0])


def test_slow_seconds_leave_the_first_strides_out() -> None:
    """Four frames of setting off do not count; eight frames at a fifth of the wished speed do: 2 s."""
    speed = np.array([0, 0.5, 1, 2] + [5] * 10 + [1] * 8 + [5] * 10, dtype=float)[:, None]
    race = world(np.zeros_like(speed), np.zeros_like(speed), speed)
    assert slow_seconds(race) == pytest.approx([2.0])
    brief = world(np.zeros((3, 1)), np.zeros((3, 1)), [[5.0], [1.0], [5.0]])
    assert slow_seconds(brief) == pytest.approx([0.25])


def test_nothing_counts_once_the_last_mark_is_passed() -> None:
    """Slow and packed from 6 s on, and over the last mark at 5 s: neither slow nor dense, nor held."""
    t = np.arange(0, 12, FRAME_S)[:, None]
    way = np.minimum(5 * t, 30.0) * np.ones((1, 5))
    race = world(way, np.linspace(0.1, 0.9, 5) + 0 * t, np.where(t < 6, 5.0, 0.5) * np.ones((1, 5)))
    assert slow_seconds(race).min() > 5
    assert highest_density(race)[0] == pytest.approx(5.0)
    race.crossing_s = np.full((5, 1), 5.0)
    assert slow_seconds(race).max() == 0
    assert highest_density(race)[0] < 2
    assert strung_out_s(race) == 0.0


def test_slow_seconds_and_density_belong_to_the_place_they_are_on() -> None:
    """Five side by side run 30 m, stand packed for 4 s in the taper from 40 to 60 m, and run on."""
    t = np.arange(0, 20, FRAME_S)
    at = np.concatenate(
        [np.interp(t[t < 14], [0, 10, 14], [0, 50, 50]), 50 + 5 * (t[t >= 14] - 14)]
    )
    speed = np.where((t >= 10) & (t < 14), 0.5, 5.0)
    ones = np.ones((1, 5))
    race = world(
        at[:, None] * ones, np.linspace(0.1, 0.9, 5) + 0 * t[:, None], speed[:, None] * ones
    )
    names = [place.kind for place in PLACES]
    number = place_numbers(race, PLACES)
    slow, dense = (
        slow_by_place(race, number, len(PLACES)),
        density_by_place(race, number, len(PLACES)),
    )
    assert slow[names.index("taper")] == pytest.approx(4.0)
    assert slow.sum() == pytest.approx(slow_seconds(race).mean())
    assert int(np.nanargmax(dense)) == names.index("taper")
    assert np.nanmax(dense) == pytest.approx(highest_density(race)[0])
    assert np.isnan(dense[0])


def test_flow_out_of_a_place_is_by_its_own_width() -> None:
    """One each 0.4 s past the end of the taper, 4 m wide: 0.625 a second and metre; nobody flows standing."""
    ends = np.array([place.to_m for place in PLACES])
    passed = (ends[None, :] + 2.0 * np.arange(40)[:, None]) / 5.0
    flow = flow_by_place(DAY.strip, PLACES, passed)
    assert flow[[place.kind for place in PLACES].index("taper")] == pytest.approx(0.625)
    assert np.isnan(flow[0])


def test_strung_out_is_the_last_moment_that_a_tenth_was_held() -> None:
    """Of twenty, three are held until second 10, two for longer: from 10 s on only a tenth is."""
    t = np.arange(0, 20, FRAME_S)[:, None]
    speed = np.full((len(t), 20), 5.0)
    speed[1:, :3] = np.where(t[1:] < 10, 4.0, 5.0)
    speed[1:, :2] = 4.0
    still = np.zeros_like(speed)
    assert strung_out_s(world(still, still, speed)) == pytest.approx(10.0)
    speed[1:, :3] = 4.0
    assert np.isnan(strung_out_s(world(still, still, speed)))
