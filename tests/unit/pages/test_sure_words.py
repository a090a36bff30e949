"""Does a sentence survive what nobody has measured, or say that it does not?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.answers.tactic.words import share_words
from simrun.pages.numbers import NOTHING_SEEN
from simrun.pages.sure_words import (
    FIXED,
    GROUP_WORDS,
    chance_words,
    hangs_words,
    inputs_words,
    short_inputs_words,
    sure_difference,
    turned_round,
)
from simrun.scenario.changes.changes_inputs import with_inputs_drawn
from simrun.scenario.reader import read
from simrun.trials.hanging.input_groups import GROUPS
from simrun.trials.hanging.total_effects import Effect
from simrun.trials.how_sure import Sure, sure
from simrun.trials.statistics import estimate

DAY = read(Path(__file__).parents[3] / "scenarios" / "brindle_fen.toml")
POINTS = np.repeat(np.arange(10), 2)
CHANCE = 0.5 * np.random.default_rng(1).standard_normal(20)
CLEAR = sure(5 + CHANCE, POINTS)
TURNED = sure(np.repeat(np.linspace(-1, 3, 10), 2) + CHANCE, POINTS)
NOTHING = sure(CHANCE, POINTS)


def ends(found: Sure) -> str:
    return f"{found.low:.1f} and {found.high:.1f} s"


def test_a_difference_that_survives_says_which_part_is_chance() -> None:
    alone = f"{CLEAR.by_chance.low:.1f} and {CLEAR.by_chance.high:.1f} s more"
    assert sure_difference(CLEAR) == f"between {ends(CLEAR)} more (chance alone: {alone})"
    assert turned_round(CLEAR) == ""


def test_a_difference_that_the_inputs_undo_says_so() -> None:
    assert sure_difference(TURNED) == NOTHING_SEEN
    said = turned_round(TURNED, "s", "slower", "faster")
    alone = f"{TURNED.by_chance.low:.1f} and {TURNED.by_chance.high:.1f} s slower"
    assert said == f"by chance alone between {alone}, but what nobody has measured may undo that"


def test_no_difference_is_no_difference() -> None:
    assert sure_difference(NOTHING) == NOTHING_SEEN
    assert turned_round(NOTHING) == ""


@pytest.mark.parametrize("found", [estimate(5 + CHANCE), sure(5 + CHANCE, None)])
def test_fixed_inputs_speak_of_one_range(found: Sure) -> None:
    """The placebo: not a word about chance beside the range that is chance."""
    assert "chance" not in sure_difference(found)
    assert chance_words(found) == ""
    assert turned_round(found) == ""


def test_what_ranges_cover_is_said_of_either_kind_of_day() -> None:
    drawn = with_inputs_drawn(DAY)
    assert inputs_words(DAY) == short_inputs_words(DAY) == FIXED
    assert "32 figures" in inputs_words(drawn)
    assert "32 assumed figures" in short_inputs_words(drawn)


def test_every_group_of_inputs_has_words() -> None:
    assert set(GROUP_WORDS) == set(GROUPS)


def test_inside_or_outside_waits_for_the_count() -> None:
    """Outside faster where few hug the inside, inside where nearly all do: first count them."""
    mixed = {0.3: sure(CHANCE - 5, POINTS), 0.9: sure(CHANCE + 5, POINTS)}
    assert share_words("Elm bend", mixed).startswith(
        "Inside or outside: we cannot tell until you know how many of the others take the inside. "
    )
    same = {0.3: CLEAR, 0.9: CLEAR}
    assert share_words("Elm bend", same).startswith("At Elm bend, with 30 %")
    undone = share_words("Elm bend", {0.3: CLEAR, 0.9: TURNED})
    assert "with 90 % of the others on the inside, we cannot tell: by chance alone" in undone


def test_what_an_answer_hangs_on_is_said_as_sure_as_it_is() -> None:
    seen, not_seen = Effect("inside", 0.7, 0.8, 0.3, 1.2), Effect("room", 0.1, 0.2, -0.5, 0.9)
    nothing = Effect("gaps", 0.0, -0.1, -0.5, 0.3)
    assert hangs_words("Inside or outside", [seen, not_seen, nothing]) == (
        "Inside or outside hangs on how many take the inside (80 %), "
        "and perhaps on how much room runners take sideways (20 %)."
    )
    assert hangs_words("It", [not_seen]).endswith("(20 %); so few rows cannot tell.")
    assert "cannot tell what it hangs on" in hangs_words("It", [nothing])
