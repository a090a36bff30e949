"""Whatever is put into a store comes out; whatever order it went in, the file is the same."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from simrun.trials.races import Outcome, packed, unpacked
from simrun.trials.statistics import estimate, holm, paired
from simrun.trials.store import Store
from tests.helpers.study_files import laid_down

TIMES = ("crossing_s", "alone_s", "shortest_s", "best_s", "raced_s", "reserve_m")
SHARES = st.floats(0, 1, allow_nan=False)
SECONDS = st.floats(-1e6, 1e6, allow_nan=False)


@st.composite
def outcomes(draw: st.DrawFn) -> Outcome:
    """Any race: up to 9 runners and 4 checkpoints, times missing anywhere."""
    count, marks = draw(st.integers(1, 9)), draw(st.integers(1, 4))
    whole = arrays(np.int16, count, elements=st.integers(0, 999))
    times = arrays(np.float64, (count, marks), elements=st.floats(allow_nan=True))
    place = arrays(np.float64, (count, marks), elements=st.sampled_from([np.nan, 1, 2, 3000]))
    still = arrays(np.float32, count, elements=st.floats(0, 1e6, width=32))
    words = st.lists(st.sampled_from(["inside", "3.5 m", "ö"]), min_size=count, max_size=count)
    return Outcome(
        *(draw(whole) for _ in range(3)),
        np.array(draw(words)),
        *(draw(times) for _ in TIMES),
        *(draw(place) for _ in range(2)),
        *(draw(still) for _ in range(2)),
    )


@settings(deadline=None)
@given(outcomes())
def test_every_race_comes_back_to_the_bit(outcome: Outcome) -> None:
    """nan, endless and negative zero too."""
    back = unpacked(packed(outcome))
    for name in TIMES:
        assert getattr(back, name).tobytes() == getattr(outcome, name).tobytes()
    for name in ("place", "clear_place", "stood_s", "stood_m", "box", "row", "team_index", "line"):
        np.testing.assert_array_equal(getattr(back, name), getattr(outcome, name))


@settings(max_examples=10, deadline=None)
@given(st.permutations(range(8)), st.integers(0, 8))
def test_the_file_does_not_know_in_which_order_it_was_filled(order: list[int], cut: int) -> None:
    """Any order, in two sittings cut anywhere, against the plain order in one."""
    with tempfile.TemporaryDirectory() as folder:
        plain, mixed = Path(folder, "plain.db"), Path(folder, "mixed.db")
        fill(plain, [list(range(8))])
        fill(mixed, [order[:cut], order[cut:]])
        assert laid_down(plain) == laid_down(mixed)


def fill(path: Path, sittings: list[list[int]]) -> None:
    for numbers in sittings:
        with Store(path, writing=True) as store:
            store.add_arms({"a": "arm"})
            for number in numbers:
                store.add_races([("ab"[number % 2], number, bytes([number]) * (3000 * number))])
            store.tidy()


@settings(deadline=None)
@given(st.lists(SHARES, min_size=1, max_size=30))
def test_holm_never_makes_a_p_value_smaller_and_keeps_the_order(p_values: list[float]) -> None:
    """Between the raw value and the plain m-fold one, in the same order."""
    found = holm(p_values)
    assert (found >= np.array(p_values)).all()
    assert (found <= np.minimum(1.0, np.array(p_values) * len(p_values)) + 1e-12).all()
    assert (np.diff(found[np.argsort(p_values, kind="stable")]) >= 0).all()


@settings(deadline=None)
@given(st.lists(st.tuples(SECONDS, SECONDS), min_size=2, max_size=20))
def test_arms_swapped_turn_the_answer_round(pairs: list[tuple[float, float]]) -> None:
    """The same interval with the other sign, the same p."""
    first, second = np.array(pairs).T
    one, other = paired(first, second), paired(second, first)
    assert (one.low, one.high) == (-other.high, -other.low)
    assert one.p_value == other.p_value
    assert one.low <= one.mean <= one.high


@settings(deadline=None)
@given(st.lists(SECONDS, min_size=2, max_size=20))
def test_missing_seeds_are_as_if_never_run(values: list[float]) -> None:
    """nan anywhere among the values changes nothing."""
    assert estimate([np.nan, *values, np.nan]) == estimate(values)
