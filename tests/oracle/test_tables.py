"""The table of seconds and places, and what is made of it, from numbers that a pencil can follow."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from simrun.base.units import length_text, more_text, pace_text, short_unit
from simrun.measure.loss import summary, time_lost
from simrun.runners.ability import VarsityLaw, draw_times_s
from simrun.runners.endurance import critical_speed_m_s, draw_reserve_m
from simrun.runners.reaction import sound_delay_s
from simrun.sources import figure
from simrun.trials.statistics import best_of, estimate, holm, paired, single_range

pytestmark = pytest.mark.oracle

NAN = float("nan")


def ran() -> Any:
    """Three runners, two marks; Cis never comes to the second."""
    marks = [SimpleNamespace(name="gate"), SimpleNamespace(name="end")]
    roster = SimpleNamespace(
        name=("Ada", "Bea", "Cis"),
        team=np.array(["Elm", "Oak", "Oak"]),
        box=np.array([1, 2, 2]),
        row=np.array([1, 1, 2]),
        line=np.array(["inside", "middle", "inside"]),
    )
    return SimpleNamespace(
        roster=roster,
        strip=SimpleNamespace(checkpoints=marks),
        crossing_s=np.array([[30.0, 100.0], [29.0, 104.0], [31.0, NAN]]),
        raced_s=np.array([[27.0, 95.0], [28.5, 101.0], [30.0, 120.0]]),
        alone_s=np.array([[26.0, 93.0], [28.0, 99.0], [29.5, 119.0]]),
        shortest_s=np.array([[25.5, 92.0], [27.0, 98.5], [29.0, 118.0]]),
        best_s=np.array([[25.0, 90.0], [26.0, 95.0], [24.0, 110.0]]),
    )


BY_HAND = {
    "runner": ["Ada", "Ada", "Bea", "Bea", "Cis", "Cis"],
    "team": ["Elm", "Elm", "Oak", "Oak", "Oak", "Oak"],
    "box": [1, 1, 2, 2, 2, 2],
    "row": [1, 1, 1, 1, 2, 2],
    "line": ["inside", "inside", "middle", "middle", "inside", "inside"],
    "checkpoint": ["gate", "end"] * 3,
    "field_s": [30.0, 100.0, 29.0, 104.0, 31.0, NAN],
    "alone_s": [26.0, 93.0, 28.0, 99.0, 29.5, 119.0],
    "best_s": [25.0, 90.0, 26.0, 95.0, 24.0, 110.0],
    "box_s": [0.5, 2.0, 1.0, 3.5, 5.0, 8.0],
    "line_s": [0.5, 1.0, 1.0, 0.5, 0.5, 1.0],
    "traffic_s": [3.0, 5.0, 0.5, 3.0, 1.0, NAN],
    "lost_s": [5.0, 10.0, 3.0, 9.0, 7.0, NAN],
    "place": [2, 1, 1, 2, 3, None],
    "places_lost": [0, 0, -2, 0, 2, None],
    "racing_s": [1.0, 2.0, 0.5, 2.0, 0.5, 1.0],
}


def test_the_table_by_hand() -> None:
    """Every column in its order, every subtraction with a pencil; who never came stays, without a number."""
    table = time_lost(ran())
    assert list(table) == list(BY_HAND)
    for name, column in BY_HAND.items():
        expected = pd.Series(column, dtype=table[name].dtype, name=name)
        pd.testing.assert_series_equal(table[name], expected)
    assert table["place"].dtype == table["places_lost"].dtype == pd.Int64Dtype()


def test_means_and_counts_by_hand() -> None:
    """Box by box, in each the marks in the order of the course. Between 3 and 7 a tenth of the way is 3.4."""
    found = summary(time_lost(ran()), ["box"])
    keys = list(zip(found["box"], found["checkpoint"], strict=True))
    assert keys == [(1, "gate"), (1, "end"), (2, "gate"), (2, "end")]
    assert found["count"].tolist() == [1, 1, 2, 1]
    assert found["not_arrived"].tolist() == [0, 0, 0, 1]
    assert found["lost_s_mean"].tolist() == [5.0, 10.0, 5.0, 9.0]
    assert found["box_s_mean"].tolist() == [0.5, 2.0, 3.0, 5.75]
    assert found["line_s_mean"].tolist() == [0.5, 1.0, 0.75, 0.75]
    assert found["traffic_s_mean"].tolist() == [3.0, 5.0, 0.75, 3.0]
    assert found["racing_s_mean"].tolist() == [1.0, 2.0, 0.5, 1.5]
    assert found["places_lost_mean"].tolist() == [0.0, 0.0, 0.0, 0.0]
    assert found["lost_s_p10"].tolist() == pytest.approx([5.0, 10.0, 3.4, 9.0])
    assert found["lost_s_p90"].tolist() == pytest.approx([5.0, 10.0, 6.6, 9.0])
    assert found.index.tolist() == [0, 1, 2, 3]
    assert list(found)[:4] == ["box", "checkpoint", "count", "not_arrived"]
    assert len(list(found)) == 4 + 3 * 6  # three figures a part, and nothing else


def test_two_keys_are_sorted_one_after_the_other() -> None:
    found = summary(time_lost(ran()), ["box", "line"])
    keys = list(zip(found["box"], found["line"], found["checkpoint"], strict=True))
    both = [(1, "inside"), (2, "inside"), (2, "middle")]
    assert keys == [(*key, mark) for key in both for mark in ("gate", "end")]


def test_what_stands_beside_the_parts_is_averaged_too() -> None:
    """Only where the table has it."""
    table = time_lost(ran()).assign(front_adds_s=[1.0, 2.0, 3.0, 4.0, 5.0, NAN])
    found = summary(table, ["box"])
    assert found["front_adds_s_mean"].tolist() == [1.0, 2.0, 4.0, 4.0]
    assert "front_adds_s_mean" not in summary(time_lost(ran()), ["box"])


@pytest.mark.parametrize(
    ("metres", "units", "said"),
    [
        (14.94, "metric", "+14.9 m"), (-2.44, "metric", "-2.4 m"), (-0.04, "metric", "+0.0 m"),
        (0.3048, "us", "+1.0 ft"), (-0.6096, "us", "-2.0 ft"), (NAN, "us", "-"),
    ],
)  # fmt: skip
def test_more_or_less_far_by_hand(metres: float, units: str, said: str) -> None:
    """A foot is 0.3048 m; nothing is never less than nothing."""
    assert more_text(metres, units) == said
    assert short_unit("metric") == ("m", 1.0)
    assert short_unit("us") == ("ft", 0.3048)


def test_paces_by_hand() -> None:
    """1000 m at 2.5 m/s take 6:40, at 0.5 m/s 33:20; who hardly moves stands."""
    assert pace_text(2.5, "metric") == "6:40 /km"
    assert (pace_text(0.5, "metric"), pace_text(0.05, "metric")) == ("33:20 /km", "standing")
    assert pace_text(1000.0 / 1000.45, "metric") == "16:40 /km"
    assert pace_text(1609.344 / 300, "us") == "5:00 /mile"


def test_twenty_feet_are_said_in_yards_and_less_in_feet() -> None:
    """20 ft are 6.096 m and 6.67 yd."""
    assert length_text(6.096, "us") == "7 yd"
    assert length_text(6.09, "us") == "20.0 ft"


def test_critical_speed_by_hand() -> None:
    """5 m/s over 5000 m with 200 m in reserve: 4800 m in 1000 s."""
    found = critical_speed_m_s(np.array([5.0, 4.0]), np.array([200.0, 0.0]))
    np.testing.assert_allclose(found, [4.8, 4.0])
    assert critical_speed_m_s(np.array([5.0]), np.array([200.0]), 4000.0)[0] == pytest.approx(4.75)


def test_reserves_stay_between_their_ends() -> None:
    """Many are drawn, so that both ends are met, and each is somebody's own."""
    drawn, size = draw_reserve_m(200_000, np.random.default_rng(3)), figure("energy.reserve_m")
    assert (drawn.min(), drawn.max()) == (size.low, size.high)
    assert np.unique(drawn).size > 1000
    # Of a normal law 68.27 in 100 lie within one deviation (any printed table).
    near = np.abs(drawn - size.value) < figure("energy.reserve_sd_m").value
    assert near.mean() == pytest.approx(0.6827, abs=0.01)


def test_a_larger_draw_is_slower() -> None:
    """A law by hand: 1000 s times 0.5 + e to the 0 + 2 d."""
    law = VarsityLaw(1000.0, 0.5, 0.0, 2.0)
    np.testing.assert_allclose(law.time_s(np.array([0.0, 0.5])), [1500.0, 500.0 + 1000.0 * np.e])


def test_nobody_is_further_off_than_four_deviations() -> None:
    """Of 400 000 runners some would be; both ends are met."""
    times_s = draw_times_s("normal", np.arange(400_000), np.random.default_rng(5), 1200.0, 50.0)
    assert (times_s.min(), times_s.max()) == (1000.0, 1400.0)


VALUES = [1.0, 2.0, 3.0, 4.0, 5.0]


def test_another_confidence_by_the_printed_table() -> None:
    """s / sqrt(n) is 0.7071; t of 4 degrees: 2.132 for 90 %, 4.604 for 99 % (any printed table)."""
    for confidence, t in ((0.9, 2.132), (0.99, 4.604)):
        for found in (estimate(VALUES, confidence), paired(VALUES, [0.0] * 5, confidence)):
            assert found.high - 3.0 == pytest.approx(t * 0.70711, abs=1e-3)


def test_none_and_one_are_counted_and_claim_nothing() -> None:
    none, one = estimate([NAN]), estimate([2.5, NAN])
    assert np.isnan(none.mean)
    assert (none.count, none.p_value) == (0, 1.0)
    assert (one.mean, one.count, one.low, one.high, one.p_value) == (2.5, 1, -np.inf, np.inf, 1.0)


def test_who_is_not_told_of_counts_like_nobody() -> None:
    """Nothing at all is told as not a number is: it is left out."""
    told = np.array([1.0, None, 3.0], dtype=object)
    assert (estimate(told).mean, estimate(told).count) == (2.0, 2)
    for pair in ((told, [0.0] * 3), ([4.0] * 3, 4.0 - np.array([1.0, NAN, 3.0]))):
        assert (paired(*pair).mean, paired(*pair).count) == (2.0, 2)
    assert paired([4.0] * 3, np.array([3.0, None, 1.0], dtype=object)).mean == 2.0
    assert single_range(told) == pytest.approx((1.2, 2.8))
    best = best_of({"one": np.array([1.0, np.nan]), "none": np.array([np.nan, np.nan])})
    assert best.name == "one"


def test_an_arm_in_which_nobody_arrived_is_never_the_best() -> None:
    never = np.array([NAN, NAN])
    assert best_of({"never": never, "late": np.array([90.0, 91.0])}).name == "late"


def test_single_precision_is_reckoned_in_double() -> None:
    """340 m and p-values as a file of 32-bit numbers holds them: the rounding is not made larger."""
    few = np.array([0.01, 0.02, 0.03], dtype=np.float32)
    exact = [float(few[0]) * 3, float(few[1]) * 2, float(few[1]) * 2]
    assert holm(few).tolist() == exact  # type: ignore[arg-type]
    assert sound_delay_s(few).tolist() == [float(d) / figure("sound_m_s").value for d in few]
