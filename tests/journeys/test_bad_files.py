"""Somebody hands over a file with one mistake in it: one line says which file, key, found, allowed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from simrun.errors import BadInput, Problem
from simrun.scenario import read
from tests.helpers.scenario_text import ENTRIES, SMALL, WHOLE, swapped, write_scenario

FOREIGN_WORDS = ("pydantic", "Input should", "validation error", "type=", "Traceback", "field ")


def problems_of(path: Path) -> tuple[Problem, ...]:
    """The mistakes that `read` finds; every one on one line that names a file, in our words."""
    with pytest.raises(BadInput) as caught:
        read(path)
    lines = str(caught.value).split("\n")
    assert len(lines) == len(caught.value.problems)
    for line, problem in zip(lines, caught.value.problems, strict=True):
        assert line.startswith(f"{problem.file}: {problem.key}: {problem.found}; {problem.allowed}")
        assert not any(word in line for word in FOREIGN_WORDS), line
        assert line.isprintable(), line
        assert len(line) < 500, line
        assert problem.found
        assert problem.allowed
    return caught.value.problems


def only_problem(path: Path) -> Problem:
    """The one mistake that `read` finds."""
    problems = problems_of(path)
    assert len(problems) == 1, "\n".join(map(str, problems))
    return problems[0]


def holds(problem: Problem, key: str, found: str, allowed: str, nearest: str = "") -> None:
    assert problem.key == key
    assert found in problem.found
    assert allowed in problem.allowed
    assert problem.nearest == nearest


def test_the_unchanged_file_is_read(tmp_path: Path) -> None:
    """Or else every test below would pass for the wrong reason."""
    assert read(write_scenario(tmp_path)).our_team == "Alderbrook"


ONE_CHANGE = {
    # unknown keys, with the nearest
    "table": ("[clock]", "[clok]", "clok", "unknown key", "clock", "clock"),
    "start key": ('shape = "arc"', 'shap = "arc"', "start.shap", "unknown key", "shape", "shape"),
    "misspelt needed key": (
        "boxes = 24",
        "boxs = 24",
        "start.boxs",
        "unknown key",
        "boxes",
        "boxes",
    ),
    "piece key": (
        "climb = -2",
        "clim = -2",
        "course.pieces.back straight.clim",
        "unknown key",
        "climb",
        "climb",
    ),
    "person key": (
        "opening = 0.15",
        "openning = 0.15",
        "teams.Alderbrook.people.Aro Fen.openning",
        "unknown key",
        "opening",
        "opening",
    ),
    "share key": (
        "lines = { inside = 0.6, middle",
        "lines = { inside = 0.6, midle",
        "field.lines.midle",
        "unknown key",
        "inside, middle, outside",
        "middle",
    ),
    "nothing near": ("aim =", "zzzz =", "start.zzzz", "unknown key", "allowed here: width", ""),
    "python's names are no keys": (
        'limit = "6 min"',
        "limit_s = 360",
        "clock.limit_s",
        "unknown key",
        "limit, step_s",
        "limit",
    ),
    # what is missing
    "no name": ('name = "Low Meadow farm race"\n', "", "name", "missing", "the race's name", ""),
    "no width": ('width = "60 m"\n', "", "start.width", "missing", "width of the line", ""),
    "no box": ("box = 3\n", "", "teams.Birchmoor.box", "missing", "a box from 1 to 24", ""),
    "arc without aim": ('aim = "160 m"\n', "", "start.aim", "missing", "common point", ""),
    "no first width": (
        "length = 150\nwidth = 60\n",
        "length = 150\n",
        "course.pieces.hay meadow.width",
        "missing",
        "how wide the first piece is",
        "",
    ),
    "turn without angle": (
        'angle = 90\ninside_radius = "4 m"\n',
        'inside_radius = "4 m"\n',
        "course.pieces.barn corner.angle",
        "missing",
        "degrees",
        "",
    ),
    "normal without spread": ('spread = "60 s"\n', "", "field.spread", "missing", "'normal'", ""),
    # boxes
    "two in one box": (
        "box = 3\n",
        "box = 12\n",
        "teams.Birchmoor.box",
        "box 12, where 'Alderbrook' stands already",
        "one team a box",
        "",
    ),
    "empty box": (
        "box = 3\n",
        "box = 7\n",
        "teams.Birchmoor.box",
        "box 7",
        "start.empty does not leave empty",
        "",
    ),
    "no such box": ("box = 3\n", "box = 25\n", "teams.Birchmoor.box", "25", "from 1 to 24", ""),
    "box zero": ("box = 3\n", "box = 0\n", "teams.Birchmoor.box", "0", "whole number from 1", ""),
    "boxes beyond the line": (
        'box_width = "2.5 m"',
        'box_width = "2.51 m"',
        "start.boxes",
        "24 boxes of 2.51 m",
        "at most 23 fit the line of 60 m",
        "",
    ),
    "line wider than the ground": (
        'width = "60 m"',
        'width = "60.5 m"',
        "start.width",
        "60.5 m",
        "at most 60 m, the width of the first piece",
        "",
    ),
    "front row too tight": (
        "front_row = 3",
        "front_row = 6",
        "start.front_row",
        "6",
        "at most 5 side by side in 2.5 m",
        "",
    ),
    "row gap": ('row_gap = "1 m"', 'row_gap = "0.5 m"', "start.row_gap", "0.5 m", "0.6 to 3 m", ""),
    "empty beyond": ("empty = [7]", "empty = [25]", "start.empty", "box 25", "from 1 to 24", ""),
    "aim too near": ('aim = "160 m"', 'aim = "30 m"', "start.aim", "30 m", "more than half", ""),
    "aim on a straight line": (
        'shape = "arc"',
        'shape = "straight"',
        "start.aim",
        "160 m",
        "only with shape = 'arc'",
        "",
    ),
    # words
    "shape": ('"arc"', '"ark"', "start.shape", "'ark'", "straight, arc", "arc"),
    "kind of piece": (
        'piece = "trail"',
        'piece = "trial"',
        "course.pieces.flood bank.piece",
        "'trial'",
        "straight, narrowing, turn, gap, trail",
        "trail",
    ),
    "ability": (
        'ability = "normal"\ntime = "18:30"\nspread = "60 s"',
        'ability = "boy varsity 5 km"',
        "field.ability",
        "'boy varsity 5 km'",
        "even, normal",
        "boys varsity 5 km",
    ),
    "line": (
        'line = "outside"',
        'line = "outsid"',
        "teams.Alderbrook.line",
        "'outsid'",
        "inside, middle, outside",
        "outside",
    ),
    # turns, laps, marks
    "unknown turn": (
        '"barn corner" = "inside"',
        '"barn cornr" = "inside"',
        "teams.Alderbrook.lines.barn cornr",
        "unknown turn",
        "barn corner, post turn, yard turn, gate bend",
        "barn corner",
    ),
    "unknown lap": (
        '"gate bend@2"',
        '"gate bend@3"',
        "teams.Alderbrook.lines.gate bend@3",
        "unknown turn",
        "name@lap",
        "gate bend@2",
    ),
    "offset beyond the course": (
        '"gate bend@2" = 1.5',
        '"gate bend@2" = 8.5',
        "teams.Alderbrook.lines.gate bend@2",
        "8.5 m off the inside edge",
        "at most 8.0 m",
        "",
    ),
    "lap from": (
        'from = "bank straight"',
        'from = "bank strait"',
        "course.laps.from",
        "'bank strait'",
        "the name of a piece",
        "bank straight",
    ),
    "lap to": (
        'to = "gate bend"',
        'to = "gat bend"',
        "course.laps.to",
        "'gat bend'",
        "the name of a piece",
        "gate bend",
    ),
    "lap backwards": (
        'to = "gate bend"',
        'to = "gateway"',
        "course.laps.to",
        "'gateway'",
        "a piece that comes after 'bank straight'",
        "",
    ),
    "checkpoint beyond the course": (
        "at = 400",
        "at = 5000",
        "course: mark '400 m'",
        "5000 m",
        "the measured line runs",
        "",
    ),
    # which keys belong to which piece
    "length of a turn": (
        'angle = 90\ninside_radius = "4 m"',
        'angle = 90\nlength = 5\ninside_radius = "4 m"',
        "course.pieces.barn corner.length",
        "written for a turn",
        "straight, narrowing, gap, trail",
        "",
    ),
    "drawing's key": (
        "[course]\n",
        "[course]\nwidth = 12\n",
        "course.width",
        "beside pieces",
        "only for a drawing",
        "",
    ),
    "both drawing and pieces": (
        "[course]\n",
        '[course]\ndrawn = "meadow.geojson"\n',
        "course.drawn",
        "'meadow.geojson'",
        "either a drawing or pieces, not both",
        "",
    ),
    # shares and times
    "shares": (
        "inside = 0.6, middle",
        "inside = 0.7, middle",
        "field.lines",
        "1.1",
        "add up to 1",
        "",
    ),
    "pull backwards": (
        "pull = [0.3, 1.0]",
        "pull = [1.0, 0.3]",
        "field.pull",
        "1 before 0.3",
        "a low and a high number",
        "",
    ),
    "frame": ("frame_s = 0.1", "frame_s = 0.12", "clock.frame_s", "0.12", "multiple of clock", ""),
    "step": ("step_s = 0.05", "step_s = 0.2", "clock.step_s", "0.2", "0.01 to 0.1", ""),
    "limit": ('"6 min"', '"3 h"', "clock.limit", "'3 h'", "1 s to 2 h", ""),
    "time": ('"17:55"', '"17:75"', "teams.Alderbrook.people.Aro Fen.time", "'17:75'", "18:20", ""),
    "time that nobody runs": ('time = "18:30"', "time = 18.5", "field.time", "18.5", "10 min", ""),
    "time of day": (
        'time = "18:30"',
        "time = 18:30:00",
        "field.time",
        "a time of day",
        'text such as "90 s"',
        "",
    ),
    "unit": ('"200 yd"\nclimb = 2', '"200 yrd"\nclimb = 2', "", "'200 yrd'", '"150 yd"', "yd"),
    "no unit": ('at = "150 yd"', 'at = "150"', "course.landmarks.big oak.at", "'150'", "yd", ""),
    # numbers that are none
    "true is no number": ("at = 400", "at = true", "course.checkpoints.400 m.at", "true", "m", ""),
    "true is no whole number": ("boxes = 24", "boxes = true", "start.boxes", "true", "whole", ""),
    "1 is not true": ("ours = true", "ours = 1", "teams.Alderbrook.ours", "1", "true or false", ""),
    "half a runner": (
        "runners = 6",
        "runners = 6.5",
        "teams.Alderbrook.runners",
        "6.5",
        "whole number from 1 to 12",
        "",
    ),
    "nan": ("at = 400", "at = nan", "course.checkpoints.400 m.at", "nan", "60000 m", ""),
    "infinite": ("at = 400", "at = inf", "course.checkpoints.400 m.at", "inf", "60000 m", ""),
    "negative": ("at = 400", "at = -400", "course.checkpoints.400 m.at", "-400", "60000 m", ""),
    "31 bits": (
        "length = 150",
        "length = 2147483648",
        "course.pieces.hay meadow.length",
        "2147483648",
        "0.1 to 20000 m",
        "",
    ),
    "1e300": (
        "length = 150",
        "length = 1e300",
        "course.pieces.hay meadow.length",
        "1e+300",
        "0.1 to 20000 m",
        "",
    ),
    "400 digits": (
        "length = 150",
        f"length = {'9' * 400}",
        "course.pieces.hay meadow.length",
        "more than 19 digits",
        "0.1 to 20000 m",
        "",
    ),
    "text of 5000 digits": (
        "length = 150",
        f'length = "{"9" * 5000} m"',
        "course.pieces.hay meadow.length",
        "'9999",
        "0.1 to 20000 m",
        "",
    ),
    "opening": ("opening = 0.12", "opening = 12", "teams.Alderbrook.opening", "12", "-0.3", ""),
    # types
    "list for text": (
        'name = "Birchmoor"',
        'name = ["Birchmoor"]',
        "teams.2.name",
        "a list",
        "text of 1 to 80",
        "",
    ),
    "table for text": ('"hay meadow"', "{ a = 1 }", "course.pieces.1.name", "a table", "text", ""),
    "text for a list": ("empty = [7]", 'empty = "7"', "start.empty", "'7'", "box numbers", ""),
    "text in a list": ("empty = [7]", 'empty = ["7"]', "start.empty.1", "'7'", "whole number", ""),
    "text for a table": (
        "lines = { inside = 0.6, middle = 0.2, outside = 0.2 }",
        'lines = "inside"',
        "field.lines",
        "'inside'",
        "a table",
        "",
    ),
    "empty text": ('name = "Birchmoor"', 'name = "  "', "teams.2.name", "'  '", "1 to 80", ""),
    "line break in a name": (
        'name = "Birchmoor"',
        'name = "Birch\\nmoor"',
        "teams.Birch\\nmoor.name",
        "'Birch\\nmoor'",
        "on one line",
        "",
    ),
    "long name": ('"Birchmoor"', f'"{"b" * 81}"', "", "'bbbb", "1 to 80 characters", ""),
    # people
    "same team twice": (
        'name = "Birchmoor"',
        'name = "alderbrook"',
        "teams.name",
        "'alderbrook' twice",
        "every name once",
        "",
    ),
    "same person twice": (
        'name = "Cade Holm"',
        'name = "Aro Fen"',
        "teams.Alderbrook.people.name",
        "'Aro Fen' twice",
        "every name once",
        "",
    ),
    "unknown person in front": (
        'front = ["Aro Fen", "Bil Tarn"]',
        'front = ["Aro Fen", "Bill Tarn"]',
        "teams.Alderbrook.front",
        "'Bill Tarn'",
        "one of the team's people",
        "Bil Tarn",
    ),
    "row that does not exist": (
        "row = 2",
        "row = 3",
        "teams.Alderbrook.people.row",
        "row 3",
        "2 rows",
        "",
    ),
    "front and second row": (
        "row = 1",
        "row = 2",
        "teams.Alderbrook.front",
        "'Aro Fen', whose row is 2",
        "the front is row 1",
        "",
    ),
    "more people than runners": (
        "runners = 6",
        "runners = 2",
        "teams.Alderbrook.people",
        "3 people",
        "at most the 2 runners",
        "",
    ),
    "two teams are ours": (
        "box = 3\n",
        "box = 3\nours = true\n",
        "teams.ours",
        "'Alderbrook', 'Birchmoor'",
        "at most one",
        "",
    ),
    "a number of teams beside teams": (
        "fill = false",
        "teams = 5",
        "field.teams",
        "5",
        "only without [[teams]]",
        "",
    ),
    # files it names
    "unknown entry list": (
        'ability = "normal"\ntime = "18:30"\nspread = "60 s"',
        'seed_times = "entris.csv"',
        "field.seed_times",
        "'entris.csv': no such file",
        "a file that exists",
        "entries.csv",
    ),
    "above the folder": (
        'ability = "normal"\ntime = "18:30"\nspread = "60 s"',
        'seed_times = "../entries.csv"',
        "field.seed_times",
        "lies elsewhere",
        "in the scenario's own folder",
        "",
    ),
    "absolute": (
        'ability = "normal"\ntime = "18:30"\nspread = "60 s"',
        'seed_times = "/etc/hostname"',
        "field.seed_times",
        "lies elsewhere",
        "in the scenario's own folder",
        "",
    ),
    "absolute elsewhere": (
        'ability = "normal"\ntime = "18:30"\nspread = "60 s"',
        'seed_times = "C:\\\\entries.csv"',
        "field.seed_times",
        "lies elsewhere",
        "in the scenario's own folder",
        "",
    ),
}


@pytest.mark.parametrize("what", ONE_CHANGE)
def test_one_mistake_is_one_line(tmp_path: Path, what: str) -> None:
    """One planted mistake: one line, with the file, the key, what was found and what is allowed."""
    old, new, key, found, allowed, nearest = ONE_CHANGE[what]
    (tmp_path / "entries.csv").write_text(ENTRIES, encoding="utf-8")
    path = write_scenario(tmp_path, swapped(old, new))
    problem = only_problem(path)
    assert problem.file == str(path)
    holds(problem, key or problem.key, found, allowed, nearest)


WHOLE_TEXTS = {
    "empty": ("", "file", "empty", "a scenario in TOML"),
    "blank": (" \n\n", "file", "empty", "a scenario in TOML"),
    "not TOML": (swapped('width = "60 m"', "width = 60 m"), "line 12", "width = 60 m", "in quotes"),
    "prose": ("A race.\n", "line 1", "'A race.'", "key = value"),
    "cut short": (WHOLE[: WHOLE.index('"inside"') + 4], "line 111", "", "quotes"),
    "key twice": (swapped("boxes = 24", "boxes = 24\nboxes = 23"), "line 17", "boxes = 23", "once"),
    "table twice": (WHOLE + "[start]\n", "line 130", "'[start]'", "every table once"),
    "number of 5000 digits": (
        swapped("length = 150", f"length = {'9' * 5000}"),
        "file",
        "thousands of digits",
        "sane size",
    ),
    "deep lists": (f"name = {'[' * 4000}\n", "file", "nested too deep", "a few levels"),
    "long line": (f"name = {'a.' * 9000}b\n", "line 1", "18008 characters", "at most 10000"),
}


@pytest.mark.parametrize("what", WHOLE_TEXTS)
def test_a_file_that_is_no_scenario(tmp_path: Path, what: str) -> None:
    """Not even TOML: the line is named."""
    text, key, found, allowed = WHOLE_TEXTS[what]
    path = write_scenario(tmp_path, text)
    problem = only_problem(path)
    assert problem.file == str(path)
    assert problem.key == key
    assert found in problem.found
    assert allowed in problem.allowed


def test_deep_tables_are_refused(tmp_path: Path) -> None:
    """Tables in tables, nested by dots, reach no limit of the interpreter."""
    path = write_scenario(tmp_path, WHOLE + f"\n[{'a.' * 4000}b]\n")
    holds(only_problem(path), "a", "unknown key", "allowed here")


def test_not_utf8_names_the_line(tmp_path: Path) -> None:
    """A file saved in another encoding."""
    path = tmp_path / "meadow.toml"
    path.write_bytes(WHOLE.replace("hay meadow", "h\u00e4y meadow").encode("latin-1"))
    holds(only_problem(path), "line 28", "not UTF-8", "save the file as UTF-8")


def test_a_byte_order_mark_is_no_mistake(tmp_path: Path) -> None:
    """Some editors write one."""
    path = tmp_path / "meadow.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    assert read(path).name == "Low Meadow farm race"


def test_a_missing_file_names_its_neighbour(tmp_path: Path) -> None:
    """A slip in the file's name."""
    write_scenario(tmp_path)
    path = tmp_path / "medow.toml"
    holds(only_problem(path), "file", "no such file", "exists", "meadow.toml")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    """The folder instead of the file in it."""
    holds(only_problem(tmp_path), "file", "a folder", "a plain file")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    """Reading a pipe that nobody writes to would never end."""
    os.mkfifo(tmp_path / "meadow.toml")
    holds(only_problem(tmp_path / "meadow.toml"), "file", "not a plain file", "a plain file")


@pytest.mark.parametrize("name", ["a\0b.toml", "x" * 5000, "a/\n/b.toml"])
def test_a_path_that_cannot_be(tmp_path: Path, name: str) -> None:
    """A path with a zero byte, of thousands of letters, with a line break."""
    with pytest.raises(BadInput) as caught:
        read(tmp_path / name)
    assert len(str(caught.value).split("\n")) == 1
    assert caught.value.problems[0].key == "file"


def test_a_scenario_of_more_than_2_mb_is_refused(tmp_path: Path) -> None:
    """One byte more than two million."""
    comment = "# a comment of 40 characters, the line feed\n"
    path = write_scenario(tmp_path, (comment * 50000)[:2_000_001])
    holds(only_problem(path), "file", "larger than allowed", "at most 2 MB")


def test_an_entry_list_of_more_than_20_mb_is_refused(tmp_path: Path) -> None:
    """The file is there, but twenty million bytes and one."""
    (tmp_path / "entries.csv").write_bytes(b"x" * 20_000_001)
    text = swapped("[field]\nteams = 2", '[field]\nseed_times = "entries.csv"', SMALL)
    holds(
        only_problem(write_scenario(tmp_path, text)),
        "field.seed_times",
        "'entries.csv': larger than allowed",
        "at most 20 MB",
    )


def test_a_link_may_not_lead_out_of_the_folder(tmp_path: Path) -> None:
    """A harmless name that is a link to somewhere else."""
    folder = tmp_path / "races"
    folder.mkdir()
    (tmp_path / "secret.csv").write_text(ENTRIES, encoding="utf-8")
    (folder / "entries.csv").symlink_to(tmp_path / "secret.csv")
    text = swapped("[field]\nteams = 2", '[field]\nseed_times = "entries.csv"', SMALL)
    problem = only_problem(write_scenario(folder, text))
    holds(problem, "field.seed_times", "lies elsewhere", "own folder")


def test_no_team_at_all(tmp_path: Path) -> None:
    """A race needs somebody to run it."""
    path = write_scenario(tmp_path, swapped("teams = 2\n", "", SMALL))
    holds(only_problem(path), "teams", "no team", "[[teams]]")


def test_no_ground_at_all(tmp_path: Path) -> None:
    """A course table with nothing in it."""
    text = SMALL.split("[[course.pieces]]")[0] + "[field]\nteams = 2\n"
    path = write_scenario(tmp_path, text)
    holds(only_problem(path), "course", "neither a drawing nor pieces", "GeoJSON")


@pytest.mark.parametrize("table", ["start", "course"])
def test_a_needed_table_is_missing(tmp_path: Path, table: str) -> None:
    """Nothing can be raced without a line or without ground."""
    head, start, course = SMALL.split("[start]")[0], *SMALL.split("[start]")[1].split("[course]")
    parts = {"start": f"[start]{start}", "course": f"[course]{course}"}
    text = head + "".join(part for name, part in parts.items() if name != table)
    holds(only_problem(write_scenario(tmp_path, text)), table, "missing", f"[{table}] is needed")


def test_more_teams_than_open_boxes(tmp_path: Path) -> None:
    """Eleven teams, ten boxes."""
    path = write_scenario(tmp_path, swapped("teams = 2", "teams = 11", SMALL))
    holds(only_problem(path), "field.teams", "11 teams", "at most 10 boxes are open")


def test_a_mistake_in_the_entry_list_names_that_file(tmp_path: Path) -> None:
    """The line of the entry list, not of the scenario."""
    wrong = swapped("18:40", "nan", ENTRIES)
    (tmp_path / "entries.csv").write_text(wrong, encoding="utf-8")
    text = swapped("[field]\nteams = 2", '[field]\nseed_times = "entries.csv"', SMALL)
    problem = only_problem(write_scenario(tmp_path, text))
    assert problem.file == "entries.csv"
    holds(problem, "line 4, column time", "'nan'", "a 5 km time")


def test_every_mistake_is_told_at_once(tmp_path: Path) -> None:
    """Six mistakes in six tables: six lines, none hidden by another."""
    text = swapped('limit = "6 min"', 'limit = "6 mins ago"')
    text = swapped("front_row = 3", "front_row = 6", text)
    text = swapped('to = "gate bend"', 'to = "gat bend"', text)
    text = swapped("inside = 0.6, middle", "inside = 0.7, middle", text)
    text = swapped("box = 3\n", "box = 12\n", text)
    text = swapped("row = 2", "rows = 2", text)
    keys = {problem.key for problem in problems_of(write_scenario(tmp_path, text))}
    assert keys == {
        "clock.limit",
        "start.front_row",
        "course.laps.to",
        "field.lines",
        "teams.Birchmoor.box",
        "teams.Alderbrook.people.Cade Holm.rows",
    }


def test_a_flood_of_mistakes_is_cut(tmp_path: Path) -> None:
    """A thousand unknown keys are not a thousand lines, and are counted."""
    text = WHOLE + "".join(f"wrong_{number} = 1\n" for number in range(1000))
    problems = problems_of(write_scenario(tmp_path, text))
    assert len(problems) == 101
    assert problems[-1].found == "900 further mistakes"
