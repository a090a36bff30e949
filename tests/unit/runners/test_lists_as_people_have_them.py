"""Entry lists as they come out of a spreadsheet or an entry form: read, or asked about in one line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.measure.wheel import measure_ground
from simrun.runners.seed_time import nearest_time, seed_time_s
from simrun.runners.seed_times import Entry, Reading, parse_entries
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FEN = (SCENARIOS / "brindle_fen.toml").read_text("utf-8")
ENTRIES = (SCENARIOS / "brindle_fen_entries.csv").read_text("utf-8")
BOXES = (SCENARIOS / "brindle_fen_boxes.csv").read_text("utf-8")

LIST = "name,team,time\nAro Fen,Elm,18:00\nBel Oak,Elm,{}\nCor Ash,Elm,20:00\nDun Ivy,Ash,22:00\n"


def fen(
    folder: Path,
    entries: str = ENTRIES,
    field: str = "",
    boxes: str = BOXES,
    encoding: str = "utf-8",
) -> Scenario:
    """The fen race with another list, or with more keys under [field]."""
    (folder / "brindle_fen_entries.csv").write_text(entries, encoding=encoding)
    (folder / "brindle_fen_boxes.csv").write_text(boxes, encoding=encoding)
    (folder / "day.toml").write_text(FEN.replace("[field]", f"[field]\n{field}"), encoding="utf-8")
    return read(folder / "day.toml")


def told(text: str, reading: Reading | None = None) -> str:
    with pytest.raises(BadInput) as wrong:
        parse_entries(text, "x.csv", reading or Reading())
    return str(wrong.value)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("16:22:00", 982.0),
        ("16:22:00.0", 982.0),
        ("0:16:22", 982.0),
        ("00:16:22,5", 982.5),
        ("1:00:00", 3600.0),
        ("60:00:00", 3600.0),
        ("4:22:00 PM", 982.0),
        ("4:22 PM", 982.0),
        ("12:16:22 AM", 982.0),
        ("0.011365740740740741", 982.0),
        ("0,681944444", 982.0),
        ("16'22", 982.0),
        ("16\u203222.5\u2033", 982.5),
    ],
)
def test_times_as_spreadsheets_show_them(text: str, seconds: float) -> None:
    """By hand: 16:22 is 982 s, 982/86400 of a day, and 16 h 22 min 982/1440."""
    assert seed_time_s(text) == seconds


@given(st.integers(600, 3600))
def test_a_time_comes_back_from_every_cell_of_a_spreadsheet(time_s: int) -> None:
    minutes, seconds = divmod(time_s, 60)
    hours = f"{minutes // 60}:{minutes % 60:02d}:{seconds:02d}"
    assert seed_time_s(hours) == time_s
    assert seed_time_s(f"{minutes}:{seconds:02d}:00") == time_s
    assert seed_time_s(f"{time_s / 86400:.9f}") == time_s
    if time_s < 1440:
        assert seed_time_s(f"{time_s / 1440:.9f}") == time_s


@pytest.mark.parametrize(
    ("text", "meant"),
    [("18.20", "18:20"), ("18:20:5", "18:20.5"), ("18.20,5", "18:20.5"), ("9.20", ""), ("x", "")],
)
def test_what_is_not_clear_is_asked_with_what_was_probably_meant(text: str, meant: str) -> None:
    assert nearest_time(text) == meant
    said = told(LIST.format(f'"{text}"'))
    assert said.startswith("x.csv: line 3, column time: ")
    assert (f"did you mean {meant!r}?" in said) == bool(meant)


@pytest.mark.parametrize(
    ("times", "seconds"),
    [
        (("1620", "1675"), (1620.0, 1675.0)),  # 16:75 is no time: all are seconds
        (("1620", "945"), (1620.0, 945.0)),
        (("1620", "1215"), (1620.0, 1215.0)),  # nobody runs 12:15
        (("1620", "3705"), (980.0, 2225.0)),  # 3705 seconds are more than an hour: all are 16:20
        (("1620.5", "4001,5"), (980.5, 2401.5)),
        (("16:20", "1215"), (980.0, 1215.0)),
    ],
)
def test_four_digits_are_read_as_the_whole_column_is(
    times: tuple[str, str], seconds: tuple[float, float]
) -> None:
    """By hand: 16:20 is 980 s, 37:05 is 2225 s, 40:01.5 is 2401.5 s."""
    text = f"name;team;time\nAro Fen;Low Hill;{times[0]}\nBel Oakley;Low Hill;{times[1]}\n"
    assert tuple(entry.time_s for entry in parse_entries(text, "entries.csv")) == seconds


def test_four_digits_that_may_be_both_are_asked_in_one_line_and_settled_by_a_key() -> None:
    text = (
        "name,team,time\nAro Fen,Low Hill,17:02\nBel Oakley,Low Hill,1620\nCor Ash,Low Hill,1731\n"
    )
    with pytest.raises(BadInput) as caught:
        parse_entries(text, "entries.csv")
    assert str(caught.value) == (
        "entries.csv: line 3, column time: '1620' may be 16:20 or 27:00; "
        'write plain_times = "minutes" (16:20) or "seconds" (27:00) under [field]'
    )
    for plain, seconds in (("minutes", 980.0), ("seconds", 1620.0)):
        read = parse_entries(text, "entries.csv", Reading(plain=plain))
        assert [entry.time_s for entry in read][:2] == [1022.0, seconds]
    with pytest.raises(BadInput, match="line 3, column time: '1675'"):
        parse_entries(text.replace("1620", "1675"), "entries.csv", Reading(plain="minutes"))


@pytest.mark.parametrize("none", ["NT", "", "-", "n/a", "NM"])
def test_who_has_no_time_runs_at_the_middle_time_of_the_team(none: str) -> None:
    entries = parse_entries(LIST.format(none), "x.csv")
    assert entries[1] == Entry("Bel Oak", "Elm", 1140.0, guessed=True)
    assert [entry.guessed for entry in entries] == [False, True, False, False]
    assert parse_entries(LIST.format(none), "x.csv", Reading(no_time=1300.0))[1].time_s == 1300.0
    left = parse_entries(LIST.format(none), "x.csv", Reading(no_time="leave out"))
    assert [entry.name for entry in left] == ["Aro Fen", "Cor Ash", "Dun Ivy"]


def test_a_team_without_any_time_runs_at_the_middle_time_of_the_list() -> None:
    entries = parse_entries(LIST.format("19:00") + "Eve Yew,Yew,NT\n", "x.csv")
    assert entries[-1].time_s == (1140.0 + 1200.0) / 2
    none = "name,team,time\nAro,Elm,NT\n"
    assert 'no_time = "20:00"' in told(none)
    assert parse_entries(none, "x.csv", Reading(no_time=1200.0))[0].time_s == 1200.0


@pytest.mark.parametrize("word", ["DNS", "scratched"])
def test_who_does_not_start_is_left_out(word: str) -> None:
    names = [entry.name for entry in parse_entries(LIST.format(word), "x.csv")]
    assert names == ["Aro Fen", "Cor Ash", "Dun Ivy"]


@pytest.mark.parametrize(
    "head", ["First Name,Last Name", "first,last", "Given name,Surname", "Firstname,Name"]
)
def test_first_and_last_name_in_two_columns(head: str) -> None:
    (entry,) = parse_entries(f"Bib,{head},School,Seed\n7,Aro,Fen,Elm,18:00\n", "x.csv")
    assert entry == Entry("Aro Fen", "Elm", 1080.0)


def test_a_title_above_the_head_and_a_hundred_columns_more() -> None:
    more = ",".join(f"extra {i}" for i in range(100))
    text = f"Fen meet, entries;\n\n{more},Name,Team,Time\n{'x,' * 100}Aro,Elm,18:00\n"
    assert parse_entries(text, "x.csv") == (Entry("Aro", "Elm", 1080.0),)
    assert "x.csv: line 4, column time: 'y'" in told(text.replace("18:00", "y"))


RACES = "name,team,time,Division,Sex\nAro,Elm,18:00,Varsity,F\n"
RACES += "Bel,Elm,19:00,Novice,F\nCor,Elm,17:00,Varsity,M\n"


@pytest.mark.parametrize(
    ("races", "names"),
    [
        (("varsity", "F"), ["Aro"]),
        (("Varsity", "F", "M"), ["Aro", "Cor"]),
        (("Novice",), ["Bel"]),
        (("Varsity", "Novice", "F"), ["Aro", "Bel"]),
    ],
)
def test_one_race_of_several_is_chosen(races: tuple[str, ...], names: list[str]) -> None:
    entries = parse_entries(RACES, "x.csv", Reading(races=races))
    assert [entry.name for entry in entries] == names


def test_races_are_listed_where_nobody_chose() -> None:
    assert told(RACES) == (
        "x.csv: line 1, column Division: 2 races: 'Varsity' (2), 'Novice' (1); "
        'choose under [field], such as race = "Varsity"; a list takes several'
    )
    assert 'race = ["Varsity", "F"]' in told(RACES, Reading(races=("Varsity",)))
    said = told(RACES, Reading(races=("Varsty",)))
    assert said.endswith("did you mean 'Varsity'?")


def test_a_column_that_is_not_clear_is_asked_with_three_readings() -> None:
    text = "name,team,SB,PB,5000,1500\nAro,Elm,18:00,17:50,18:10,4:50\n"
    said = told(text)
    assert 'write columns = { time = "SB" } (or "PB" or "5000") under [field]' in said
    for column, seconds in (("PB", 1070.0), (5, 1090.0)):
        reading = Reading(columns={"time": column})
        assert parse_entries(text, "x.csv", reading)[0].time_s == seconds
    twice = "name,name,team,time\nAro,Coach,Elm,18:00\n"
    assert "columns = { name = 1 } (or 2)" in told(twice)
    assert parse_entries(twice, "x.csv", Reading(columns={"name": 1}))[0].name == "Aro"
    assert "name,team,time" in told("Aro,Elm,18:00\nBel,Elm,18:10\n")


@pytest.mark.parametrize("encoding", ["utf-16", "cp1252"])
def test_the_fen_race_is_read_from_lists_in_other_letters(tmp_path: Path, encoding: str) -> None:
    swapped = ENTRIES.replace("Ashmarl", "Äshmarl").replace(",", ";")
    boxes = BOXES.replace("Ashmarl", "Äshmarl").replace(",", ";")
    day = fen(tmp_path, swapped, boxes=boxes, encoding=encoding)
    assert {team.name: team.box for team in day.teams}["Äshmarl"] == 10
    assert day.roster(1).cruise_m_s.tolist() == fen(tmp_path).roster(1).cruise_m_s.tolist()


def test_the_keys_of_the_scenario_settle_a_list(tmp_path: Path) -> None:
    """A hundred more runners of another race, and a time in a column of its own name."""
    head, *rows = ENTRIES.splitlines()
    girls = [f"{row},Varsity girls" for row in rows]
    boys = [f"{row},Varsity boys" for row in rows]
    text = "\n".join([head.replace("Seed time", "Best") + ",Race", *girls, *boys])
    keys = 'columns = { time = "Best" }\nrace = "Varsity girls"'
    day = fen(tmp_path, text, keys)
    assert day.roster(1).name == fen(tmp_path).roster(1).name
    assert Scenario.from_json(day.to_json()) == day
    with pytest.raises(BadInput, match="2 races: 'Varsity girls'"):
        fen(tmp_path, text, 'columns = { time = "Best" }')


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('no_time = "zzz"', "field.no_time: 'zzz'; team, leave out, or a 5 km time"),
        ("race = []", "field.race: a list of 0"),
        ("columns = { tme = 1 }", "field.columns.tme: unknown key"),
        ("columns = { time = true }", "field.columns.time: true; a column's name"),
    ],
)
def test_a_key_that_settles_nothing_is_refused(tmp_path: Path, keys: str, said: str) -> None:
    with pytest.raises(BadInput) as wrong:
        fen(tmp_path, field=keys)
    assert said in str(wrong.value)


def test_a_box_sheet_as_people_have_it(tmp_path: Path) -> None:
    """Empty boxes, a word before the number, numbers that a spreadsheet made to fractions."""
    rows = BOXES.splitlines()[1:]
    text = "\n".join(["Box,School", *(f"Box {row}" for row in rows[:5])])
    text += "\n" + "\n".join(row.replace(",", ".0,", 1) for row in rows[5:]) + "\n6,,\n14,empty\n"
    assert [t.box for t in fen(tmp_path, boxes=text).teams] == [t.box for t in fen(tmp_path).teams]
    with pytest.raises(BadInput) as wrong:
        fen(tmp_path, boxes=BOXES.replace("Box", "Stall"))
    assert str(wrong.value).count("\n") == 0
    assert 'columns = { box = "Stall" }' in str(wrong.value)


@pytest.mark.parametrize(("word", "meant"), [("gate", "gap"), ("Bend", "turn"), ("trial", "trail")])
def test_a_refused_piece_is_told_with_what_it_is_called_here(
    tmp_path: Path, word: str, meant: str
) -> None:
    (tmp_path / "day.toml").write_text(FEN.replace('"narrowing"', f'"{word}"', 1), "utf-8")
    with pytest.raises(BadInput, match=f"did you mean '{meant}'"):
        read(tmp_path / "day.toml")


def test_check_says_how_many_run_without_a_time(tmp_path: Path) -> None:
    rows = ENTRIES.splitlines()
    rows[3] = rows[3].rpartition(",")[0] + ",NT"
    assert measure_ground(fen(tmp_path, "\n".join(rows))).without_time == 1
    assert measure_ground(fen(tmp_path)).without_time == 0
