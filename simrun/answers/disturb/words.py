"""What somebody down does to the others, in words for a meet director."""

from __future__ import annotations

import math
from dataclasses import dataclass

from simrun.answers.disturb.held_up import HELD_UP_S, RECALL_WINDOW_M, Figures, Held
from simrun.base.units import length_text
from simrun.pages.cautions import CAUTION
from simrun.pages.numbers import DASH, ends, tenths, whole, whole_ends
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
    "Held up: later past the point than the same runner in the same race with nobody down. The range is "
    "what eight races out of ten brought; the 95 % range is where the long-run average lies."
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
    """How many are held up, and how long the one held up longest."""
    down, found = told.held.down, told.figures
    where = f"{_side(down.share)}, {length_text(down.at_m, told.units)} after the start"
    given = f"If somebody is down {where}, for {down.for_s:g} s,"
    if found.held_up.mean == 0:
        return f"{given} nobody is held up by more than {HELD_UP_S:g} s."
    low, high = found.held_up_range
    first, last = found.longest_range
    runners = told.held.delay_s.shape[1]
    how_often = " in eight races out of ten" if told.races > 1 else ""
    return (
        f"{given} {_range(whole(low), whole(high))} of {runners} runners are held up by more than "
        f"{HELD_UP_S:g} s{how_often}, the worst by {_range(tenths(first), tenths(last))} s."
    )


def details_of(told: Told) -> tuple[str, ...]:
    """Since when somebody is down, when it is over, and whether a start may be called back there."""
    chance = _chance_words(told)
    parts = (_since_words(told.held), chance, *_over_words(told.figures), _recall_words(told))
    return tuple(part for part in parts if part)


def _chance_words(told: Told) -> str:
    """Which part of the sentence's ranges is chance; empty where all is, or none can be told."""
    found = told.figures
    (low, high), (first, last) = found.held_up_chance, found.longest_chance
    if told.held.points is None or found.held_up.mean == 0 or not math.isfinite(low + first):
        return ""
    count = _range(whole(max(0.0, low)), whole(high))
    return (
        f"By {CHANCE_ALONE} it would be {count} runners, the worst by "
        f"{_range(tenths(max(0.0, first)), tenths(last))} s."
    )


def _since_words(held: Held) -> str:
    half = "" if held.down.from_s == held.down.from_s else ", when half of the field has passed"
    since = tenths(float(held.from_s.mean()))
    races = "One race, run" if len(held.from_s) == 1 else f"{len(held.from_s)} races, each run"
    return f"They go down {since} s after the gun{half}. {races} with and without."


def _over_words(found: Figures) -> tuple[str, ...]:
    if found.held_up.mean == 0:
        return ()
    if found.recovered.mean == 0:
        return ("The last runner held up is past before the way is clear again.",)
    after = tenths(found.recovered.mean)
    known = _interval(found.recovered)
    said = f" (95 % range {known})" if known != DASH else ""
    return (f"The last runner held up is past {after} s{said} after the way is clear again.",)


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
    return [
        ["", "average", "95 % range", *alone_head, "eight races of ten"],
        [
            f"runners held up by more than {HELD_UP_S:g} s",
            tenths(found.held_up.mean),
            *_intervals(told, found.held_up),
            whole_ends(*found.held_up_range),
        ],
        [
            "longest delay, s",
            tenths(found.longest.mean),
            *_intervals(told, found.longest),
            ends(*found.longest_range),
        ],
        [
            "last one held up is past, s after the way is clear",
            tenths(found.recovered.mean),
            *_intervals(told, found.recovered),
            DASH,
        ],
    ]


def _intervals(told: Told, found: Sure) -> list[str]:
    """The whole range, and where inputs were drawn what chance alone leaves of it."""
    alone = [_interval(found.by_chance)] if told.held.points is not None else []
    return [_interval(found), *alone]


def _interval(found: Estimate) -> str:
    """Where the long-run average lies; nothing here can be less than none."""
    return ends(max(0.0, found.low), found.high) if math.isfinite(found.low) else DASH


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
