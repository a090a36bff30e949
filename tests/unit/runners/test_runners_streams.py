"""Do the streams of one seed keep out of each other's way?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.runners.streams import PURPOSES, point_of, stream, whole_blocks


@pytest.mark.parametrize("purpose", PURPOSES)
def test_the_same_seed_gives_the_same_bits(purpose: str) -> None:
    assert np.array_equal(stream(7, purpose).random(100), stream(7, purpose).random(100))


def test_no_two_purposes_and_no_two_seeds_share_a_draw() -> None:
    firsts = {stream(seed, purpose).random() for seed in range(50) for purpose in PURPOSES}
    assert len(firsts) == 50 * len(PURPOSES)


def test_drawing_for_one_purpose_moves_no_other() -> None:
    before = stream(3, "reactions").random(10)
    stream(3, "people").random(1000)
    assert np.array_equal(stream(3, "reactions").random(10), before)


def test_purposes_are_not_correlated() -> None:
    drawn = np.array([stream(11, purpose).standard_normal(20_000) for purpose in PURPOSES])
    off = np.corrcoef(drawn)[~np.eye(len(PURPOSES), dtype=bool)]
    assert np.max(np.abs(off)) < 4.5 / np.sqrt(20_000)


def test_an_unknown_purpose_names_the_nearest() -> None:
    with pytest.raises(KeyError, match="did you mean 'reactions'"):
        stream(1, "reaction")


def test_a_seed_below_nought_is_refused() -> None:
    with pytest.raises(ValueError, match="non-negative"):
        stream(-1, "people")


def test_the_bits_of_a_recorded_race_never_move() -> None:
    first = [round(stream(2026, purpose).random(), 12) for purpose in ("people", "draw")]
    assert first == [0.38269117722, 0.743334119782]


@given(st.integers(1, 10_000), st.integers(1, 300))
def test_whole_blocks_cover_the_columns_with_less_than_a_block_to_spare(
    columns: int, block: int
) -> None:
    drawn = whole_blocks(columns, block)
    assert drawn % block == 0
    assert 0 <= drawn - columns < block


def test_two_seeds_share_a_point_of_the_inputs() -> None:
    points = [point_of(seed, 5) for seed in range(1, 21)]
    assert all(points[i] == points[i + 1] for i in range(0, 20, 2))
    assert len(set(points)) == 10
    assert point_of(0, 5) == point_of(1, 5)


def test_a_point_is_a_function_of_the_seed_alone() -> None:
    """Asked for in any order, by any process, by any version of the library: part of every drawn race."""
    point_of.cache_clear()
    late = point_of(1001, 3)
    point_of.cache_clear()
    assert [point_of(seed, 3) for seed in (5, 1001)][1] == late
    assert point_of(5, 3) == pytest.approx(
        (0.7139584021642804, 0.37318234983831644, 0.9870355520397425)
    )


def test_a_point_of_a_seed_below_nought_is_refused() -> None:
    with pytest.raises(ValueError, match="from 0"):
        point_of(-1, 3)
