"""How sure is that, and what would make it surer? The whole range and what chance alone would leave of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from simrun.pages.numbers import NOTHING_SEEN, difference, ends, percent
from simrun.scenario.scenario import Scenario
from simrun.trials.hanging.total_effects import Effect
from simrun.trials.how_sure import Sure
from simrun.trials.statistics import Estimate

UNMEASURED = "what nobody has measured"
CHANCE_ALONE = "chance alone"

FIXED = "What nobody has measured is held at its middle value: ranges cover chance alone."


GROUP_WORDS = {
    "room": "how much room runners take sideways",
    "following": "how closely they follow",
    "inside": "how many take the inside",
    "heading": "how straight they head for a narrowing",
    "bodies": "how wide they are",
    "setting off": "how fast a packed start gets going",
    "gaps": "how keenly they change sides for a gap",
    "rest": "how they brake and turn",
}
"""The groups of `trials.hanging.input_groups` in words."""


MOST_NAMED = 3


def hangs_words(subject: str, effects: Sequence[Effect]) -> str:
    """The three groups of inputs that an answer hangs on most; what is not beyond chance is a perhaps."""
    most = [effect for effect in effects[:MOST_NAMED] if effect.total > 0]
    if not most or math.isnan(most[0].total):
        return f"{subject}: these races cannot tell what it hangs on."
    seen = [_group_words(effect) for effect in most if effect.is_seen]
    perhaps = [_group_words(effect) for effect in most if not effect.is_seen]
    if not seen:
        return f"{subject} may hang on {_listed(perhaps)}; so few rows cannot tell."
    more = f", and perhaps on {_listed(perhaps)}" if perhaps else ""
    return f"{subject} hangs on {_listed(seen)}{more}."


def _group_words(effect: Effect) -> str:
    return f"{GROUP_WORDS[effect.name]} ({percent(min(1.0, effect.total))})"


def _listed(words: Sequence[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def inputs_words(day: Scenario) -> str:
    """What do the ranges of this day's races cover?"""
    if not day.inputs.drawn:
        return FIXED
    count = len(day.inputs.free)
    return (
        f"Ranges cover two things: chance, and {UNMEASURED}. {count} figures that are assumed, such as how "
        "closely runners follow, how much room they take sideways and how many take the inside, are drawn "
        f"anew for every two races, {_drawn_from(day)}. {CHANCE_ALONE.capitalize()} is the part that more "
        "races would narrow; the rest only measuring does."
    )


def _drawn_from(day: Scenario) -> str:
    """Out of what are the inputs drawn?"""
    if day.inputs.learnt is None:
        return "each within its range"
    return f"out of what was learnt ({day.inputs.learnt.file})"


def short_inputs_words(day: Scenario) -> str:
    """The same in one short line, as a terminal shows it."""
    if not day.inputs.drawn:
        return FIXED
    count = len(day.inputs.free)
    learnt = f" {_drawn_from(day)}" if day.inputs.learnt else ""
    drawn = f"{count} assumed figures, drawn anew for every two races{learnt}"
    return f"Ranges cover chance and {UNMEASURED}: {drawn}."


def chance_words(found: Estimate, unit: str = "s") -> str:
    """ "chance alone 4.5 to 5.1 s"; empty where nothing but chance is in the range, or it is endless."""
    if not isinstance(found, Sure) or found.parts is None or not math.isfinite(found.by_chance.low):
        return ""
    return f"{CHANCE_ALONE} {ends(found.by_chance.low, found.by_chance.high)} {unit}"


def sure_difference(
    found: Estimate, unit: str = "s", more: str = "more", less: str = "less"
) -> str:
    """A difference as `pages.numbers.difference` has it, and what chance alone would leave of its range."""
    told = difference(found, unit, more, less)
    alone = _alone(found, unit, more, less)
    if NOTHING_SEEN in (told, alone):
        return told
    return f"{told} ({CHANCE_ALONE}: {alone.removeprefix('between ')})"


def turned_round(found: Estimate, unit: str = "s", more: str = "more", less: str = "less") -> str:
    """What chance alone would let us say, and the inputs do not; empty where there is no such thing."""
    alone = _alone(found, unit, more, less)
    if alone == NOTHING_SEEN or difference(found, unit, more, less) != NOTHING_SEEN:
        return ""
    return f"by {CHANCE_ALONE} {alone}, but {UNMEASURED} may undo that"


def sure_figures(found: Estimate) -> dict[str, float]:
    """The mean, the whole range and that of chance alone by name, fit for JSON."""
    alone = found.seeds_alone
    return {
        "mean": found.mean,
        "low": found.low,
        "high": found.high,
        "chance_low": alone.low,
        "chance_high": alone.high,
    }


def _alone(found: Estimate, unit: str, more: str, less: str) -> str:
    if not isinstance(found, Sure) or found.parts is None:
        return NOTHING_SEEN
    return difference(found.by_chance, unit, more, less)
