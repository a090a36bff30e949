"""`simrun learn`: lists in, narrower inputs out, and used by another command; mistakes are one line."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from simrun.answers.learn.result import STORE, LearnResult
from simrun.answers.learn.run import Lists, run_learn
from simrun.cli import main
from simrun.pages.input_words import INPUT_WORDS
from simrun.scenario.changes.changes_inputs import with_inputs
from simrun.scenario.reader import read
from simrun.sources.assumed import assumed_inputs
from simrun.trials.learning.agreement import Agreement
from simrun.trials.learning.lesson import Source, lesson_of
from simrun.trials.learning.seen_races import watched_day
from simrun.trials.learning.sightings import SPLITS
from simrun.trials.races import marks_outcome
from tests.helpers.seen_lists import write_lists

pytestmark = pytest.mark.slow

TOP = Path(__file__).parents[2]
DUAL = TOP / "scenarios" / "dual_meet.toml"
UNTIL_M, RACES = 45.0, 200
SMALL = ["--until", "45", "--races", "200", "--workers", "1"]
ROPE = '[[course.checkpoints]]\nname = "rope"\nat = 40\n\n[field]'
WAIT, TRUTH = "set_off.wait_per_m_s", 0.64


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The dual meet with a mark 40 m from the line: races that end there are short."""
    path = tmp_path_factory.mktemp("day") / "dual_meet.toml"
    path.write_text(DUAL.read_text("utf-8").replace("[field]", ROPE, 1), "utf-8")
    return path


@pytest.fixture(scope="module")
def lists(day: Path, tmp_path_factory: pytest.TempPathFactory) -> Lists:
    """What was seen at a start in which those behind waited long for room."""
    folder = tmp_path_factory.mktemp("lists")
    watched = watched_day(read(day), UNTIL_M)
    race = marks_outcome(with_inputs(watched.day, {WAIT: TRUTH}), 901)
    return Lists(*map(str, write_lists(watched, race, folder)))


@pytest.fixture(scope="module")
def written(
    day: Path, lists: Lists, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, LearnResult]:
    """Everything fed in, and written."""
    folder = tmp_path_factory.mktemp("learn")
    found = run_learn(read(day), folder, lists, RACES, until_m=UNTIL_M, workers=1)
    found.save()
    return folder, found


def test_what_was_seen_narrows_what_it_tells_of(written: tuple[Path, LearnResult]) -> None:
    """How long they wait lies nearer to its truth than before, and its range is shorter than it was.

    Whether ranges hold their truths is asked of many truths: tests/validation/test_learning.py.
    """
    folder, found = written
    table = pd.read_csv(folder / "learn.csv").set_index("input")
    assert list(table.index) == list(assumed_inputs())
    row = table.loc[WAIT]
    middle = (row.range_low + row.range_high) / 2
    assert abs(row.learnt_middle - TRUTH) < 0.6 * abs(middle - TRUTH)
    assert row.learnt_high - row.learnt_low < 0.95 * 0.9 * (row.range_high - row.range_low)
    assert INPUT_WORDS[WAIT] in found.text
    assert set(pd.read_csv(folder / "learn_fit.csv").source) >= {"splits", "starts"}


def test_the_page_shows_before_and_after_and_the_sheet_says_how(
    written: tuple[Path, LearnResult],
) -> None:
    folder, _ = written
    page = (folder / "learn.html").read_text("utf-8")
    assert page.count("data:image/png") == 2
    assert "What to measure next" in page or "Does it give what you saw?" in page
    assert (folder / "measure.html").exists()


def test_another_command_uses_what_was_learnt(
    written: tuple[Path, LearnResult], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The line that is printed, written under [inputs]: a study draws from the file and says so."""
    folder, _ = written
    file = "dual_meet_learnt.csv"
    (tmp_path / file).write_bytes((folder / file).read_bytes())
    text = f'{DUAL.read_text("utf-8")}\n[inputs]\nlearnt = "{file}"\n'
    (tmp_path / "day.toml").write_text(text, "utf-8")
    draws = pd.read_csv(folder / file)
    told = read(tmp_path / "day.toml")
    assert told.inputs.of_seed(1) == pytest.approx(dict(draws.median()))
    words = ["disturb", str(tmp_path / "day.toml"), "--at", "30", "--seeds", "2"]
    assert main([*words, "--out", str(tmp_path / "out")]) == 0
    assert f"out of what was learnt ({file})" in capsys.readouterr().out


def test_fed_again_no_race_is_run_again(
    day: Path, written: tuple[Path, LearnResult], capsys: pytest.CaptureFixture[str]
) -> None:
    """The same races serve another list: only those at what is learnt of it are new."""
    folder, _ = written
    before = (folder / STORE).stat().st_mtime_ns
    words = ["learn", str(day), *SMALL, "--out", str(folder), "--json"]
    assert main(words) == 0
    (told,) = json.loads(capsys.readouterr().out)["answers"]
    assert told["figures"] == {
        "races": RACES,
        "learnt": False,
        "contradicts": False,
        "learnt_file": "",
    }
    assert told["sentence"].startswith("Nothing is fed in yet. ")
    assert (folder / STORE).stat().st_mtime_ns == before


def test_what_contradicts_itself_says_so_and_narrows_nothing(
    written: tuple[Path, LearnResult], tmp_path: Path
) -> None:
    _, found = written
    odd = Agreement(1, 0.002, 0, 0.05, 0.4, 0.9)
    lesson = replace(found.lesson, others=(odd,))
    assert found.lesson.is_learnt
    result = replace(found, lesson=lesson, told=(), folder=tmp_path)
    assert result.sentence.startswith("What you fed in contradicts itself: ")
    assert "Nothing is narrowed" in result.sentence
    (tmp_path / "dual_meet_learnt.csv").write_text("of an earlier list", "utf-8")
    result.save()
    assert not (tmp_path / "dual_meet_learnt.csv").exists()
    no_inputs = Agreement(0, 0.002, 0, 0.05, 0.4, 0.9)
    both = replace(found, lesson=replace(lesson, any=(no_inputs,)), told=())
    assert "Left out: the splits, which no mix of the inputs gives." in both.sentence
    unfit = replace(found, lesson=replace(found.lesson, fit=(odd,)), told=())
    assert unfit.sentence.startswith("No mix of the inputs gives all of what you fed in: ")


def test_what_no_inputs_give_is_left_out_and_named(written: tuple[Path, LearnResult]) -> None:
    """Splits half a minute late: they are not learnt from, the counts are, and the sentence says it."""
    _, found = written
    plain, *others = found.lesson.sources
    late = [
        replace(each, values=tuple(value + 30.0 for value in each.values))
        if each.kind == SPLITS
        else each
        for each in plain.sightings
    ]
    lesson = lesson_of(found.lesson.table, [Source(plain.name, tuple(late)), *others])
    assert 0 not in lesson.used
    assert len(lesson.used) >= 2
    told = replace(found, lesson=lesson, told=()).sentence
    assert "Left out: the splits, which no mix of the inputs gives." in told


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("counts", "what,at\n", "column seen: 'what', 'at'; one column seen"),
        ("counts", "what,at,seen\n", "nothing counted; a line a count"),
        ("counts", "what,at,seen\nabrest,gate,3\n", "'abrest'; one of .*; did you mean 'abreast'"),
        ("counts", "what,at,seen\nabreast,gaet,3\n", "'gaet'; .*; did you mean 'gate'"),
        ("counts", "what,at,seen\ninside,gate,3\n", "'gate'; a named turn .*: mill corner"),
        ("counts", "what,at,seen\nabreast,gate,many\n", "'many'; a number from 1 to 200"),
        ("counts", "what,at,seen\ngap,gate,1\n", "1 lines; 5 to 500 of them"),
        (
            "counts",
            "what,at,seen\ninside,mill corner,30\n",
            "mill corner: inside; one count each of inside, middle, outside",
        ),
        ("starts", "gun,net\n" + "10:00,10:01\n" * 12, "gun 600 s, net 601 s; a net time is no"),
        ("starts", "gun,net\n10:01,10:00\n", "1 runners; 10 to 20000 runners"),
        ("starts", "gun,net\nx,10:00\n", "column gun: 'x'; a time such as"),
        (
            "results",
            "time,gaet\n" + "5:00.1,0:30.1\n" * 12,
            "splits: 'gaet'; 10 times .* did you mean 'gate'",
        ),
    ],
)
def test_a_wrong_list_is_one_line_and_nothing_is_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, text: str, said: str
) -> None:
    (tmp_path / "list.csv").write_text(text, "utf-8")
    out = tmp_path / "none"
    words = ["learn", str(DUAL), "--until", "260", f"--{name}", str(tmp_path / "list.csv")]
    assert main([*words, "--out", str(out)]) == 2
    err = capsys.readouterr().err.splitlines()
    assert len(err) == 1
    assert re.search(said, err[0])
    assert not out.exists()
