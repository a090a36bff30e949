"""A changed copy is one call, and a scenario survives being written to JSON."""

from __future__ import annotations

import json
import pickle
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.scenario_text import ENTRIES, SMALL, swapped, write_scenario


@pytest.fixture
def whole(tmp_path: Path) -> Scenario:
    """The scenario that uses nearly every key."""
    return read(write_scenario(tmp_path))


def refused(scenario: Scenario, changes: dict[str, object]) -> BadInput:
    """The error that a change raises; it is one line."""
    with pytest.raises(BadInput) as caught:
        scenario.changed(changes)
    assert len(caught.value.problems) == 1, str(caught.value)
    return caught.value


def test_a_copy_is_changed_and_the_first_is_not(whole: Scenario) -> None:
    """The line, a team, a person, a piece by name, a mark, in one call."""
    before = whole.to_json()
    other = whole.changed(
        {
            "start.box_width": "2.4 m",
            "teams.Alderbrook.box": 5,
            "teams.Alderbrook.people.Aro Fen.opening": 0.2,
            "course.pieces.hay meadow.length": "160 m",
            "course.landmarks.big oak.at": 99,
            "field.lines.inside": 0.5,
            "field.lines.middle": 0.3,
        },
        name="Narrow boxes",
    )
    assert (other.name, other.start.box_width_m, other.teams[0].box) == ("Narrow boxes", 2.4, 5)
    assert other.teams[0].people[0].opening == 0.2
    assert other.course.pieces[0].length_m == 160
    assert other.strip.landmarks[0].station_m == 99
    assert other.field.lines.inside == 0.5
    assert whole.to_json() == before
    assert other != whole


def test_two_teams_change_boxes(whole: Scenario) -> None:
    """All changes are made before anything is checked."""
    other = whole.changed({"teams.Alderbrook.box": 3, "teams.Birchmoor.box": 12})
    assert [team.box for team in other.teams] == [3, 12]


def test_a_key_that_was_not_written_is_set(whole: Scenario) -> None:
    """Keys and whole tables that the file leaves out."""
    small = whole.changed({"teams.Birchmoor.opening": 0.3})
    assert small.teams[1].opening == 0.3


def test_a_table_that_was_not_written_is_made(tmp_path: Path) -> None:
    """The clock of a file without a clock."""
    small = read(write_scenario(tmp_path, SMALL))
    assert small.changed({"course.pieces.1.length": 210}).strip.length_m == pytest.approx(210)
    assert small.changed({"clock.limit": "90 s"}).clock.limit_s == 90


def test_none_takes_a_key_away(whole: Scenario) -> None:
    """One lap instead of two, nobody in particular in front."""
    other = whole.changed({"course.laps": None, "teams.Alderbrook.lines.gate bend@2": None})
    assert {gate.lap for gate in other.strip.gates} == {1}
    assert whole.changed({"teams.Birchmoor": None}).runners == 6


def test_arrays_and_tuples_are_plain_values(whole: Scenario) -> None:
    """A study hands over numbers out of arrays."""
    other = whole.changed({"teams.Birchmoor.box": np.int64(9), "field.pull": (0.1, np.float32(1))})
    assert (other.teams[1].box, other.field.pull) == (9, (0.1, 1.0))
    assert Scenario.from_json(other.to_json()) == other


def test_an_entry_is_found_by_its_number(whole: Scenario) -> None:
    """The second team, the first piece."""
    other = whole.changed({"teams.2.box": 9, "course.pieces.1.length": 155})
    assert (other.teams[1].box, other.course.pieces[0].length_m) == (9, 155)


def test_a_name_may_hold_a_dot(whole: Scenario) -> None:
    """The longest name that leads on is taken."""
    dotted = whole.changed({"teams.Birchmoor.name": "St. Birch"})
    assert dotted.changed({"teams.St. Birch.box": 9}).teams[1].box == 9


def test_a_team_that_nobody_wrote_down_is_changed(tmp_path: Path) -> None:
    """Team 2 is made up: the copy lists all teams as they stood, and changes that one."""
    small = read(write_scenario(tmp_path, SMALL))
    other = small.changed({"teams.Team 2.box": 10})
    assert [(team.name, team.box) for team in other.teams] == [("Team 1", 1), ("Team 2", 10)]
    filled = read(write_scenario(tmp_path, swapped("fill = false", "fill = true")))
    changed = filled.changed({"teams.Team 4.opening": 0.3})
    assert [team.box for team in changed.teams] == [team.box for team in filled.teams]
    assert [team.opening for team in changed.teams].count(0.3) == 1
    fewer = filled.changed({"teams.Team 4": None})
    gone = {team.name for team in filled.teams} - {team.name for team in fewer.teams}
    assert (gone, len(fewer.teams)) == ({"Team 4"}, len(filled.teams) - 1)


LOST = [
    ("start.widht", "unknown key", "width"),
    ("strat.width", "leads nowhere at 'strat'", "start"),
    ("teams.Alderbrok.box", "leads nowhere at 'Alderbrok'", "Alderbrook"),
    ("course.pieces.hay medow.length", "leads nowhere at 'hay medow'", "hay meadow"),
    ("teams.Alderbrook.people.Aro Fin.row", "leads nowhere at 'Aro Fin'", "Aro Fen"),
    ("course.pieces.11.length", "leads nowhere at '11'", ""),
    ("course.pieces.0.length", "leads nowhere at '0'", ""),
    ("name.first", "leads nowhere at 'name'", "name"),
    ("", "unknown key", ""),
]


@pytest.mark.parametrize(("key", "found", "nearest"), LOST)
def test_a_key_that_leads_nowhere(whole: Scenario, key: str, found: str, nearest: str) -> None:
    """The step that is lost, and the nearest name there."""
    problem = refused(whole, {key: 1}).problems[0]
    assert found in problem.found
    assert problem.nearest == nearest
    assert problem.file.endswith("meadow.toml")


def test_a_changed_value_is_checked(whole: Scenario) -> None:
    """As in the file."""
    assert "box 7" in str(refused(whole, {"teams.Birchmoor.box": 7}))
    assert "'wide'" in str(refused(whole, {"start.width": "wide"}))
    assert "a value of type object" in str(refused(whole, {"start.gun": object()}))


def test_taking_away_what_is_not_there(whole: Scenario) -> None:
    """A slip in the key must not pass for a change."""
    assert refused(whole, {"start.gum": None}).problems[0].nearest == "gun"


def test_json_there_and_back(tmp_path: Path) -> None:
    """The document, the attachments and everything that is made of them."""
    (tmp_path / "entries.csv").write_text(ENTRIES, encoding="utf-8")
    text = swapped("[field]\nteams = 2", '[field]\nseed_times = "entries.csv"', SMALL)
    path = write_scenario(tmp_path, text)
    scenario = read(path)
    path.unlink()
    (tmp_path / "entries.csv").unlink()
    again = Scenario.from_json(scenario.to_json())
    assert again == scenario
    assert again.teams == scenario.teams
    assert again.to_json() == scenario.to_json()
    np.testing.assert_array_equal(again.strip.left_m, scenario.strip.left_m)


def test_a_scenario_can_be_sent_to_another_process(whole: Scenario) -> None:
    """A study does."""
    assert pickle.loads(pickle.dumps(whole)) == whole


BAD_JSON = [
    "",
    "{}",
    "[]",
    "null",
    "[" * 100_000,
    '{"document": [], "attachments": {}, "file": "a"}',
    '{"document": {}, "attachments": {"a": 1}, "file": "a"}',
    '{"document": {}, "attachments": {}, "file": 1}',
]


@pytest.mark.parametrize("text", BAD_JSON, ids=lambda text: text[:12])
def test_no_scenarios_json(text: str) -> None:
    """A damaged recording."""
    with pytest.raises(BadInput, match="not a scenario's JSON"):
        Scenario.from_json(text)


def test_json_is_checked_like_a_file(whole: Scenario) -> None:
    """Numbers that JSON's readers let through, and an attachment that was left out."""
    parts = json.loads(whole.to_json())
    parts["document"]["clock"]["limit"] = float("nan")
    parts["document"]["field"] = {"seed_times": "entries.csv"}
    with pytest.raises(BadInput) as caught:
        Scenario.from_json(json.dumps(parts))
    keys = [problem.key for problem in caught.value.problems]
    assert keys == ["clock.limit", "field.seed_times"]
