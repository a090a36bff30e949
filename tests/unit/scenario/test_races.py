"""Several races a day on one line: JV and varsity out of one list, girls and boys in one race, waves."""

from __future__ import annotations

import tomllib
import warnings
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput, Notice
from simrun.scenario.reader import read, read_one, read_races
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema_races import keys_of_race
from simrun.scenario.teams import waves_by_pace

DAY = """
name = "Fen day"
invented = true

[clock]
limit = "8 min"

[start]
width = 30
boxes = 6
box_width = 4
front_row = 3

[[course.pieces]]
piece = "straight"
length = 120
width = 30

[[course.pieces]]
piece = "narrowing"
length = 40
width = 4

[[course.pieces]]
piece = "straight"
length = 100

[[course.checkpoints]]
name = "gap"
at = 160

[field]
seed_times = "entries.csv"
body = "women"
fill = true

[[races]]
name = "Varsity girls"

[[races]]
name = "JV girls"
field = { opening = 0.05 }
start = { front_row = 2, waves = 2, wave_gap = "30 s", waves_by = "seed time" }

[[races]]
name = "JV"
lists = ["JV girls", "JV boys"]
field = { bodies = { "JV girls" = "women", "JV boys" = "men" } }
"""

SCHOOLS = ("Ashmarl", "Corvane", "Ellerfold")
DIVISIONS = {"Varsity girls": 1170, "JV girls": 1290, "JV boys": 1110}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The day and its entry list: three schools of five in each of three divisions."""
    where = tmp_path_factory.mktemp("day")
    lines = ["name,team,time,race"]
    for race, first_s in DIVISIONS.items():
        for s, school in enumerate(SCHOOLS):
            for k in range(5):
                time_s = first_s + 40 * s + 5 * k
                lines.append(
                    f"{race[:4]} {school} {k},{school},{time_s // 60}:{time_s % 60:02d},{race}"
                )
    (where / "entries.csv").write_text("\n".join(lines) + "\n", "utf-8")
    (where / "day.toml").write_text(DAY, "utf-8")
    return where


@pytest.fixture(scope="module")
def days(folder: Path) -> dict[str, Scenario]:
    return dict(read_races(folder / "day.toml"))


def test_a_day_has_a_race_day_for_each_of_its_races(days: dict[str, Scenario]) -> None:
    """Each with its own part of the list, what it says otherwise, and the day's name before its own."""
    assert list(days) == ["Varsity girls", "JV girls", "JV"]
    varsity, second, both = days.values()
    assert [day.name for day in days.values()] == [f"Fen day: {name}" for name in days]
    assert [day.runners for day in (varsity, second, both)] == [15, 15, 30]
    assert (varsity.field.opening, second.field.opening) == (0.10, 0.05)
    assert (varsity.start.front_row, second.start.front_row) == (3, 2)
    assert all(p.name.startswith("Vars") for team in varsity.teams for p in team.people)


def test_the_first_race_is_read_where_none_is_named(folder: Path) -> None:
    """Or the one that [field] names, or the one asked for; one that is not there is told with the nearest."""
    assert read(folder / "day.toml").name == "Fen day: Varsity girls"
    assert read(folder / "day.toml", "jv GIRLS").name == "Fen day: JV girls"
    told = folder / "told.toml"
    told.write_text(DAY.replace("[field]", '[field]\nrace = "JV"'), "utf-8")
    assert read(told).name == "Fen day: JV"
    told.write_text(
        DAY.replace('"Varsity girls"\n', '"Varsity girls"\nfield = { openin = 0.1 }\n'), "utf-8"
    )
    with pytest.raises(BadInput, match=r"races\.Varsity girls\.field\.openin: unknown key"):
        read(told)
    with pytest.raises(BadInput, match="did you mean 'JV girls'"):
        read(folder / "day.toml", "JV gils")
    with pytest.raises(BadInput, match="did you mean 'Varsity girls'"):
        read_races(folder / "day.toml", ["Varsty girls"])


def test_one_answer_takes_one_race_and_says_which(folder: Path) -> None:
    """The first that our team runs in, or the one that is named, under [field] or by whoever asks."""
    ours = "\n[[teams]]\nname = 'Hollin'\nbox = 5\nours = true\n"
    with (folder / "entries.csv").open("r", encoding="utf-8") as had:
        text = had.read() + "".join(f"Hollin {k},Hollin,22:{k:02d},JV girls\n" for k in range(5))
    (folder / "hollin.csv").write_text(text, "utf-8")
    file = folder / "hollin.toml"
    file.write_text(DAY.replace("entries.csv", "hollin.csv") + ours, "utf-8")
    told = "a day of 3 races; this is JV girls, the first that our team runs in. --race NAME takes another"
    with pytest.warns(Notice, match=told):
        assert read_one(file).name == "Fen day: JV girls"
    with pytest.warns(Notice, match="this is Varsity girls, the first. --race"):
        assert read_one(folder / "day.toml").name == "Fen day: Varsity girls"
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert read_one(file, "JV girls").name == "Fen day: JV girls"
        file.write_text(DAY.replace("[field]", '[field]\nrace = "JV"'), "utf-8")
        assert read_one(file).name == "Fen day: JV"


def test_one_race_of_the_entry_list_of_a_day_of_one(folder: Path) -> None:
    """No [[races]]: the race is one of the list; where nothing is chosen there, it is told."""
    file = folder / "one.toml"
    plain = DAY[: DAY.index("[[races]]")].replace("fill = true", 'fill = true\nrace = "JV girls"')
    file.write_text(plain, "utf-8")
    assert {p.name[:4] for team in read_one(file, "JV boys").teams for p in team.people} == {"JV b"}
    with pytest.raises(BadInput, match="JV boyz"):
        read_one(file, "JV boyz")


def test_girls_and_boys_in_one_race_keep_their_own_bodies(days: dict[str, Scenario]) -> None:
    """Squads of their own, and of each the shoulders and reactions of the race that is theirs alone."""
    both = days["JV"]
    assert len(both.teams) == 6
    assert {team.name for team in both.teams} >= {"Ashmarl JV girls", "Ashmarl JV boys"}
    roster = both.roster(3)
    girls = np.char.endswith(roster.team, "girls")
    for body, who in (("women", girls), ("men", ~girls)):
        alone = both.changed({"field.bodies": dict.fromkeys(both.field.bodies, body)}).roster(3)
        np.testing.assert_array_equal(roster.radius_m[who], alone.radius_m[who])
        np.testing.assert_array_equal(roster.reaction_s[who], alone.reaction_s[who])
    assert roster.radius_m[~girls].mean() > roster.radius_m[girls].mean()
    assert roster.cruise_m_s[~girls].mean() > roster.cruise_m_s[girls].mean()


def test_waves_by_seed_time_send_the_faster_teams_first(days: dict[str, Scenario]) -> None:
    """Three teams in two waves: the two faster ones at the gun, the slowest 30 s later, whatever its box."""
    second = days["JV girls"]
    plain = second.changed({"start.waves": 1, "start.waves_by": None})
    waits = second.roster(2).reaction_s - plain.roster(2).reaction_s
    by_team = {name: waits[second.roster(2).team == name] for name in SCHOOLS}
    assert by_team["Ashmarl"] == pytest.approx(np.zeros(5))
    assert by_team["Corvane"] == pytest.approx(np.zeros(5))
    assert by_team["Ellerfold"] == pytest.approx(np.full(5, 30.0))
    teams = np.repeat(np.arange(5), 2)
    assert (
        waves_by_pace(teams, np.repeat([4.0, 5, 3, 6, 2], 2), 2).tolist()
        == np.repeat([0, 0, 1, 0, 1], 2).tolist()
    )


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('wave_gap = "30 s"', 'wave_gap = "8 min"', "before the clock stops at 480 s"),
        ('wave_gap = "30 s"', 'wave_gp = "30 s"', "races.JV girls.start.wave_gp: unknown key"),
        ("waves = 2, ", "", "only with start.waves = 2 or more"),
        ('"JV boys" = "men"', '"JV boy" = "men"', "did you mean 'JV boys'"),
        ('"JV boys" = "men"', '"JV boys" = "boys"', "races of the entry list and whose bodies"),
        ('name = "JV"', 'name = "JV girls"', "'JV girls' twice"),
        ("field = { opening = 0.05 }", "field = 5", "in curly brackets"),
        ('lists = ["JV girls", "JV boys"]', 'lists = ["JV girl", "JV boys"]', "no race 'JV girl'"),
        (
            'name = "JV girls"',
            'name = "JV women"',
            "no race 'JV women'; its races: 'Varsity girls'",
        ),
    ],
)
def test_what_cannot_be_is_one_clear_error(folder: Path, old: str, new: str, told: str) -> None:
    """File, key, what was found, what is allowed."""
    wrong = folder / "wrong.toml"
    wrong.write_text(DAY.replace(old, new, 1), "utf-8")
    with pytest.raises(BadInput) as refused:
        read_races(wrong)
    assert told in str(refused.value)
    assert str(refused.value).startswith((str(wrong), "entries.csv: line 1, column race"))


def test_keys_of_a_race_lead_to_the_race() -> None:
    """What it says itself, and which part of the entry list runs; everything else is the day's."""
    told = tomllib.loads(DAY)
    changes = [(("field", "opening"), 0.1), (("start", "width"), 28), (("field", "race"), "JV")]
    assert keys_of_race(told, "JV girls", changes) == [
        (("races", "JV girls", "field", "opening"), 0.1),
        (("start", "width"), 28),
        (("races", "JV girls", "lists"), ["JV"]),
    ]
    assert keys_of_race({"name": "one race"}, "", changes) == changes
