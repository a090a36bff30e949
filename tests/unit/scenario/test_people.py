"""From the paper to the line: who is drawn, who is told, who stays the same."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np

from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario

FERRY = read(Path(__file__).parents[3] / "scenarios" / "ferry_meadow.toml")


def differing(one: Scenario, other: Scenario, seed: int = 3) -> dict[str, set[str]]:
    """Which columns differ between two rosters, and for which teams?"""
    a, b = one.roster(seed), other.roster(seed)
    found = {}
    for column in fields(a):
        if column.name in ("team_names", "name"):
            continue
        x, y = (np.asarray(getattr(roster, column.name)) for roster in (a, b))
        rows = (x != y).reshape(len(a), -1).any(axis=1)
        if rows.any():
            found[column.name] = set(a.team[rows])
    return found


def test_one_teams_plan_moves_nobody_else() -> None:
    """Line, opening and pull of our team change our rows and no other's."""
    told = FERRY.changed(
        {
            "teams.Alderbrook.line": "outside",
            "teams.Alderbrook.opening": 0.2,
            "teams.Alderbrook.pull": 0.5,
        }
    )
    found = differing(FERRY, told)
    assert set(found) == {"opening", "choice", "inside_m", "pull"}
    assert all(teams == {"Alderbrook"} for teams in found.values())


def test_another_box_leaves_the_people_alone() -> None:
    """A team in another box is the same people elsewhere on the line."""
    moved = FERRY.changed({"teams.Alderbrook.box": 2})
    assert set(differing(FERRY, moved)) <= {"box", "throat_share"}


def test_seeds_differ() -> None:
    """Another seed is other people."""
    assert (FERRY.roster(1).cruise_m_s != FERRY.roster(2).cruise_m_s).all()


def test_named_people_are_told_and_stand_in_front() -> None:
    """A person's time, opening and line hold; who is named for the front stands there."""
    people = [
        {"name": "Aro Fen"},
        {"name": "Bil Tarn"},
        {"name": "Cor Wick"},
        {"name": "Del Moor", "time": "16:40", "opening": 0.05, "line": "middle"},
    ]
    told = FERRY.changed(
        {"teams.Alderbrook.people": people, "teams.Alderbrook.front": ["Del Moor"]}
    )
    roster = told.roster(1)
    who = roster.name.index("Del Moor")
    assert roster.cruise_m_s[who] == 5000 / 1000
    assert (roster.row[who], roster.file[who], roster.opening[who]) == (1, 0, 0.05)
    turns = [g for g, gate in enumerate(told.strip.gates) if gate.kind == "turn"]
    assert set(roster.choice[who, turns]) == {"middle"}


def test_who_stands_in_front_changes_nobody() -> None:
    """Another front row, from left to right as told: the same bodies, reactions and times."""
    people = [{"name": name} for name in ("Aro Fen", "Bil Tarn", "Cor Wick", "Del Moor")]
    named = FERRY.changed({"teams.Alderbrook.people": people})
    told = named.changed({"teams.Alderbrook.front": ["Del Moor", "Bil Tarn"]})
    before, after = named.roster(1), told.roster(1)
    ours = [after.name.index(person["name"]) for person in people]
    assert after.name == before.name
    for column in ("cruise_m_s", "radius_m", "reaction_s", "opening"):
        assert (getattr(after, column) == getattr(before, column)).all()
    assert after.file[ours].tolist() == [2, 1, 0, 0]
    assert after.row[ours].tolist() == [1, 1, 2, 1]


def test_rows_are_filled_from_the_front() -> None:
    """Seven runners three abreast: 3, 3 and 1."""
    roster = FERRY.roster(1)
    ours = roster.team == "Alderbrook"
    assert roster.row[ours].tolist() == [1, 1, 1, 2, 2, 2, 3]
    assert roster.file[ours].tolist() == [0, 1, 2, 0, 1, 2, 0]


def test_a_told_offset_is_kept_in_metres() -> None:
    """A number at a named turn is the offset from its inside edge, on the lap it names only."""
    told = FERRY.changed({"teams.Alderbrook.lines": {"barn corner@2": 2.5}})
    roster = told.roster(1)
    who = roster.team == "Alderbrook"
    for g, gate in enumerate(told.strip.gates):
        if gate.name == "barn corner":
            kept = roster.inside_m[who, g] == 2.5
            assert kept.all() == (gate.lap == 2)


def test_the_line_of_the_field_follows_its_shares() -> None:
    """Of some 160 others about 70 % take the inside of the first turn."""
    roster = FERRY.roster(1)
    others = roster.team != "Alderbrook"
    share = (roster.line[others] == "inside").mean()
    assert abs(share - 0.7) < 3 * np.sqrt(0.7 * 0.3 / others.sum())
