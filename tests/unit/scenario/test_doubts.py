"""What can hardly be is told in one line; what is merely steep is not."""

from __future__ import annotations

import warnings
from pathlib import Path

import pytest

from simrun.answers.papers import write_day
from simrun.base.errors import Notice
from simrun.scenario.checks.doubts import doubts_of
from simrun.scenario.reader import read

SCENARIOS = Path(__file__).parents[3] / "scenarios"

HILL = """
name = "Hill"
[start]
width = 20
boxes = 2
box_width = 10
front_row = 2
[course]
{pieces}
[[teams]]
name = "One"
box = 1
"""


def day(folder: Path, climbs_m: list[float], each_m: float) -> Path:
    """A course of so many pieces, each of this length, climbing so much."""
    piece = '[[course.pieces]]\npiece = "straight"\nwidth = 20\nlength = {}\nclimb = {}\n'
    path = folder / "hill.toml"
    pieces = "".join(piece.format(each_m, climb_m) for climb_m in climbs_m)
    path.write_text(HILL.format(pieces=pieces), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("climbs_m", "each_m", "said"),
    [
        ([400.0] * 20, 33.0, "climbs 1212 in 100"),  # 8000 m in 660 m
        ([0.0, -60.0, 0.0], 100.0, "falls 60 in 100"),
    ],
)
def test_what_can_hardly_be_is_told(
    tmp_path: Path, climbs_m: list[float], each_m: float, said: str
) -> None:
    with pytest.warns(Notice) as told:
        read(day(tmp_path, climbs_m, each_m))
    (line,) = [str(each.message) for each in told]
    assert said in line
    assert line.startswith(str(tmp_path / "hill.toml"))
    assert line.isprintable()


def test_a_steep_hill_and_a_short_bank_are_believed(tmp_path: Path) -> None:
    """40 in 100 for 100 m; three metres up in four."""
    for climbs_m, each_m in (([0.0, 40.0], 100.0), ([0.0, 3.0, 0.0], 4.0)):
        assert list(doubts_of(read(day(tmp_path, climbs_m, each_m)).strip)) == []


@pytest.mark.slow
@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_what_is_shipped_is_believed(path: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error", Notice)
        read(path)


def test_a_day_that_is_just_being_written_is_not_told_by_the_name_of_its_hidden_folder(
    tmp_path: Path,
) -> None:
    """Whoever reads it afterwards is told, by the name that it has then."""
    files = {"hill.toml": day(tmp_path, [400.0] * 20, 33.0).read_bytes()}
    with warnings.catch_warnings():
        warnings.simplefilter("error", Notice)
        write_day(tmp_path / "out", files, "hill.toml")
    with pytest.warns(Notice, match=r"out/hill\.toml: the course climbs"):
        read(tmp_path / "out" / "hill.toml")
