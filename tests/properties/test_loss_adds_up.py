"""The three parts of the time lost are the time lost."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.state.recording import Recording

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


LONG = "sallow_heath"
"""Five kilometres: for the long tests."""


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(path, marks=pytest.mark.slow) if path.stem == LONG else path
        for path in SHIPPED
    ],
    ids=lambda path: path.stem,
)
def recording(request: pytest.FixtureRequest) -> Recording:
    return simrun.race(simrun.read(request.param), seed=3)


def test_box_line_and_traffic_add_up(recording: Recording) -> None:
    """For every runner and checkpoint, to 1e-9 s; and nobody falls out of the table."""
    table = simrun.time_lost(recording)
    count = len(recording.roster) * len(recording.strip.checkpoints)
    assert len(table) == count
    parts = table["box_s"] + table["line_s"] + table["traffic_s"]
    arrived = table["field_s"].notna()
    assert arrived.mean() > 0.99
    np.testing.assert_allclose(parts[arrived], table["lost_s"][arrived], rtol=0, atol=1e-9)
    whole = table["field_s"] - table["best_s"]
    np.testing.assert_allclose(whole[arrived], table["lost_s"][arrived], rtol=0, atol=1e-9)
    assert table["place"][arrived].min() == 1


def test_the_parts_are_the_alone_times_they_are_named_after(recording: Recording) -> None:
    """Box from the shortest and the best, line from the own and the shortest, row by row."""
    table = simrun.time_lost(recording)
    shape = recording.crossing_s.shape
    names = np.repeat(np.array(recording.roster.name), shape[1])
    np.testing.assert_array_equal(table["runner"].to_numpy(str), names)
    for part, one, other in (
        ("box_s", recording.shortest_s, recording.best_s),
        ("line_s", recording.alone_s, recording.shortest_s),
        ("traffic_s", recording.crossing_s, recording.alone_s),
    ):
        np.testing.assert_array_equal(table[part].to_numpy().reshape(shape), one - other)


@pytest.mark.parametrize("by", [["box"], ["line"], ["box", "line"]], ids="+".join)
def test_summaries_count_everybody(recording: Recording, by: list[str]) -> None:
    """The counts at a checkpoint add up to the field; means weighted by them to the field's mean."""
    table = simrun.time_lost(recording)
    frame = simrun.summary(table, by)
    per_mark = frame.groupby("checkpoint")[["count", "not_arrived"]].sum().sum(axis=1)
    assert (per_mark == len(recording.roster)).all()
    for part in ("lost_s", "box_s", "line_s", "traffic_s"):
        total = (frame[f"{part}_mean"] * frame["count"]).groupby(frame["checkpoint"]).sum()
        whole = table[part].where(table["field_s"].notna()).groupby(table["checkpoint"]).sum()
        np.testing.assert_allclose(total, whole[total.index], rtol=0, atol=1e-6)
        low, mean, high = (frame[f"{part}_{what}"] for what in ("p10", "mean", "p90"))
        assert (low <= high + 1e-12).all()
        assert mean.notna().all()


def test_who_does_not_arrive_stays_in_the_table() -> None:
    """With a short time limit the slow have nan and a count of their own, no row is dropped."""
    scenario = simrun.read(SHIPPED[0]).changed({"clock.limit": 60})
    recording = simrun.race(scenario)
    table = simrun.time_lost(recording)
    last = table[table["checkpoint"] == table["checkpoint"].iloc[-1]]
    assert last["field_s"].isna().all()
    assert last["place"].isna().all()
    boxes = simrun.summary(table, ["box"])
    assert boxes["not_arrived"].sum() >= len(recording.roster)
