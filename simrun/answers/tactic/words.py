"""The team's plan as a coach says it: what to do, how sure that is, and what would change it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from simrun.answers.tactic.order_words import (
    AS_YOU_LIKE,
    flat_out_words,
    free_words,
    line_parts,
    order_words,
    split_ends,
    split_text,
    stages_words,
    the_mark_of,
    why_words,
)
from simrun.answers.tactic.orders import EVEN_PACE
from simrun.answers.tactic.runner_orders import RunnerOrder, first_of
from simrun.answers.tactic.search.choices import Choice
from simrun.answers.tactic.search.tactic_score import KNEE_S
from simrun.answers.tactic.tactic_found import FRONT, STAGES, Found, Rivals
from simrun.base.units import length_text
from simrun.pages.numbers import NOTHING_SEEN, the_mark
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import UNMEASURED, short_inputs_words, sure_difference, turned_round
from simrun.pages.text import paragraphs
from simrun.trials.statistics import Estimate

READING = (
    "Every race is run to the finish with everybody racing for places, whatever the scenario says: what a "
    "hard opening costs is paid in the race itself. Seconds at the stake are from the gun, standing start "
    "included, with nobody in the way. Orders are compared by the time of our first five at the finish, a "
    "runner's opening by their own time, in the same races with the same people. "
    f"{AS_YOU_LIKE.capitalize()}: nothing that was tried can be told apart."
)

RING = (
    f"A ring marks the order: the calmest opening within {KNEE_S:g} s of the best at the finish. "
    "The band is the 95 % range."
)

OUTSIDE = "Above the line the outside is faster; the bar is the 95 % range."

Orders = tuple[RunnerOrder, ...]


def plan_sentence(found: Found, orders: Orders) -> str:
    """The plan: front row, seconds at the stake, lines, where to sit and go; and the others' opening."""
    if not _told_apart(found):
        return f"{_nothing_told(found)} {rivals_sentence(found)}".strip()
    parts = [*_front_parts(found), *_opening_parts(found, orders)]
    parts += line_parts(found.order.lines, _free(found))
    stages = found.order.stages
    if STAGES in found.choices and STAGES not in _free(found):
        parts.append(stages_words(stages.sit, stages.go) or EVEN_PACE)
    told = "; ".join(parts)
    return " ".join(
        filter(None, [_capital(told), free_words(_free(found)), rivals_sentence(found)])
    )


def _capital(told: str) -> str:
    return f"{told[0].upper()}{told[1:]}." if told else ""


def _told_apart(found: Found) -> bool:
    """Is there one order that can be told from another?"""
    team, own = found.choices.values(), found.openings.values()
    return any(not one.as_you_like for one in team) or any(not one.as_you_like for one in own)


def _free(found: Found) -> tuple[str, ...]:
    """The orders that are as you like."""
    return tuple(about for about, choice in found.choices.items() if choice.as_you_like)


def _nothing_told(found: Found) -> str:
    return (
        f"{AS_YOU_LIKE.capitalize()}: over {len(found.seeds)} races no opening, line, front row or move that "
        "was tried can be told from another."
    )


def _front_parts(found: Found) -> list[str]:
    if FRONT not in found.choices or FRONT in _free(found):
        return []
    return [f"{listed(found.order.front)} in the front row"]


def _opening_parts(found: Found, orders: Orders) -> list[str]:
    """From the fastest to the slowest at the stake, each as listed."""
    timed = [one for one in orders if one.told_s == one.told_s]
    if not timed:
        return []
    at = f"at {the_mark_of(timed[0].stake)}"
    told = [one.told_s for one in timed if not one.as_you_like]
    if not told:
        return [f"{AS_YOU_LIKE} to {at.removeprefix('at ')}"]
    free = sum(one.as_you_like for one in timed)
    flat = ", flat out" if all(one.flat_out for one in timed) else ""
    more = f" ({free} of {len(timed)} {AS_YOU_LIKE})" if free else ""
    return [f"{split_ends(min(told), max(told))} {at}{flat}, each as listed{more}"]


def rivals_sentence(found: Found) -> str:
    """What the others' opening, which is varied with the races, does to ours."""
    if len(found.rivals) < 2 or any(np.isnan(one.stake_s) for one in found.rivals.values()):
        return ""
    ends = [one.stake_s for one in found.rivals.values()]
    stake = the_mark_of(found.marks[found.stake])
    over = f"whether the others' middle runner is at {stake} in {split_ends(min(ends), max(ends))}"
    other = [_other_words(found, one) for one in found.rivals.values() if one.differs]
    if not other:
        return f"That holds {over}, as far as these races can tell."
    return f"It hangs on the others' opening: {listed(other)}."


def _other_words(found: Found, rivals: Rivals) -> str:
    ours = found.splits_s[rivals.opening]
    own = split_ends(float(ours.min()), float(ours.max()))
    return (
        f"with their middle runner there in {split_text(rivals.stake_s)}, ours do better in {own}"
    )


def runner_words(orders: Orders) -> list[str]:
    """Everybody's own orders, a line each."""
    return [order_words(one) for one in orders]


def sheet_sentence(found: Found) -> str:
    """What stands over the team's own page: the orders are in its table."""
    front = found.order.front
    said = "Run your own seconds below."
    if not front or FRONT in _free(found):
        return said
    return f"{listed(front)} in the front row. {said}"


def listed(names: tuple[str, ...] | list[str], joined: str = "and") -> str:
    """Names as they are read out: "Aro, Bela and Cass"."""
    *most, last = names
    return f"{', '.join(most)} {joined} {last}" if most else last


def side_words(word: str) -> str:
    """A line through a turn, in a sentence."""
    return "in the middle" if word == "middle" else f"on the {word}"


def plan_words(found: Found, orders: Orders) -> list[str]:
    """How sure it is, and what would change it: a sentence or two each."""
    said = [gain_words(found), points_words(found), *why_words(orders, first_of(found, orders))]
    said += choice_words(found)
    if found.by_share:
        said.append(share_words(next(iter(found.order.lines)), found.inside_minus_outside()))
    length = length_text(found.day.strip.length_m, found.day.units)
    return [*said, *filter(None, [flat_out_words(orders, length)])]


def gain_words(found: Found) -> str:
    """What the plan saves on seeds that had no part in the choice, and how sure that is."""
    over = f"Over {len(found.gain.values)} fresh races"
    gain = found.gain.found
    told = sure_difference(gain, "s", "earlier", "later")
    if turned := turned_round(gain, "s", "earlier", "later"):
        return (
            f"{over} we cannot tell whether the plan brings our first five home earlier: {turned}."
        )
    if told == NOTHING_SEEN:
        return f"{over} there is {told} in seconds at the finish against the plan on paper."
    return f"{over} our first five finish {told} than with the plan on paper."


def choice_words(found: Found) -> list[str]:
    """What each order to the team saves against the worst of the others; and which are as you like."""
    said = [_worst_words(about, choice) for about, choice in found.choices.items() if choice.worse]
    free = _free(found)
    if free:
        why = f"since nothing tried can be told apart over {len(found.seeds)} races"
        said.append(f"{AS_YOU_LIKE.capitalize()}, {why}: {listed(free)}.")
    return said


def _worst_words(about: str, choice: Choice[str]) -> str:
    worst = max(choice.worse, key=lambda word: choice.later[word].mean)
    lost = sure_difference(choice.later[worst], "s", "later", "earlier")
    head = f"{about[0].upper()}{about[1:]}"
    return f"{head}: with {worst} instead of {choice.chosen} our first five finish {lost}."


def points_words(found: Found) -> str:
    """The gain in whole points, which is how a coach counts."""
    gain, name = found.points_saved(), cost_name(found)
    told, alone = _whole_words(gain), _whole_words(gain.by_chance)
    if told != NOTHING_SEEN:
        return f"In {name}: {told}{f' (chance alone: {alone})' if gain.parts else ''}."
    if alone != NOTHING_SEEN:
        return (
            f"In {name}: we cannot tell; by chance alone {alone}, but {UNMEASURED} may undo that."
        )
    return f"In {name}: {NOTHING_SEEN}."


def _whole_words(gain: Estimate) -> str:
    if not gain.is_seen or not np.isfinite([gain.low, gain.high]).all():
        return NOTHING_SEEN
    ends = sorted(abs(round(end)) for end in (gain.low, gain.high))
    return f"{ends[0]} to {ends[1]} {'fewer' if gain.low > 0 else 'more'}"


def cost_name(found: Found) -> str:
    """What a plan is to keep low."""
    return "team points" if found.has_points else "places"


def share_words(turn: str, found: Mapping[float, Estimate]) -> str:
    """Inside or outside at this turn, by the share of the others who hug the inside."""
    told = {f"{100 * share:.0f}": _faster_words(gain) for share, gain in found.items()}
    nothing = f"there is {NOTHING_SEEN} between inside and outside"
    if set(told.values()) == {NOTHING_SEEN}:
        shares = listed([*told], "or")
        return f"At {the_mark(turn)} {nothing}, whether {shares} % of the others are on the inside."
    parts = [
        f"with {share} % of the others on the inside, "
        + (nothing if words == NOTHING_SEEN else words)
        for share, words in told.items()
    ]
    return f"{_unless_counted(found)}At {the_mark(turn)}, {'; '.join(parts)}."


def _unless_counted(found: Mapping[float, Estimate]) -> str:
    """Is the one better where few take the inside, and the other where many do? Then the count decides."""
    seen = {gain.mean > 0 for gain in found.values() if gain.is_seen}
    if len(seen) < 2:
        return ""
    return (
        "Inside or outside: we cannot tell until you know how many of the others take the inside. "
    )


def _faster_words(gain: Estimate) -> str:
    sides = ("s", "faster on the outside", "faster on the inside")
    if turned := turned_round(gain, *sides):
        return f"we cannot tell: {turned}"
    told = sure_difference(gain, *sides)
    return told if told == NOTHING_SEEN else f"we are {told}"


def text_of(found: Found, orders: Orders) -> str:
    """The plan as a terminal shows it: the sentence, everybody's orders, how sure; how an opening is read."""
    listed_orders = "\n".join(runner_words(orders))
    told = " ".join(plan_words(found, orders))
    return paragraphs(plan_sentence(found, orders), listed_orders, told, racing_words(found.day))


def terminal_words(found: Found, orders: Orders) -> str:
    """The same, and what its ranges cover."""
    return paragraphs(text_of(found, orders), short_inputs_words(found.day))


def about_words(found: Found) -> str:
    """Which races the plan was chosen with, and which it was checked with."""
    invented = "Invented world. " if found.day.invented else ""
    races = f"{len(found.seeds)} races for each plan tried and {len(found.fresh_seeds)} fresh ones to check"
    tried = f"; the search tried {found.trials} plans" if found.trials else ""
    return f"{invented}{found.day.name}, run to the finish: {races}{tried}."


def opened_words(found: Found, opening: float) -> str:
    """One opening of the whole team, as the seconds of our fastest and slowest at the stake."""
    ours = found.splits_s[opening]
    return split_ends(float(ours.min()), float(ours.max())) if np.isfinite(ours).all() else "-"
