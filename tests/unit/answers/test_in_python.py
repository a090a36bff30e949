"""Answers asked from Python: the same as the commands', short to look at, one error of ours, typed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest

import simrun
from simrun.answers.boxes.result import BoxesResult
from simrun.cli import main
from simrun.pages.notebook import notebook_of
from simrun.scenario.scenario import Scenario

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"


@pytest.fixture(scope="module")
def day() -> Scenario:
    return simrun.read(DUAL)


@pytest.fixture(scope="module")
def found(day: Scenario, tmp_path_factory: pytest.TempPathFactory) -> BoxesResult:
    folder = tmp_path_factory.mktemp("boxes")
    return simrun.boxes(day, folder, seeds=2, until_m=130.0, workers=1)


def test_python_and_the_command_line_write_the_same_table(
    found: BoxesResult, tmp_path: Path
) -> None:
    """boxes.csv byte for byte, from the same seeds to the same mark."""
    words = ["boxes", str(DUAL), "--seeds", "2", "--until", "130 m", "--workers", "1", "--quiet"]
    assert main([*words, "--out", str(tmp_path)]) == 0
    written = found.save(tmp_path / "python")
    names = {path.name for path in written}
    assert "boxes.csv" in names
    told = (tmp_path / "boxes.csv").read_bytes()
    assert (tmp_path / "python" / "boxes.csv").read_bytes() == told


def test_what_is_shown_is_short(found: BoxesResult, day: Scenario) -> None:
    """A race, a day, its people and an answer in one line each; a notebook has the sentence and a table."""
    recording = simrun.race(day, seed=1)
    for thing in (found, day, recording, recording.roster):
        assert len(repr(thing)) < 160
        assert repr(thing).startswith("<")
    assert "seed 1: 20 runners" in repr(recording)
    shown = found._repr_html_()
    assert found.sentence in shown
    assert shown.count("<tr") <= 15


def test_a_hostile_name_is_text_in_a_notebook() -> None:
    shown = notebook_of("<script>a</script>", pd.DataFrame({"team": ["<img src=x>"]}))
    assert "<script" not in shown
    assert "<img" not in shown


def test_a_picture_goes_into_axes_that_are_given(found: BoxesResult, day: Scenario) -> None:
    from matplotlib.figure import Figure

    axes = Figure().subplots()
    assert found.plot(axes) is axes
    assert len(axes.images) == 1
    assert len(found.plot().images) == 1
    with pytest.raises(simrun.SimrunError, match="an answer with a picture"):
        simrun.check(day).plot()


def test_races_are_one_table_with_their_seeds(day: Scenario) -> None:
    """The rows of seed 2 are those of that race alone."""
    table = simrun.races(day, seeds=(2, 5))
    assert table.columns[0] == "seed"
    assert sorted(set(table["seed"])) == [2, 5]
    one = simrun.time_lost(simrun.race(day, seed=2))
    pd.testing.assert_frame_equal(
        table[table["seed"] == 2].drop(columns="seed").reset_index(drop=True), one
    )


def test_wrong_seeds_and_names_are_errors_of_ours(day: Scenario, tmp_path: Path) -> None:
    with pytest.raises(simrun.SimrunError, match="team"):
        simrun.tactic(day, "Nobody", tmp_path)
    with pytest.raises(simrun.SimrunError, match="seeds"):
        simrun.boxes(day, tmp_path, seeds=(), workers=1)
    with pytest.raises(simrun.SimrunError, match="did you mean 'straight'"):
        simrun.layout(day, {"strait": (60.0,)}, tmp_path, seeds=2)
    for change in (
        lambda: simrun.with_team_placed(day, "Millbrok", 1, "inside"),
        lambda: simrun.with_openings(day, "Millbrok", {}),
        lambda: simrun.with_rivals_out(day, "Millbrok", 0.1),
    ):
        with pytest.raises(simrun.SimrunError, match="did you mean 'Millbrook'"):
            change()
    with pytest.raises(AttributeError, match="simrun has no"):
        simrun.with_everything(day)  # type: ignore[attr-defined]


OUTSIDE = """
import simrun

def ease(wished_m_s: float, share: float) -> float:
    return share * wished_m_s

course = simrun.Course().straight("80 m", width=20.0).checkpoint("gate", 60)
day = course.day("A day", {"width": 20, "boxes": 4, "box_width": 5, "front_row": 2})
own = simrun.Behaviour(wish=ease, figures={"share": 0.9})
told = simrun.with_behaviour(simrun.with_racing(day), own)
lengths: list[float] = [simrun.race(told, behaviour=own).strip.length_m]
text: str = told.to_toml()
rows: int = len(simrun.races(simrun.with_arc(day, 90.0), seeds=2))
words: str = simrun.boxes(simrun.read("a.toml")).sentence
"""


@pytest.mark.slow
def test_types_are_seen_from_outside(tmp_path: Path) -> None:
    """A script of somebody else: right types pass, every wrong one is found."""
    right = OUTSIDE
    wrong = right.replace("words: str", "words: int").replace("width=20.0", "20.0")
    wrong = wrong.replace("behaviour=own", "behaviour=ease").replace("day, 90.0", "day, 'far'")
    for name, text, mistakes in (("right", right, 0), ("wrong", wrong, 4)):
        script = tmp_path / f"{name}.py"
        script.write_text(text, encoding="utf-8")
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "mypy",
                "--no-incremental",
                "--follow-imports=silent",
                str(script),
            ],
            capture_output=True,
            text=True,
            cwd=tmp_path,
            env={"MYPYPATH": str(DUAL.parents[1]), "PATH": "/usr/bin"},
        )
        assert done.stdout.count(": error: ") == mistakes, done.stdout
