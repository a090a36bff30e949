"""The three parts of the time lost are the time lost."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import simrun

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


@pytest.mark.parametrize("file", SHIPPED, ids=lambda path: path.stem)
def test_box_line_and_traffic_add_up(file: Path) -> None:
    """For every runner and checkpoint, to 1e-9 s; and nobody falls out of the table."""
    recording = simrun.race(simrun.read(file), seed=3)
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


@pytest.mark.parametrize("file", SHIPPED, ids=lambda path: path.stem)
def test_summaries_count_everybody(file: Path) -> None:
    """The counts of boxes.csv at a checkpoint add up to the field."""
    recording = simrun.race(simrun.read(file), seed=3)
    boxes = simrun.summary(simrun.time_lost(recording), ["box"])
    per_mark = boxes.groupby("checkpoint")[["count", "not_arrived"]].sum().sum(axis=1)
    assert (per_mark == len(recording.roster)).all()
    assert {"lost_s_mean", "lost_s_p10", "lost_s_p90", "traffic_s_mean"} <= set(boxes.columns)


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
