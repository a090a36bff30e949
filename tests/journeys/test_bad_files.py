"""A file with a mistake in it: one line names file and key, what was found, what is allowed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from simrun.base.errors import BadInput, Problem
from simrun.scenario import read
from tests.helpers.field_mistakes import FIELD_MISTAKES
from tests.helpers.ground_mistakes import GROUND_MISTAKES
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


BOTH_TEAMS = "".join(
    ["name,team,time\n"]
    + [f"{who},Alderbrook,18:00\n" for who in ("Aro Fen", "Bil Tarn", "Cade Holm", "D", "E", "F")]
    + ["Gan Lowe,Birchmoor,19:00\n"]
)

ONE_CHANGE = GROUND_MISTAKES | FIELD_MISTAKES


@pytest.mark.parametrize("what", ONE_CHANGE)
def test_one_mistake_is_one_line(tmp_path: Path, what: str) -> None:
    """One planted mistake: one line, with the file, the key, what was found and what is allowed."""
    old, new, key, found, allowed, nearest = ONE_CHANGE[what]
    (tmp_path / "entries.csv").write_text(ENTRIES, encoding="utf-8")
    (tmp_path / "both.csv").write_text(BOTH_TEAMS, encoding="utf-8")
    (tmp_path / "meadow.geojson").write_text("{}", encoding="utf-8")
    path = write_scenario(tmp_path, swapped(old, new))
    problem = only_problem(path)
    assert problem.file == str(path)
    holds(problem, key or problem.key, found, allowed, nearest)


WHOLE_TEXTS = {
    "empty": ("", "file", "empty", "a scenario in TOML"),
    "blank": (" \n\n", "file", "empty", "a scenario in TOML"),
    "not TOML": (swapped('width = "60 m"', "width = 60 m"), "line 12", "width = 60 m", "in quotes"),
    "prose": ("A race.\n", "line 1", "'A race.'", "key = value"),
    "cut short": (WHOLE[: WHOLE.index('"inside"') + 4], "line 121", "", "quotes"),
    "key twice": (swapped("boxes = 24", "boxes = 24\nboxes = 23"), "line 17", "boxes = 23", "once"),
    "table twice": (WHOLE + "[start]\n", "line 142", "'[start]'", "every table once"),
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
    first, last = {"start": ("[start]", "[course]"), "course": ("[course]", "[field]")}[table]
    text = SMALL[: SMALL.index(first)] + SMALL[SMALL.index(last) :]
    holds(only_problem(write_scenario(tmp_path, text)), table, "missing", f"[{table}] is needed")


def test_more_teams_than_open_boxes(tmp_path: Path) -> None:
    """Eleven teams, ten boxes."""
    path = write_scenario(tmp_path, swapped("teams = 2", "teams = 11", SMALL))
    holds(only_problem(path), "field.teams", "11 teams", "at most 10 boxes are open")


@pytest.mark.parametrize("key", ["fill = true", 'seed_times = "entries.csv"'])
def test_a_number_of_teams_beside_another_way(tmp_path: Path, key: str) -> None:
    """The number of teams comes from one place."""
    (tmp_path / "entries.csv").write_text(ENTRIES, encoding="utf-8")
    path = write_scenario(tmp_path, swapped("teams = 2", f"teams = 2\n{key}", SMALL))
    name = key.split(" ")[0]
    holds(only_problem(path), "field.teams", "2", f"not together with field.{name}")


def test_every_box_left_empty(tmp_path: Path) -> None:
    """Nobody could run."""
    every = f"boxes = 10\nempty = {list(range(1, 11))}"
    problems = problems_of(write_scenario(tmp_path, swapped("boxes = 10", every, SMALL)))
    assert [problem.key for problem in problems] == ["start.empty", "field.teams"]
    assert problems[0].found == "every box is left empty"


@pytest.mark.parametrize(("times", "right"), [(5, True), (6, False)])
def test_longer_than_any_course(tmp_path: Path, times: int, right: bool) -> None:
    """Once 200 m, then laps of 10 km: five are 50.2 km, six are 60.2 km."""
    laps = f'[course]\nlaps = {{ from = "moor", to = "moor", times = {times} }}\n'
    moor = '[[course.pieces]]\npiece = "straight"\nname = "moor"\nlength = 10000\n[field]'
    text = swapped("[course]\n", laps, swapped("[field]", moor, SMALL))
    problem = only_problem(write_scenario(tmp_path, text))
    if right:
        assert problem.key == "course.laps"
    else:
        holds(problem, "course.pieces", "60.2 km of course", "at most 60 km, all laps together")


def test_laps_of_a_drawing(tmp_path: Path) -> None:
    """A drawing is run once, as drawn."""
    (tmp_path / "meadow.geojson").write_text("{}", encoding="utf-8")
    head = SMALL.split("[[course.pieces]]")[0]
    laps = 'drawn = "meadow.geojson"\nlaps = { from = "a", to = "b", times = 2 }\n'
    path = write_scenario(tmp_path, head + laps + "[field]\nteams = 2\n")
    holds(only_problem(path), "course.laps", "laps with a drawing", "pieces only")


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
