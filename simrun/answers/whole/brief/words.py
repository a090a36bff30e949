"""A brief in words: our box, the plan against others, the finish, what it hangs on, in a coach's order."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from simrun.answers.boxes.cost_words import pairs_words
from simrun.answers.boxes.pairs import Pairs
from simrun.answers.finish.words import Told as FinishTold
from simrun.answers.finish.words import sentence_of as finish_sentence
from simrun.answers.tactic.orders import the_team, turns_of
from simrun.answers.whole.brief.arms import (
    BOX,
    CALMER,
    ELSEWHERE,
    FEW_INSIDE,
    HANGS,
    HARDER,
    MANY_INSIDE,
    PLAN,
    RIVALS_HARDER,
    SHARES,
    STEP,
    TOLD,
    Question,
)
from simrun.answers.whole.brief.two_plans import SECOND
from simrun.pages.numbers import (
    NOTHING_SEEN,
    percent,
    tenths,
    the_mark,
    whole_ends,
)
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import sure_difference, turned_round
from simrun.scenario.changes.differences import differences
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Sure, planned
from simrun.trials.statistics import holm

if TYPE_CHECKING:
    import pandas

ALPHA = 0.05

FINE_POINTS, FINE_PLACES = 3.0, 1.0
"""Nobody needs to know a plan's worth finer."""

READING = (
    "Every other plan is held against the plan as written: the same people, the same boxes, the same "
    "chances. A minus is seconds, places or team points saved. Ranges of differences hold 95 times in a "
    "hundred; a plan is called better only once all that were tried have been looked at (Holm's correction). "
    "Ranges of a runner's times and places, and of team scores, are what eight races out of ten brought."
)

RACED_WORDS = (
    "Every race is run to the finish with everybody racing for places, whatever the scenario says: what a "
    "harder opening borrows is paid for later."
)


@dataclass(frozen=True)
class Told:
    """What there is to tell. sooner: seconds by which an arm is told to be faster, alone, by the mark."""

    day: Scenario
    second: Scenario | None
    pairs: Mapping[Question, Pairs]
    tables: Mapping[str, pandas.DataFrame]
    mark: str
    races: int
    minutes: float
    sooner: Mapping[str, float]
    unasked: int = 0

    def about(self, about: str) -> list[tuple[Question, Pairs]]:
        """The questions of one kind."""
        return [(q, pairs) for q, pairs in self.pairs.items() if q.about == about]

    @cached_property
    def scored(self) -> bool:
        """Does our team score at the finish?"""
        return all(pairs.found_points.count > 0 for pairs in self.pairs.values())

    def counts(self, pairs: Pairs) -> Sure:
        """What decides between plans: points at the finish, else places there."""
        return pairs.found_points if self.scored else pairs.found(self.last)[1]

    @property
    def unit(self) -> str:
        """In what plans are counted."""
        return "team points" if self.scored else "places a runner"

    @property
    def last(self) -> str:
        """The mark at which the races end."""
        return next(iter(self.pairs.values())).checkpoints[-1]

    @property
    def chart_rows(self) -> list[tuple[str, Sure]]:
        """Every arm by its words, with what it changes."""
        return [(arm_words(self, q), self.counts(pairs)) for q, pairs in self.pairs.items()]


def sentence_of(told: Told) -> str:
    """Our box, the plan, the finish, what it hangs on; of two plans which is better."""
    if told.second is not None:
        return two_plans_sentence(told)
    parts = [*box_words(told), plan_words(told), finish_words(told), hangs_words(told)]
    return " ".join(part for part in parts if part)


def box_words(told: Told) -> list[str]:
    """What today's draw does to us; nothing where no box is on paper."""
    box = the_team(told.day, None).box
    return [pairs_words(pairs, box or 0, told.mark) for _, pairs in told.about(BOX)]


def plan_words(told: Told) -> str:
    """Is another of the plans that were tried better? The best of them is plan B."""
    tried = told.about(PLAN)
    if not tried:
        return ""
    doubt = holm([told.counts(pairs).p_value for _, pairs in tried])
    better = [
        (told.counts(pairs).mean, q, pairs)
        for (q, pairs), p in zip(tried, doubt, strict=True)
        if p < ALPHA and told.counts(pairs).mean < 0
    ]
    if not better:
        others = "the other plan" if len(tried) == 1 else f"none of the {len(tried)} other plans"
        verb = "is not" if len(tried) == 1 else "is"
        return f"Keep the plan: {others} {verb} better that we can see."
    _, question, pairs = min(better, key=lambda each: each[0])
    return f"Plan B is better: {arm_words(told, question)} brings {counted_words(told, pairs)}."


def counted_words(told: Told, pairs: Pairs) -> str:
    """ "3 to 9 team points fewer", or that none can be told."""
    found = told.counts(pairs)
    if not found.is_seen or not math.isfinite(found.low):
        return NOTHING_SEEN
    low, high = sorted((abs(found.low), abs(found.high)))
    way = "more" if found.low > 0 else "fewer"
    return f"{whole_ends(low, high)} {told.unit} {way}"


def arm_words(told: Told, question: Question) -> str:
    """What is done in this arm, in seconds at the mark where it can be."""
    if question.arm in (HARDER, CALMER):
        seconds = told.sooner[question.arm]
        way = "faster" if seconds > 0 else "slower"
        return f"going out {tenths(abs(seconds))} s {way} to {the_mark(told.mark)}"
    turn = next(iter(turns_of(told.day)), "")
    return {
        TOLD: f"our box against {ELSEWHERE}",
        SECOND: "the second plan",
        RIVALS_HARDER: f"the others go out hard, not calmly ({rivals_words(told)})",
        MANY_INSIDE: f"{percent(SHARES[MANY_INSIDE])} of the others inside, not "
        f"{percent(SHARES[FEW_INSIDE])}",
    }.get(question.arm, f"{the_mark(turn)} on the {question.arm}")


def rivals_words(told: Told) -> str:
    """How much that is in seconds over their opening, in the mean of the field."""
    roster = told.day.roster(1)
    others = roster.team != told.day.our_team
    pace, opening, to_m = (
        getattr(roster, name)[others] for name in ("cruise_m_s", "opening", "opening_m")
    )
    slow, fast = (to_m / (pace * (1 + (opening + step).clip(0.0))) for step in (-STEP, STEP))
    return f"{tenths(float((slow - fast).mean()))} s over their opening"


def finish_words(told: Told) -> str:
    """Where our team places, with how many points."""
    tables = {"finish_teams": told.tables["brief_teams"]}
    return finish_sentence(FinishTold(told.day, told.races, tables))


def hangs_words(told: Told) -> str:
    """Which of the two that nobody can tell us beforehand moves the answer?"""
    asked = told.about(HANGS)
    if not asked:
        return ""
    said = [words for q, pairs in asked if (words := _hang_words(told, q, pairs))]
    if not said:
        both = " nor on ".join(HANGS_ON[q.arm] for q, _ in asked)
        return f"It hangs neither on {both}, as far as we can see." if len(asked) > 1 else ""
    return "It hangs on " + ", and on ".join(said) + "."


HANGS_ON = {
    RIVALS_HARDER: "how hard the others go out",
    MANY_INSIDE: "how many of them take the inside",
}


def _hang_words(told: Told, question: Question, pairs: Pairs) -> str:
    """How much it moves: seconds by the mark, or what plans are counted in; empty where neither shows."""
    seconds = pairs.found(told.mark)[0]
    moved = [
        f"{words} by {the_mark(told.mark)}"
        for words in (sure_difference(seconds, "s", "more", "less"),)
        if words != NOTHING_SEEN
    ]
    counted = counted_words(told, pairs)
    moved += [f"{counted} at the finish"] if counted != NOTHING_SEEN else []
    if not moved:
        return ""
    how = {
        RIVALS_HARDER: f"if they go out hard rather than calmly, {rivals_words(told)},",
        MANY_INSIDE: f"with {percent(SHARES[MANY_INSIDE])} of the field inside instead of "
        f"{percent(SHARES[FEW_INSIDE])}",
    }[question.arm]
    return f"{HANGS_ON[question.arm]}: {how} we get {' and '.join(moved)}"


def two_plans_sentence(told: Told) -> str:
    """The second plan against the first: seconds by the first mark, places and points at the finish."""
    ((_, pairs),) = told.pairs.items()
    seconds, places = pairs.found(told.mark)[0], pairs.found(told.last)[1]
    parts = [
        (seconds, sure_difference(seconds, "s", "later", "sooner"), f"by {the_mark(told.mark)}"),
        (places, _places_words(places), f"at {the_mark(told.last)}"),
    ]
    if told.scored:
        parts.append((pairs.found_points, counted_words(told, pairs), "at the finish"))
    seen = [f"{words} {where}" for _, words, where in parts if words != NOTHING_SEEN]
    if not seen:
        return f"Between the two plans there is {NOTHING_SEEN}.{_may_be(told, pairs)}"
    verdict = _verdict(told, pairs)
    return f"{verdict}: our runners are {', '.join(seen)}." if verdict else ""


def _places_words(found: Sure) -> str:
    if not found.is_seen or not math.isfinite(found.low):
        return NOTHING_SEEN
    low, high = sorted((abs(found.low), abs(found.high)))
    return f"{whole_ends(low, high)} places {'further back' if found.low > 0 else 'further up'}"


def _verdict(told: Told, pairs: Pairs) -> str:
    found = told.counts(pairs)
    if not found.is_seen:
        return "Neither plan is better that we can see"
    return f"The {'second' if found.mean < 0 else 'first'} plan is better"


def _may_be(told: Told, pairs: Pairs) -> str:
    """What the difference may be at most."""
    found = told.counts(pairs)
    if not math.isfinite(found.low) or not (round(found.low) or round(found.high)):
        return ""
    ways = [f"{abs(end):.0f} {'more' if end > 0 else 'fewer'}" for end in (found.low, found.high)]
    return f" The second may bring {ways[0]} to {ways[1]} {told.unit}."


def differ_words(told: Told) -> list[str]:
    """In what the second plan differs from the first, a line each."""
    if told.second is None:
        return []
    return [
        f"{', '.join(key)}: {one}, then {other}"
        for key, one, other in differences(told.day, told.second)
    ]


def unasked_words(told: Told) -> str:
    """That there was no time for every question, and what to do about it."""
    if not told.unasked:
        return ""
    what = "One question was" if told.unasked == 1 else f"{told.unasked} questions were"
    return (
        f"{what} left out, because {told.minutes:g} min hold too few races for them on so long a course with "
        "so many runners: other plans, how hard the others go out, how many of them take the inside. More "
        "minutes ask them too."
    )


def more_words(told: Told) -> str:
    """How long would it take to know the ranges well? Empty where they are known."""
    parts = [told.counts(pairs).parts for pairs in told.pairs.values()]
    fine = FINE_POINTS if told.scored else FINE_PLACES
    wanted = max((planned(p, fine=fine).seeds for p in parts if p is not None), default=0)
    if wanted <= told.races:
        return ""
    minutes = math.ceil(told.minutes * wanted / told.races)
    return (
        f"{told.races} races for each of these; about {wanted} would make the ranges as fine as they get "
        f"without measuring: --minutes {minutes}."
    )


def notes_of(told: Told) -> list[str]:
    """How it is read."""
    turned = [
        f"{arm_words(told, q)[0].upper()}{arm_words(told, q)[1:]}: {words}."
        for q, pairs in told.pairs.items()
        if (words := turned_round(told.counts(pairs), told.unit, "more", "fewer"))
    ]
    return [
        *turned,
        unasked_words(told),
        more_words(told),
        READING,
        RACED_WORDS,
        racing_words(told.day),
    ]


def runners_title(told: Told) -> str:
    """What stands over our runners."""
    which = "" if told.second is None else ", with the first plan"
    return f"{told.day.our_team}: times and places at the marks{which}"


def chart_title(told: Told) -> str:
    """What the picture shows."""
    return f"{told.unit.capitalize()} more or fewer at {the_mark(told.last)}, with their ranges"


def title_of(told: Told) -> str:
    """Over the page."""
    asked = "the brief" if told.second is None else "two plans"
    return f"{told.day.name}: {asked}"


def about_of(told: Told) -> str:
    """How many races of how many."""
    invented = "Invented world. " if told.day.invented else ""
    arms = {name for q in told.pairs for name in (q.arm, q.against)}
    return f"{invented}{told.races} races of each of {len(arms)} ways, {told.day.runners} runners."
