"""What every box costs: the same numbers as the races."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from simrun.answers.boxes import sample as samples
from simrun.answers.boxes.cells import cells
from simrun.answers.boxes.ours_elsewhere import ours_elsewhere, seeds_wanted
from simrun.answers.boxes.sample import (
    THE_BOX,
    Sample,
    every_box,
    first_mark,
    our_team,
    placements,
    until_clear,
    whole_blocks,
)
from simrun.base.errors import BadInput
from simrun.engine.run import run_race
from simrun.measure.loss import PARTS, time_lost
from simrun.scenario.changes.changes_course import ending_by
from simrun.scenario.changes.changes_people import with_draw_again, with_team_placed
from simrun.scenario.scenario import Scenario
from simrun.scenario.teams import drawn_again


def test_every_box_is_what_the_races_say(
    dual: Scenario, sample: Sample, seeds: tuple[int, ...]
) -> None:
    """Means over seeds of the box's mean, and percentiles of single runners, from `time_lost` itself."""
    again = with_draw_again(dual)
    tables = [time_lost(run_race(again, seed)).assign(seed=seed) for seed in sorted(seeds)]
    runners = pd.concat(tables)
    table = cells(sample, dual)
    assert table["not_arrived"].sum() > 0
    for _, row in table[table.line == "all"].iterrows():
        here = runners[(runners.box == row.box) & (runners.checkpoint == row.checkpoint)]
        for part in PARTS:
            values = here[part].astype(float)
            by_seed = values.groupby(here.seed).mean()
            assert row[f"{part}_mean"] == pytest.approx(by_seed.mean(), nan_ok=True)
            assert row[f"{part}_p90"] == pytest.approx(values.quantile(0.9), nan_ok=True)
        assert row.runners == here.field_s.notna().sum()
        assert row.runners + row.not_arrived == len(here)


def test_the_split_adds_up_in_every_cell(dual: Scenario, sample: Sample) -> None:
    """lost = box + line + traffic, for boxes and for boxes by line."""
    table = cells(sample, dual)
    parts = table[["box_s_mean", "line_s_mean", "traffic_s_mean"]].sum(axis=1, skipna=False)
    np.testing.assert_allclose(parts, table["lost_s_mean"], atol=1e-9)
    assert set(table.line) == {"all", *sample.lines}


def test_our_team_goes_into_every_open_box_and_the_other_takes_its_place(ferry: Scenario) -> None:
    """24 boxes by 3 lines; two teams change places, the other 22 stay, and so do all people."""
    arms = placements(ferry, "Alderbrook")
    assert set(arms) == {
        (b, line) for b in range(1, 25) for line in ("inside", "middle", "outside")
    }
    before, after = ferry.roster(1), arms[5, "outside"].roster(1)
    assert before.team_names == after.team_names
    for same in ("cruise_m_s", "opening", "reaction_s", "radius_m", "pull", "wander", "row"):
        np.testing.assert_array_equal(getattr(before, same), getattr(after, same))
    others = before.team != "Alderbrook"
    np.testing.assert_array_equal(before.choice[others], after.choice[others])
    moved = np.unique(before.team_index[before.box != after.box])
    assert {before.team_names[i] for i in moved} == {"Alderbrook", "Team 5"}
    assert set(after.box[after.team == "Alderbrook"]) == {5}
    assert set(after.box[after.team == "Team 5"]) == {17}
    assert set(after.line[after.team == "Alderbrook"]) == {"outside"}


def test_an_order_takes_the_place_of_every_finer_one(ferry: Scenario) -> None:
    """A turn's own line and a person's own line give way to the study's."""
    told = ferry.changed(
        {
            "teams.Alderbrook.lines": {"barn corner": "outside"},
            "teams.Alderbrook.people": [{"name": "Bram Toller", "line": "outside"}],
        }
    )
    roster = with_team_placed(told, "Alderbrook", 17, "inside").roster(1)
    turns = (roster.choice != "own").all(axis=0)
    assert set(roster.choice[roster.team == "Alderbrook"][:, turns].ravel()) == {"inside"}
    assert "Bram Toller" in roster.name


def test_our_team_is_what_its_own_races_say(dual: Scenario, tmp_path: Path) -> None:
    """Every arm's numbers are those of `run_race` on the changed scenario."""
    sample = our_team(dual, (4,), tmp_path / "races.db", workers=1)
    for (box, line), arm in placements(dual, "Millbrook").items():
        table = time_lost(run_race(arm, 4))
        ours = table[(table.team == "Millbrook") & (table.checkpoint == sample.checkpoints[0])]
        found = sample.by_seed(box, line)[0, 0, 0]
        assert found == pytest.approx(ours.lost_s.mean(), nan_ok=True)
    assert sample.lines == ["inside", "middle", "outside"]


def test_without_our_team_there_is_one_line(dual: Scenario, tmp_path: Path) -> None:
    """What a box costs needs none."""
    nobody = dual.changed({"teams.Millbrook.ours": False})
    with pytest.raises(BadInput, match="ours = true"):
        our_team(nobody, (1,), tmp_path / "races.db", workers=1)


def test_a_shortened_course_ends_at_the_last_checkpoint_left(ferry: Scenario) -> None:
    """Within the first kilometre; nothing left means nothing changed."""
    assert [m.name for m in ending_by(ferry, 600).strip.checkpoints] == [
        "throat",
        "barn exit",
        "gateway",
    ]
    assert ending_by(ferry, 5) is ferry


def made_up(effect_s: dict[int, float], seeds: int, rng: np.random.Generator) -> Sample:
    """Boxes 1 to 24 drawn again, 24 teams that differ: alike, but for the boxes that lose more."""
    team = np.repeat(np.arange(24), 7)
    box = np.array([drawn_again(24, range(1, 25), seed + 1) for seed in range(seeds)])[:, team]
    lost = 5 + rng.normal(0, 2, (seeds, 1)) + rng.normal(0, 1.5, box.shape) + team
    for number, more in effect_s.items():
        lost[box == number] += more
    parts = np.repeat(lost[:, :, None, None], len(PARTS), axis=3)
    points = np.full((seeds, 24), np.nan)
    line = np.full(box.shape, "inside")
    return Sample(THE_BOX, ("throat",), box, line, parts, team, points)


def test_a_box_that_costs_more_is_seen_and_its_neighbours_are_not(ferry: Scenario) -> None:
    """Three seconds at box 7, twelve races: seen there, against the average box, with the truth in it."""
    sample = made_up({7: 3.0}, 12, np.random.default_rng(3))
    table = cells(sample, ferry)
    seen = table[(table.line == "all") & (table.cost_s_holm < 0.05)]
    assert list(seen.box) == [7]
    truth = 3.0 * 23 / 24
    assert seen.cost_s_low.item() < truth < seen.cost_s_high.item()
    assert table.cost_s.sum() == pytest.approx(0, abs=1e-9)


def test_our_box_against_the_others_is_what_its_own_races_say(
    dual: Scenario, tmp_path: Path
) -> None:
    """Pair by pair from `run_race`: the same people, our box less the other; a round of the other boxes."""
    seeds = (1, 2)
    found = ours_elsewhere(dual, seeds, tmp_path / "races.db", workers=1)
    assert found is not None
    for s, seed in enumerate(seeds):
        pair = []
        for box in (2, 3):
            day = dual if box == 2 else with_team_placed(dual, "Millbrook", 3, "shortest")
            table = time_lost(run_race(day, seed))
            pair.append(table[(table.team == "Millbrook") & (table.checkpoint == "gate")])
            assert set(pair[-1].box) == {box}
        assert found.pairs.seconds[s, 0] == pytest.approx(
            pair[0].lost_s.mean() - pair[1].lost_s.mean()
        )
        assert found.pairs.places[s, 0] == pytest.approx(
            pair[0].place.mean() - pair[1].place.mean()
        )
    assert np.isnan(found.pairs.points).all(), "no points before the finish"
    assert found.table.cost_s_pairs.iloc[0] == 2
    assert ours_elsewhere(with_draw_again(dual), seeds, tmp_path / "x.db", workers=1) is None


def test_races_enough_for_whole_blocks(dual: Scenario, ferry: Scenario) -> None:
    """Twenty at least; the pairs a round of all other boxes, ten at least, and no more than the races."""
    assert whole_blocks(dual) == tuple(range(1, 21))
    assert whole_blocks(ferry) == tuple(range(1, 25))
    assert len(whole_blocks(ferry.changed({"field.fill": True, "start.empty": [1, 2]}))) == 22
    assert len(seeds_wanted(dual, whole_blocks(dual))) == 10
    assert len(seeds_wanted(ferry, whole_blocks(ferry))) == 23
    assert seeds_wanted(ferry, (1, 2)) == (1, 2)


def test_the_start_is_told_at_the_first_narrowing(dual: Scenario, ferry: Scenario) -> None:
    """The gate of the lane, the throat of the meadow; on an open field where the races end."""
    assert [first_mark(day) for day in (dual, ferry)] == [0, 0]
    late = ferry.changed(
        {"course.checkpoints": [{"name": "oak", "at": 90}, {"name": "b", "at": 400}]}
    )
    assert first_mark(late) == 1


def test_races_end_when_our_box_is_clear(
    dual: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Values are those of the races; a planted 30 s is clear at the first of two looks; no box, no answer."""
    seeds = tuple(range(1, 21))
    day = dual.changed({"course.checkpoints": [{"name": "well", "at": "70 yd"}]})
    monkeypatch.setattr(samples, "FINE_ENOUGH_S", 0.0)
    sample = every_box(day, seeds, tmp_path / "races.db", workers=1)
    both = np.stack([sample.by_seed(box)[:, 0, 0] for box in (2, 3)])
    found = until_clear(day, seeds, tmp_path / "races.db", workers=1)
    expected = (both[0] - both.mean(axis=0))[: len(found.values)]
    assert np.allclose(found.values, expected)
    planted = sample.parts + 30.0 * (sample.box == 2)[:, :, None, None]
    moved = replace(sample, parts=planted)
    monkeypatch.setattr(samples, "every_box", lambda *_, **__: moved)
    assert len(until_clear(day, seeds, tmp_path / "x.db").values) == 10
    with pytest.raises(BadInput, match="with a box"):
        until_clear(dual.changed({"teams.Millbrook.ours": False}), (1,), tmp_path / "x.db")
