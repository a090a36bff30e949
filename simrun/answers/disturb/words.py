"""What somebody down does to the others, in words for a meet director."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from simrun.answers.disturb.held_up import HELD_UP_S, RECALL_WINDOW_M, Figures, Held
from simrun.base.units import length_text
from simrun.pages.cautions import CAUTION
from simrun.pages.numbers import DASH, ends, tenths, whole
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import CHANCE_ALONE, short_inputs_words
from simrun.pages.text import paragraphs
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Sure
from simrun.trials.statistics import Estimate

NO_FORECAST = (
    "A disturbance, not a forecast: nothing here says whether anybody falls, or how likely it is. Somebody "
    "is down at this point because you asked. The others run around them as they would around a body on "
    "the ground; a runner brought to a stop right behind steps around it, or waits where there is no room."
)

READING = (
    "Held up: later past the point than the same runner in the same race with nobody down. Whatever is "
    "changed in a crowd makes some later and others earlier; so the same races are run with everybody moved "
    "by 2 cm at that moment and nobody down, and what that brings is taken off. Seconds in all count who "
    "comes earlier too. The worst delay is what eight races out of ten brought; a 95 % range is where the "
    "long-run average lies."
)


@dataclass(frozen=True)
class Told:
    """What there is to tell: the day, the delays, the figures read off them, and the reader's units."""

    day: Scenario
    held: Held
    figures: Figures
    units: str

    @property
    def races(self) -> int:
        """How many races were run, each with and without?"""
        return len(self.held.from_s)


def missing_words(held: Held) -> str:
    """Who did not come past the point in time, with somebody down or without."""
    missing = sum(delay != delay for delay in held.delay_s.ravel().tolist())
    if not missing:
        return ""
    return (
        f"Left out: {missing} of {held.delay_s.size} runs past the point, with somebody down or without, had "
        "not come to an end when time ran out."
    )


def title_of(told: Told) -> str:
    """What the page is about."""
    return f"{told.day.name}: if somebody is down"


def sentence_of(told: Told) -> str:
    """How many more are held up than by chance, how long the worst, and what the field loses in all."""
    down, found = told.held.down, told.figures
    where = f"{_side(down.share)}, {length_text(down.at_m, told.units)} after the start"
    given = f"If somebody is down {where}, for {down.for_s:g} s,"
    if told.races == 1:
        return f"{given} in one race {_one_race_words(told)}."
    if not found.held_up.is_seen and not found.net.is_seen:
        return f"{given} nobody is held up that we can tell from chance{_at_most_words(found)}."
    parts = [f"the field loses {_about(tenths, found.net)} s in all"]
    if found.held_up.is_seen:
        first, last = found.longest_range
        parts = [
            f"{_about(whole, found.held_up)} of {told.held.delay_s.shape[1]} runners are held up by more "
            f"than {HELD_UP_S:g} s, the worst by {_range(tenths(first), tenths(last))} s",
            *parts,
        ]
    return f"{given} {'; '.join(parts)}."


def _one_race_words(told: Told) -> str:
    """One race is one story: what it brought, chance and all."""
    count, lost = told.figures.held_up.mean, told.figures.net.mean
    many = f"{whole(count)} more" if count > 0 else "no more"
    return (
        f"{many} of {told.held.delay_s.shape[1]} runners are held up by more than {HELD_UP_S:g} s than by "
        f"chance, and the field loses {tenths(lost)} s in all"
    )


def _at_most_words(found: Figures) -> str:
    """How much the field may lose all the same."""
    if not math.isfinite(found.net.low):
        return ""
    return f" (the field in all: {tenths(found.net.low)} to {tenths(found.net.high)} s)"


def _about(number: Callable[[float], str], found: Estimate) -> str:
    """ "14 (10 to 18)", or the mean alone."""
    if not math.isfinite(found.low):
        return number(found.mean)
    return f"{number(found.mean)} ({_range(number(found.low), number(found.high))})"


def details_of(told: Told) -> tuple[str, ...]:
    """Since when somebody is down, when it is over, and whether a start may be called back there."""
    chance = _chance_words(told)
    parts = (_since_words(told.held), chance, *_over_words(told.figures), _recall_words(told))
    return tuple(part for part in parts if part)


def _chance_words(told: Told) -> str:
    """How many are later by chance alone, and which part of the ranges chance is, where that can be told."""
    found = told.figures
    by_chance = (
        f"By chance {tenths(found.by_chance.mean)} runners are later by more than {HELD_UP_S:g} s anyhow: so "
        "many are with everybody moved by 2 cm and nobody down. They are taken off."
    )
    if told.held.points is None or not math.isfinite(found.net.by_chance.low):
        return by_chance
    alone = found.net.by_chance
    return (
        f"{by_chance} Of the range of the field's seconds {CHANCE_ALONE} would leave "
        f"{_range(tenths(alone.low), tenths(alone.high))}."
    )


def _since_words(held: Held) -> str:
    half = "" if held.down.from_s == held.down.from_s else ", when half of the field has passed"
    since = tenths(float(held.from_s.mean()))
    races = "One race, run" if len(held.from_s) == 1 else f"{len(held.from_s)} races, each run"
    return f"They go down {since} s after the gun{half}. {races} with, without and nudged."


def _over_words(found: Figures) -> tuple[str, ...]:
    if not found.held_up.is_seen:
        return ()
    if found.recovered.mean == 0:
        return ("The last group held up is past before the way is clear again.",)
    after = tenths(found.recovered.mean)
    known = _interval(found.recovered)
    said = f" (95 % range {known})" if known != DASH else ""
    return (f"The last group held up is past {after} s{said} after the way is clear again.",)


def _recall_words(told: Told) -> str:
    window = length_text(RECALL_WINDOW_M, told.units)
    stands = "inside" if told.figures.in_recall_window else "beyond"
    return (
        f"The point lies {stands} the first {window}, where one federation's practice lets a start be called "
        "back after a fall by contact (starter's instructions, seen). Meets write their own windows; the "
        "starter and the referee decide."
    )


def figure_rows(told: Told) -> list[list[str]]:
    """The three figures with their intervals and ranges."""
    found = told.figures
    alone_head = [CHANCE_ALONE] if told.held.points is not None else []
    named = {
        f"runners held up by more than {HELD_UP_S:g} s, chance taken off": found.held_up,
        f"later by more than {HELD_UP_S:g} s by chance": found.by_chance,
        "seconds that the field loses in all": found.net,
        "the same by chance (nobody down)": found.net_placebo,
        "longest delay, s": found.longest,
        "last group held up is past, s after the way is clear": found.recovered,
    }
    return [
        ["", "average", "95 % range", *alone_head],
        *([words, tenths(each.mean), *_intervals(told, each)] for words, each in named.items()),
    ]


def _intervals(told: Told, found: Sure) -> list[str]:
    """The whole range, and where inputs were drawn what chance alone leaves of it."""
    alone = [_interval(found.by_chance)] if told.held.points is not None else []
    return [_interval(found), *alone]


def _interval(found: Estimate) -> str:
    """Where the long-run average lies."""
    return ends(found.low, found.high)


def _range(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def _side(share: float) -> str:
    for word, last in (("at the left edge", 0.33), ("in the middle", 0.67)):
        if share < last:
            return word
    return "at the right edge"


def text_of(told: Told) -> str:
    """Everything as a terminal shows it."""
    first = "\n".join([sentence_of(told), *details_of(told)])
    said = racing_words(told.day), short_inputs_words(told.day)
    return paragraphs(first, NO_FORECAST, *said, CAUTION)
