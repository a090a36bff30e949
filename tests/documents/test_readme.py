"""The README's own words are run."""

from __future__ import annotations

import contextlib
import io
import re
import shlex
from pathlib import Path

import pytest

from simrun.answers.kinds import all_kinds
from simrun.cli import main
from simrun.desk import KIND as DESK
from simrun.scenario.reader import read
from simrun.sources.assumed import assumed_inputs

TOP = Path(__file__).parents[2]
README = (TOP / "README.md").read_text("utf-8")
PYTHON = re.findall(r"```python\n(.*?)```", README, flags=re.DOTALL)
SHELL = re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)


def test_the_ten_lines_of_python_print_seconds_per_box(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten lines, three seeds, two boxes: six lines of seconds."""
    monkeypatch.chdir(TOP)
    (snippet,) = PYTHON
    assert len([line for line in snippet.splitlines() if line.strip()]) <= 10
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(compile(snippet, "README.md", "exec"), {})
    lines = printed.getvalue().splitlines()
    assert len(lines) == 6
    assert all(
        re.fullmatch(r"seed \d, box \d: -?\d+\.\d s lost at the gate", line) for line in lines
    )


@pytest.mark.slow
def test_the_stories_run_as_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Coach, director, meeting, doubter: each command in the order it stands."""
    stories = [line.strip() for block in SHELL for line in block.splitlines()]
    stories = [line for line in stories if line.startswith("simrun ")]
    assert [shlex.split(line)[1] for line in stories] == [
        "race",
        "boxes",
        "tactic",
        "card",
        "check",
        "disturb",
        "layout",
        "replay",
        "replay",
        "evidence",
    ]
    (tmp_path / "scenarios").symlink_to(TOP / "scenarios")
    monkeypatch.chdir(tmp_path)
    for line in stories:
        assert main(shlex.split(line)[1:]) == 0
    assert (tmp_path / "outputs" / "ferry_meadow" / "loss.csv").exists()
    assert (tmp_path / "outputs" / "meeting" / "race.gif").exists()
    assert (tmp_path / "outputs" / "brindle_fen" / "boxes.html").exists()
    assert (tmp_path / "outputs" / "meeting" / "replay.html").exists()
    assert (tmp_path / "outputs" / "dual_meet" / "team_a4.pdf").exists()
    assert (tmp_path / "outputs" / "dual_meet" / "layout.html").exists()
    assert (tmp_path / "outputs" / "dual_meet" / "card.pdf").exists()
    assert (tmp_path / "outputs" / "evidence" / "evidence.html").exists()
    assert "Alderbrook" in capsys.readouterr().out


def test_the_two_commands_come_first() -> None:
    """One makes an environment and runs a race, one passes the tests; CI runs the second."""
    assert "scenarios/ferry_meadow.toml" in SHELL[0]
    assert SHELL[1].strip().endswith('-m pytest -n auto --dist worksteal -m "not slow"')


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_files_named_in_the_pages_exist(page: str) -> None:
    """Every path in backticks that begins with a folder of ours is there."""
    text = (TOP / page).read_text("utf-8")
    paths = re.findall(r"`((?:simrun|tests|shared|scenarios|\.ci)/[\w./-]+)`", text)
    # The recipe of a kind names files that whoever follows it will make.
    paths = [path for path in paths if not path.startswith("simrun/answers/headcount/")]
    missing = [path for path in paths if not (TOP / path).exists()]
    assert missing == []


def test_every_command_of_the_door_has_a_word_in_the_readme() -> None:
    """Each by its whole name, as it is typed."""
    kinds = (*all_kinds(), DESK)
    assert [kind.name for kind in kinds if f"simrun {kind.name}" not in README] == []


def test_the_readme_counts_the_figures_that_are_drawn() -> None:
    """As many as a study draws."""
    assert f"{len(assumed_inputs())} assumed figures" in README


def test_the_small_scenario_is_one(tmp_path: Path) -> None:
    """The format as the README shows it is read, with an entry list and a box sheet beside it."""
    (text,) = re.findall(r"```toml\n(.*?)```", README, flags=re.DOTALL)
    (tmp_path / "day.toml").write_text(text)
    fen = TOP / "scenarios"
    entries = (fen / "brindle_fen_entries.csv").read_text("utf-8")
    (tmp_path / "entries.csv").write_text(entries)
    (tmp_path / "boxes.csv").write_text("box,team\n5,Ellerfold\n")
    day = read(tmp_path / "day.toml")
    assert day.our_team == "Ellerfold"
    assert len(day.teams) == 12
