"""Places, losses and their summaries, against an example done by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from simrun.measure.loss import PARTS, clear_places, places, summary, time_lost

NAN = float("nan")


def race(crossing: list[list[float]], best: list[list[float]], **more: Any) -> Any:
    """A recording of five runners and two checkpoints, as far as the tables look at it."""
    field, clear = np.array(crossing), np.array(best)
    roster = SimpleNamespace(
        name=("Ada", "Bea", "Cis", "Dot", "Eve"),
        team=np.array(["Elm", "Elm", "Oak", "Oak", "Oak"]),
        box=np.array([1, 1, 2, 2, 2]),
        row=np.array([1, 2, 1, 1, 2]),
        line=np.array(["inside", "outside", "inside", "inside", "outside"]),
    )
    marks = (SimpleNamespace(name="throat"), SimpleNamespace(name="barn"))
    words = {"alone_s": clear + 0.75, "raced_s": clear + 0.75, "shortest_s": clear + 0.5, **more}
    strip = SimpleNamespace(checkpoints=marks)
    return SimpleNamespace(roster=roster, strip=strip, crossing_s=field, best_s=clear, **words)


#              throat  barn
FIELD = [
    [30.0, 100.0],  # Ada
    [31.0, 104.0],  # Bea
    [31.0, 102.0],  # Cis, level with Bea at the throat
    [35.0, 101.0],  # Dot
    [40.0, NAN],  # Eve does not reach the barn
]
BEST = [
    [29.0, 97.0],
    [30.5, 99.0],
    [28.0, 98.5],
    [29.5, 103.0],
    [30.5, 101.5],
]


def test_places_by_hand() -> None:
    """First is 1, who is level shares the better place, the next one has two before; nan has none."""
    np.testing.assert_array_equal(places(np.array(FIELD))[:, 0], [1, 2, 2, 4, 5])
    np.testing.assert_array_equal(places(np.array(FIELD))[:, 1], [1, 4, 3, 2, NAN])


def test_places_are_those_of_a_ranking_library() -> None:
    """Against pandas' ranking, with many ties and gaps."""
    times = np.random.default_rng(3).integers(0, 30, (80, 4)).astype(float)
    times[times > 27] = NAN
    for column in range(4):
        expected = pd.Series(times[:, column]).rank(method="min")
        np.testing.assert_array_equal(places(times)[:, column], expected)


def test_clear_places_by_hand() -> None:
    """The order of the times alone from the best box, of those who arrived; equals share the better place.

    Throat: Cis 28, Ada 29, Dot 29.5, Bea and Eve 30.5. Barn: Ada, Cis, Bea, Dot; Eve did not arrive.
    """
    clear = clear_places(race(FIELD, BEST))
    np.testing.assert_array_equal(clear[:, 0], [2, 4, 1, 3, 4])
    np.testing.assert_array_equal(clear[:, 1], [1, 3, 2, 4, NAN])


def test_what_one_loses_another_gains() -> None:
    """Places lost against one's own ability add up to nothing at every mark, whoever drops out."""
    rng = np.random.default_rng(7)
    best = 20.0 + rng.normal(0, 2, (60, 3)).cumsum(axis=1)
    field = best + rng.exponential(3.0, best.shape)
    field[field > 30] = NAN
    lost = places(field) - clear_places(race(field.tolist(), best.tolist()))
    np.testing.assert_array_equal(np.nansum(lost, axis=0), 0)
    assert np.isnan(lost).any()
    assert np.nanmax(lost) > 5
    assert np.nanmin(lost) < -5


def test_whoever_was_not_run_alone_leaves_no_order_of_ability() -> None:
    """Of one team alone nothing is known of the others; later than the time limit is last."""
    some = [[*BEST[0]], *[[NAN, NAN]] * 4]
    assert np.isnan(clear_places(race(FIELD, some))).all()
    late = [[*row] for row in BEST]
    late[0][1] = NAN
    np.testing.assert_array_equal(clear_places(race(FIELD, late))[:, 1], [4, 2, 1, 3, NAN])


def test_the_table_by_hand() -> None:
    """One row a runner and checkpoint; box 0.5, line 0.25, the rest traffic."""
    table = time_lost(race(FIELD, BEST))
    assert len(table) == 10
    bea = table[(table["runner"] == "Bea") & (table["checkpoint"] == "barn")].iloc[0]
    assert (bea["team"], bea["box"], bea["row"], bea["line"]) == ("Elm", 1, 2, "outside")
    assert (bea["field_s"], bea["alone_s"], bea["best_s"]) == (104.0, 99.75, 99.0)
    assert (bea["box_s"], bea["line_s"], bea["traffic_s"]) == (0.5, 0.25, 4.25)
    assert (bea["lost_s"], bea["place"], bea["places_lost"]) == (5.0, 4, 1)
    dot = table[(table["runner"] == "Dot") & (table["checkpoint"] == "barn")].iloc[0]
    assert (dot["lost_s"], dot["places_lost"]) == (-2.0, -2), "a gain is a minus"


def test_who_does_not_arrive_has_a_row_without_numbers() -> None:
    """Eve at the barn: named, with her time alone, without time, place or loss."""
    table = time_lost(race(FIELD, BEST))
    eve = table[(table["runner"] == "Eve") & (table["checkpoint"] == "barn")].iloc[0]
    for name in ("field_s", "traffic_s", "lost_s", "place", "places_lost"):
        assert pd.isna(eve[name]), name
    assert eve["alone_s"] == 102.25
    assert eve["box_s"] == 0.5


def test_whole_numbers_are_whole() -> None:
    """Places are integers with gaps, not decimals."""
    table = time_lost(race(FIELD, BEST))
    assert str(table["place"].dtype) == str(table["places_lost"].dtype) == "Int64"


def test_a_summary_by_hand() -> None:
    """Box 2 at the throat loses 3.0, 5.5, 9.5: mean 6, and 10 and 90 % by straight lines between."""
    boxes = summary(time_lost(race(FIELD, BEST)), ["box"])
    row = boxes[(boxes["box"] == 2) & (boxes["checkpoint"] == "throat")].iloc[0]
    assert (row["count"], row["not_arrived"]) == (3, 0)
    assert row["lost_s_mean"] == pytest.approx(6.0)
    assert row["lost_s_p10"] == pytest.approx(3.0 + 0.2 * 2.5)
    assert row["lost_s_p90"] == pytest.approx(5.5 + 0.8 * 4.0)
    assert row["traffic_s_mean"] == pytest.approx(6.0 - 0.75)
    assert row["places_lost_mean"] == pytest.approx((1 + 1 + 1) / 3)
    barn = boxes[(boxes["box"] == 2) & (boxes["checkpoint"] == "barn")].iloc[0]
    assert (barn["count"], barn["not_arrived"]) == (2, 1)
    assert barn["lost_s_mean"] == pytest.approx((3.5 - 2.0) / 2), "of those who arrived"


def test_summaries_have_every_part_and_the_order_of_the_race() -> None:
    """By box or line in order, and for each the checkpoints as they come: throat before barn."""
    table = time_lost(race(FIELD, BEST))
    for by in (["box"], ["line"], ["box", "line"]):
        frame = summary(table, by)
        statistics = [f"{part}_{what}" for part in PARTS for what in ("mean", "p10", "p90")]
        assert list(frame.columns) == [*by, "checkpoint", "count", "not_arrived", *statistics]
        keys = [tuple(row) for row in frame[by].to_numpy().tolist()]
        assert keys == sorted(keys)
        assert frame["checkpoint"].tolist() == ["throat", "barn"] * (len(keys) // 2)
        assert (frame["count"] + frame["not_arrived"]).sum() == 10


def test_a_group_of_which_nobody_arrives_stays() -> None:
    """Count 0, all of it not arrived, no number made up."""
    nobody = [[row[0], NAN] for row in FIELD]
    frame = summary(time_lost(race(nobody, BEST)), ["line"])
    barn = frame[frame["checkpoint"] == "barn"]
    assert barn["line"].tolist() == ["inside", "outside"]
    assert barn["count"].tolist() == [0, 0]
    assert barn["not_arrived"].tolist() == [3, 2]
    assert barn["lost_s_mean"].isna().all()
    assert barn["places_lost_p90"].isna().all()
