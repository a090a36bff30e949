"""What is said of a recorded race: which, whom it follows, and of two in what they differ."""

from __future__ import annotations

from pathlib import Path

import pytest

import simrun
from simrun.answers.replay.words import sentence_of, text_of
from simrun.base.errors import BadInput
from simrun.pictures.film.pair import Told
from simrun.pictures.ink.view import View
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording

MEET = "Mill Lane dual meet, seed 1, 20 runners, following Millbrook"


@pytest.fixture(scope="module")
def day() -> Scenario:
    shipped = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"
    return simrun.read(shipped).changed({"clock.limit": 40})


@pytest.fixture(scope="module")
def calm(day: Scenario) -> Recording:
    return simrun.race(day, seed=1)


def test_one_race_and_two(day: Scenario, calm: Recording) -> None:
    """Alone, beside another plan, beside itself; somebody else followed."""
    fast = simrun.race(day.changed({"teams.Millbrook.opening": 0.25}), seed=1)
    assert sentence_of(Told(calm)) == f"{MEET}."
    differ = "opening as the field, and beside it opening 0.25"
    assert sentence_of(Told(calm, fast)) == f"{MEET} in two races: {differ}."
    assert sentence_of(Told(calm, calm)) == f"{MEET} in two races of one plan."
    assert sentence_of(Told(calm, None, "Thornwick")).endswith("following Thornwick.")
    assert "gate, 12 ft" in text_of(Told(calm))


@pytest.mark.parametrize(
    ("follow", "view", "said"),
    [
        ("Milbrook", View(), "did you mean 'Millbrook'"),
        (None, View(inset="mil corner"), "did you mean 'mill corner'"),
        (None, View(from_s=50.0), "from 0 to 39.9 s, what was recorded"),
        (None, View(speed=0.0), "from 0.1 to 60"),
    ],
)
def test_a_wrong_word_is_found_before_anything_is_drawn(
    follow: str | None, view: View, said: str, calm: Recording
) -> None:
    with pytest.raises(BadInput, match=said):
        Told(calm, None, follow, view).check()


def test_a_page_alone_needs_no_view(calm: Recording) -> None:
    """What only a film shows cannot be wrong on a page."""
    Told(calm, None, None, View(inset="mil corner")).check(films=False)
