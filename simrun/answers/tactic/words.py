"""The team's plan as a coach says it: what to do, how sure that is, and what would change it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from simrun.answers.tactic.tactic_found import Found
from simrun.answers.tactic.tactic_score import KNEE_S
from simrun.pages.numbers import NOTHING_SEEN
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import UNMEASURED, short_inputs_words, sure_difference, turned_round
from simrun.pages.text import paragraphs
from simrun.trials.statistics import Estimate

READING = (
    "Seconds lost are counted against the same runner with the same opening, alone, from the best box on the "
    "shortest line. So seconds that a fast opening borrows count as paid back one for one, which is assumed "
    "and not measured. Team points are places carried to the finish of 5 km: each runner's own 5 km time "
    "plus the seconds lost so far."
)

RING = (
    f"A ring marks the knee: the smallest opening within {KNEE_S:g} s of the best. "
    "The band is the 95 % range."
)

OUTSIDE = "Above the line the outside is faster; the bar is the 95 % range."


def plan_sentence(found: Found) -> str:
    """The plan: who stands in front, how hard to go out, which line."""
    parts = [f"put {listed(found.order.front)} in the front row"] if found.order.front else []
    parts.append(_going(found))
    if found.order.lines:
        parts.append(_lines_words(found.order.lines))
    told = listed(parts) if len(parts) < 3 else f"{parts[0]}; {parts[1]}; and {parts[2]}"
    return told[0].upper() + told[1:] + "."


def sheet_sentence(found: Found) -> str:
    """The same for the team, whose paces stand below it."""
    lines = f" and {_lines_words(found.order.lines)}" if found.order.lines else ""
    said = f"Go out at your own pace below{lines}."
    front = found.order.front
    return f"{listed(front)} in the front row. {said}" if front else said


def listed(names: tuple[str, ...] | list[str], joined: str = "and") -> str:
    """Names as they are read out: "Aro, Bela and Cass"."""
    *most, last = names
    return f"{', '.join(most)} {joined} {last}" if most else last


def _going(found: Found) -> str:
    """How hard do they go out, from the calmest to the boldest?"""
    openings = sorted(set(found.openings().values()))
    low, high = (f"{100 * opening:.0f}" for opening in (openings[0], openings[-1]))
    if len(openings) == 1:
        return f"go out {f'{high} % faster than' if openings[0] else 'at'} race pace"
    if openings[0] == 0:
        return f"go out between race pace and {high} % faster, each as the team's page says"
    return f"go out {low} to {high} % faster than race pace, each as the team's page says"


def _lines_words(lines: Mapping[str, str]) -> str:
    if len(set(lines.values())) == 1:
        where = "every turn" if len(lines) > 1 else next(iter(lines))
        return f"take {where} {side_words(next(iter(lines.values())))}"
    return "take " + listed([f"{turn} {side_words(word)}" for turn, word in lines.items()])


def side_words(word: str) -> str:
    """A line through a turn, in a sentence."""
    return "in the middle" if word == "middle" else f"on the {word}"


def plan_words(found: Found) -> list[str]:
    """How sure it is, and what would change it: a sentence or two each."""
    said = [gain_words(found), points_words(found)]
    if found.by_share:
        said.append(share_words(next(iter(found.order.lines)), found.inside_minus_outside()))
    return [*said, payback_words(found.by_payback)]


def gain_words(found: Found) -> str:
    """What the plan saves on seeds that had no part in the choice, and how sure that is."""
    over = f"Over {len(found.gain.values)} fresh races"
    gain = found.gain.found
    told = sure_difference(gain, "s", "less", "more")
    if turned := turned_round(gain, "s", "less", "more"):
        return f"{over} we cannot tell whether the plan saves our first five any time: {turned}."
    if told == NOTHING_SEEN:
        return f"{over} there is {told} in seconds against the plan on paper."
    return f"{over} our first five lose {told} than with the plan on paper."


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
        return f"At {turn} {nothing}, whether {shares} % of the others are on the inside."
    parts = [
        f"with {share} % of the others on the inside, "
        + (nothing if words == NOTHING_SEEN else words)
        for share, words in told.items()
    ]
    return f"{_unless_counted(found)}At {turn}, {'; '.join(parts)}."


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


def payback_words(by_payback: Mapping[float, float]) -> str:
    """How hard the team should go out, by what each second gained by a fast opening costs later on."""
    low, _, high = sorted(by_payback)
    soft, hard = (_going_out(by_payback[payback]) for payback in (low, high))
    if soft == hard:
        return (
            f"Whether each second gained by a fast opening costs {low:g} or {high:g} s later on, {soft} is "
            "enough for the team as a whole."
        )
    return (
        f"If each second gained by a fast opening costs {low:g} s later on, {soft} pays off for the team as "
        f"a whole; if it costs {high:g} s, {hard} does."
    )


def _going_out(opening: float) -> str:
    faster = f"{100 * opening:.0f} % faster than" if opening else "at"
    return f"going out {faster} race pace"


def text_of(found: Found) -> str:
    """The plan in one paragraph, as a terminal shows it; where racing is on, how an opening is read."""
    told = " ".join([plan_sentence(found), *plan_words(found)])
    return paragraphs(told, racing_words(found.day))


def terminal_words(found: Found) -> str:
    """The paragraph, and what its ranges cover."""
    return paragraphs(text_of(found), short_inputs_words(found.day))


def about_words(found: Found) -> str:
    """Which races the plan was chosen with, and which it was checked with."""
    invented = "Invented world. " if found.day.invented else ""
    races = f"{len(found.seeds)} races for each plan tried and {len(found.fresh_seeds)} fresh ones to check"
    tried = f"; the search tried {found.trials} plans" if found.trials else ""
    return f"{invented}{found.day.name}, to {found.marks[-1]}: {races}{tried}."


def grid_words(found: Found) -> str:
    """Is the best opening and line better than every other?"""
    after = "once all pairs had been looked at (Holm's correction)."
    if found.best.is_clear:
        return f"The best is better than every other, {after}"
    count, others = len(found.best.not_told_from), len(found.grid) - 1
    return f"In {cost_name(found)}, {count} of the other {others} may be just as good as the best, {after}"
