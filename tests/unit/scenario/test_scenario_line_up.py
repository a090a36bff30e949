"""Who runs, when an entry list, the [[teams]] and the field say it together."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.base.errors import BadInput, Problem
from simrun.scenario.reader import read
from simrun.scenario.teams import Team
from tests.helpers.scenario_text import ENTRIES, SMALL, swapped, write_scenario

LISTED = swapped("[field]\nteams = 2", '[field]\nseed_times = "entries.csv"', SMALL)
BOTH = '[[teams]]\nname = "Alderbrook"\nbox = 5\n[[teams]]\nname = "birchmoor"\nbox = 6\n'


def teams_of(folder: Path, text: str, entries: str = ENTRIES) -> dict[str, Team]:
    """The teams of a scenario with an entry list, by name."""
    (folder / "entries.csv").write_text(entries, encoding="utf-8")
    return {team.name: team for team in read(write_scenario(folder, text)).teams}


def refused(folder: Path, text: str, entries: str = ENTRIES) -> Problem:
    """The one mistake of a scenario with an entry list."""
    with pytest.raises(BadInput) as caught:
        teams_of(folder, text, entries)
    assert len(caught.value.problems) == 1, str(caught.value)
    return caught.value.problems[0]


def test_names_are_compared_without_capitals(tmp_path: Path) -> None:
    """Entry lists shout; the team keeps the name it has under [[teams]]."""
    teams = teams_of(tmp_path, LISTED + BOTH, ENTRIES.upper())
    assert [person.time_s for person in teams["birchmoor"].people] == [1085, 1140]


def test_nobody_runs_twice(tmp_path: Path) -> None:
    """A person written under the team and entered is one runner, whose own words count."""
    own = '[[teams.people]]\nname = "DUN WEIR"\ntime = "17:00"\n'
    text = LISTED + "fill = true\n" + BOTH.split('[[teams]]\nname = "birch')[0] + own
    people = teams_of(tmp_path, text)["Alderbrook"].people
    assert [(person.name, person.time_s) for person in people] == [
        ("DUN WEIR", 1020),
        ("Aro Fen", 1075),
        ("Bil Tarn", 1090.5),
    ]


def test_runners_cuts_the_list(tmp_path: Path) -> None:
    """The field's number holds for every team, up to who is entered."""
    teams = teams_of(tmp_path, LISTED + "runners = 2\n")
    assert [len(team.people) for team in teams.values()] == [2, 2]
    teams = teams_of(tmp_path, LISTED + "runners = 3\n")
    assert [(team.runners, len(team.people)) for team in teams.values()] == [(3, 3), (2, 2)]


def test_more_runners_than_entered(tmp_path: Path) -> None:
    """A team that says it runs four but enters three."""
    text = LISTED + BOTH.replace("box = 5\n", "box = 5\nrunners = 4\n")
    problem = refused(tmp_path, text)
    assert (problem.key, problem.found) == ("teams.Alderbrook.runners", "4")
    assert "the entry list has 3" in problem.allowed


def test_more_entered_than_may_run(tmp_path: Path) -> None:
    """Thirteen entered: somebody must say how many run."""
    entries = ENTRIES + "".join(f"Runner {n},Birchmoor,20:00\n" for n in range(11))
    problem = refused(tmp_path, LISTED, entries)
    assert (problem.key, problem.found) == ("teams.Birchmoor", "13 entries")
    assert teams_of(tmp_path, LISTED + "runners = 12\n", entries)["Birchmoor"].runners == 12


def test_entered_but_not_under_teams(tmp_path: Path) -> None:
    """Left out by mistake, or misspelt: the near name is told."""
    text = LISTED + BOTH.split('[[teams]]\nname = "birch')[0]
    problem = refused(tmp_path, text)
    assert problem.key == "field.seed_times"
    assert problem.found == "1 of its teams not under [[teams]]: 'Birchmoor'"
    assert list(teams_of(tmp_path, text.replace("[field]\n", "[field]\nfill = true\n"))) == [
        "Alderbrook",
        "Birchmoor",
    ]


def test_under_teams_but_not_entered(tmp_path: Path) -> None:
    """No entry and nobody named: the time of nobody is known."""
    text = LISTED + BOTH + '[[teams]]\nname = "Birchmor"\nbox = 7\n'
    problem = refused(tmp_path, text)
    assert (problem.key, problem.nearest) == ("teams.Birchmor.name", "Birchmoor")


def test_a_person_without_a_time(tmp_path: Path) -> None:
    """With an entry list nobody's time is drawn."""
    person = '[[teams.people]]\nname = "Ebb Sallo"\n'
    problem = refused(tmp_path, LISTED + BOTH + person)
    assert (problem.key, problem.found) == ("teams.birchmoor.people.Ebb Sallo.time", "missing")
    assert problem.nearest == "Ebb Sallow"


def test_a_misspelt_team_hides_no_taken_box(tmp_path: Path) -> None:
    """A mistake inside one team, and its box given away twice: both are told."""
    text = swapped("teams = 2\n", "", SMALL) + BOTH.replace("box = 5\n", "box = 6\nlime = 1\n")
    with pytest.raises(BadInput) as caught:
        read(write_scenario(tmp_path, text))
    assert [problem.key for problem in caught.value.problems] == [
        "teams.Alderbrook.lime",
        "teams.birchmoor.box",
    ]
