"""Is an entry list read as people write it, and is every mistake named where it stands?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.runners.seed_time import ALLOWED_TIME, seed_time_s
from simrun.runners.seed_times import (
    LARGEST_BYTES,
    MOST_PROBLEMS,
    MOST_ROWS,
    Entry,
    parse_entries,
)

GOOD = (Entry("Aro Fen", "Low Hill", 1100.5), Entry("Bel Oakley", "Low Hill", 1100.0))


def _problems(text: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        parse_entries(text, "entries.csv")
    return str(caught.value).split("\n")


@pytest.mark.parametrize(
    "text",
    [
        "name,team,time\nAro Fen,Low Hill,18:20.5\nBel Oakley,Low Hill,1100\n",
        "\ufeffTEAM; Name ;Seed\r\nLow Hill;Aro Fen;18:20,5\r\nLow Hill;Bel Oakley;0:18:20\r\n",
        "grade\tteam\tname\tseed_time\n11\tLow Hill\tAro  Fen\t1100.5\n\n"
        "12\tLow Hill\tBel Oakley\t18:20",
        'name,team,time\n"Aro Fen" , "Low Hill" ,18:20.5\n\n , ,\n'
        '"Bel Oakley","Low Hill","18:20"\n',
        "name,team,time\rAro Fen,Low Hill,18:20.5\rBel Oakley,Low Hill,18:20,\r",
    ],
    ids=["plain", "semicolons", "tabs", "quotes", "carriage returns"],
)
def test_entry_lists_as_people_write_them(text: str) -> None:
    assert parse_entries(text, "entries.csv") == GOOD


def test_a_quoted_comma_stays_in_the_name() -> None:
    (entry,) = parse_entries('name,team,time\n"Fen, Aro",Low Hill,18:20\n', "entries.csv")
    assert entry.name == "Fen, Aro"


def test_the_same_name_in_two_teams_is_two_people() -> None:
    text = "name,team,time\nAro Fen,Low Hill,18:20\nAro Fen,High Hill,18:20\n"
    assert len(parse_entries(text, "entries.csv")) == 2


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("18:20.5", 1100.5),
        ("18:20,25", 1100.25),
        ("1100", 1100.0),
        ("1100.5", 1100.5),
        ("0:18:20", 1100.0),
        ("10:00", 600.0),
        ("1:00:00", 3600.0),
        ("60:00", 3600.0),
    ],
)
def test_seed_times_as_people_write_them(text: str, seconds: float) -> None:
    assert seed_time_s(text) == seconds


WRONG_TIMES = [
    "nan", "inf", "-18:20", "0", "-1100", "9:59.9", "60:00.1", "599", "3675", "18:60", "18:5",
    "18:20:05", "1e3", "18.20", "18:20.", "٠١١٠٠", "18:20 h", "1" * 5000, "1:61:00", "0:60:00",
]  # fmt: skip


@pytest.mark.parametrize("text", WRONG_TIMES, ids=lambda text: text[:10] or "empty")
def test_a_wrong_time_is_refused_where_it_stands(text: str) -> None:
    with pytest.raises(ValueError, match="a 5 km time"):
        seed_time_s(text)
    (problem,) = _problems(f"name,team,time\nBel Oakley,Low Hill,18:20\nAro Fen,Low Hill,{text}\n")
    assert problem.startswith("entries.csv: line 3, column time: ")
    assert problem.partition("; did you mean")[0].endswith(f"; {ALLOWED_TIME}")
    assert len(problem) < 200


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "entries.csv: entry list: empty; a line of column names"),
        (" \n\n,,\n", "entries.csv: entry list: empty; a line of column names"),
        ("name,team,time\n", "entries.csv: entry list: no runners; a line for every runner"),
        (
            "name,team,tme\nAro Fen,Low Hill,18:20\n",
            "entries.csv: line 1, column time: missing among 'name', 'team', 'tme'; "
            'write columns = { time = "tme" } under [field]',
        ),
        (
            "name,time\nAro Fen,18:20\n",
            "entries.csv: line 1, column team: missing among 'name', 'time'; "
            'write columns = { team = "..." } under [field]',
        ),
        (
            "name,team,time,seed\nAro Fen,Low Hill,18:20,18:20\n",
            "entries.csv: line 1, column time: more than one: 'time', 'seed'; "
            'write columns = { time = "time" } (or "seed") under [field]',
        ),
        (
            "name,team,time\nAro Fen,Low Hill,18:20\nARO FEN,low hill,18:30\n",
            "entries.csv: line 3, column name: 'ARO FEN' again (first on line 2); "
            "every name once in a team",
        ),
        (
            "name,team,time\n,Low Hill,18:20\n",
            "entries.csv: line 2, column name: empty; 1 to 80 printable letters",
        ),
        (
            "name,team,time\nAro Fen,Low\x00Hill,18:20\n",
            "entries.csv: line 2, column team: 'Low\\x00Hill'; 1 to 80 printable letters",
        ),
        (
            "name,team,time\nAro Fen,Low Hill,18:20,5\n",
            "entries.csv: line 2: 4 cells, beginning with 'Aro Fen'; "
            "3 cells, as many as there are columns",
        ),
        (
            'name,team,time\n"Aro Fen,Low Hill,18:20\nBel Oakley,Low Hill,18:20\n',
            "entries.csv: line 2: cannot be read as columns; quotation marks in pairs",
        ),
    ],
)
def test_one_mistake_gives_one_line(text: str, said: str) -> None:
    assert _problems(text) == [said]


def test_all_mistakes_are_named_at_once() -> None:
    problems = _problems("name,team,time\nAro Fen,Low Hill,fast\n,Low Hill,18:20\nBel,,0\n")
    places = [problem.split(": ")[1] for problem in problems]
    assert places == [
        "line 2, column time",
        "line 3, column name",
        "line 4, column team",
        "line 4, column time",
    ]


def test_a_thousand_mistakes_do_not_fill_the_screen() -> None:
    rows = "".join(f"Runner {k},Low Hill,fast\n" for k in range(1000))
    problems = _problems("name,team,time\n" + rows)
    assert len(problems) == MOST_PROBLEMS + 1
    assert problems[-1] == "entries.csv: entry list: 980 more mistakes; these first"


def test_3000_runners_are_read_and_one_more_is_refused() -> None:
    rows = [f"Runner {k},Team {k // 7},18:20\n" for k in range(MOST_ROWS + 1)]
    assert len(parse_entries("name,team,time\n" + "".join(rows[:-1]), "entries.csv")) == MOST_ROWS
    said = f"entries.csv: entry list: {MOST_ROWS + 1} runners; at most {MOST_ROWS}"
    assert _problems("name,team,time\n" + "".join(rows)) == [said]


def test_more_than_5_mb_is_refused_before_it_is_read() -> None:
    assert _problems("x" * (LARGEST_BYTES + 1)) == [
        "entries.csv: entry list: too large; at most 5 MB"
    ]


@settings(max_examples=300, deadline=None)
@given(st.text() | st.text(alphabet='nameti,;\t"\r\n0123456789:. ').map("name,team,time\n".__add__))
def test_whatever_the_text_only_our_own_error_escapes(text: str) -> None:
    entries, said = _tried(lambda: parse_entries(text, "entries.csv"))
    assert all(line.startswith("entries.csv: ") for line in said)
    assert all(600.0 <= entry.time_s <= 3600.0 for entry in entries)
    assert bool(entries) != bool(said)


def _tried(read: Callable[[], Any]) -> tuple[Any, list[str]]:
    """What `read` gives, or the lines it refuses with; any other error is let through."""
    try:
        return read(), []
    except BadInput as error:
        return (), str(error).split("\n")


@given(st.integers(6_000, 36_000))
def test_a_time_written_as_minutes_and_seconds_reads_back(tenths: int) -> None:
    minutes, rest = divmod(tenths, 600)
    assert seed_time_s(f"{minutes}:{rest // 10:02d}.{rest % 10}") == pytest.approx(tenths / 10)
