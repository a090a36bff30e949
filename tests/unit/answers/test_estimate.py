"""simrun estimate: figures in, a sentence and a table out, at once; outside of the sample it says so."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

import simrun
from simrun.answers.estimate.words import places_words, seconds_words
from simrun.base.errors import BadInput
from simrun.cli import main

WORDS = [
    "estimate",
    "--width",
    "90",
    "--boxes",
    "30",
    "--runners",
    "7",
    "--straight",
    "120",
    "--throat",
    "5",
]
WORDS += ["--box", "2", "--turn", "right", "--offset", "20"]
FIGURES = {"width_m": 90, "boxes": 30, "runners": 7, "straight_m": 120, "throat_m": 5}
TOP = Path(__file__).parents[3]


def test_a_sentence_and_a_table(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The far box of a wide line with its throat on the other side loses; all boxes stand in the table."""
    assert main([*WORDS, "--out", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert told.startswith("From box 2 of 30 you lose about ")
    assert "Not told, and carried along" in told
    assert "Not a safety assessment" in told
    assert "worth its own race" in told
    assert "2 ours" in told
    assert not list(tmp_path.iterdir())  # nothing is written that was not asked for


def test_json_has_every_box_and_mark(capsys: pytest.CaptureFixture[str]) -> None:
    """The ends of a range lie about its middle; what was not told is named."""
    assert main([*WORDS, "--json"]) == 0
    whole = json.loads(capsys.readouterr().out)
    found = whole["results"][0] if "results" in whole else whole
    text = json.dumps(found)
    assert '"not_told"' in text
    assert '"same_engine"' in text


def test_the_same_from_python() -> None:
    """A box that is nearer to the throat costs less; the table says the sentence's own figure."""
    far = simrun.estimate(box=2, right=True, offset_m=20, **FIGURES)
    near = simrun.estimate(box=22, right=True, offset_m=20, **FIGURES)
    table = far.table.set_index(["mark", "box"])
    row = table.loc[("throat", 2)]
    assert row.cost_s_low < row.cost_s < row.cost_s_high
    assert f"about {row.cost_s:.1f} s" in far.sentence
    assert row.cost_s > table.loc[("throat", 22)].cost_s + 1
    assert near.sentence != far.sentence
    assert len(table) == 3 * 30


def test_outside_of_the_sample_it_says_so() -> None:
    """A throat of 40 m was never tried; within the sample the word does not fall."""
    wide = simrun.estimate(box=2, **(FIGURES | {"width_m": 110, "throat_m": 40}))
    assert wide.sentence.startswith("Outside what was sampled, so do not rely on it: from box 2")
    assert "the throat's width 40 m (3 m to 25 m was sampled)" in wide.text
    assert wide.figures["outside"] == ["throat_m"]
    assert "Outside" not in simrun.estimate(box=2, **FIGURES).text


def test_a_box_that_is_not_there() -> None:
    with pytest.raises(BadInput, match="1 to 30"):
        simrun.estimate(box=31, **FIGURES)


@pytest.mark.parametrize(
    ("seconds", "half", "words"),
    [
        (1.42, 0.5, "lose about 1.4 s (0.9 to 1.9)"),
        (-1.42, 0.5, "gain about 1.4 s (0.9 to 1.9)"),
        (0.3, 0.5, "lose about 0.3 s (0.2 gained to 0.8 lost)"),
        (0.01, 0.5, "lose next to nothing (0.5 gained to 0.5 lost)"),
    ],
)
def test_seconds_in_words(seconds: float, half: float, words: str) -> None:
    assert seconds_words(seconds, half) == words


def test_places_have_their_own_verb_where_they_go_the_other_way() -> None:
    assert places_words(9, 1.0) == "9 places"
    assert places_words(-1, 1.0) == "gain 1 place"
    assert places_words(2, -1.0) == "lose 2 places"
    assert places_words(0, -1.0) == "no place"


@pytest.mark.slow
def test_it_comes_at_once() -> None:
    """Less than 0.3 s of a processor beyond what Python itself needs to begin, no engine loaded."""
    code = (
        "import time,sys; t=time.process_time(); from simrun.cli import main; "
        f"main({[*WORDS, '--quiet']!r}); print(time.process_time()-t, 'numba' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=TOP, capture_output=True, text=True, check=True
    )
    took, engine = done.stdout.split()[-2:]
    assert float(took) < 0.4
    assert engine == "False"
