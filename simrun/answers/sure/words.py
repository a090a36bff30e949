"""Which answers can be told, which cannot and what for? As a coach would say it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from simrun.answers.sure.three_answers import BOX, HARD, LINE, OPENING, USUAL
from simrun.pages.numbers import DASH, ends, percent, tenths
from simrun.pages.sure_words import GROUP_WORDS, UNMEASURED, hangs_words
from simrun.pages.text import table_text
from simrun.scenario.scenario import Scenario
from simrun.trials.hanging.total_effects import Effect
from simrun.trials.how_sure import Sure, planned

HANGS_ON = "What the answers hang on"

READING = (
    "Seconds are lost by the last mark, against the same runner alone from the best box with the same "
    "opening. The whole range is where the answer lies with 95 % confidence, for inputs that nobody has "
    "measured; chance alone is the part that more races would narrow; inputs fixed is what the same races "
    "say with every input at its middle value. Share: of the variance that the inputs make, with people and "
    "chance the same, and without what a crowd makes of any small change; with others counts what a group "
    "does only together with others, so that shares add up to more than the whole."
)

FINE_S = 0.25
"""A range that is known to so many seconds need not be known better."""

SUBJECTS = {
    BOX: "what our box costs",
    LINE: "inside from outside",
    OPENING: "whether to go out harder",
}

HEADS = {
    BOX: "What our box costs",
    LINE: "Inside or outside",
    OPENING: "Whether to go out harder",
}

CLAUSES = {
    BOX: (
        "our box costs {} s more than the others",
        "our box costs {} s less than the others",
    ),
    LINE: ("inside we lose {} s more than outside", "inside we lose {} s less than outside"),
    OPENING: (
        f"going out {100 * HARD:.0f} % instead of {100 * USUAL:.0f} % faster costs us {{}} s",
        f"going out {100 * HARD:.0f} % instead of {100 * USUAL:.0f} % faster saves us {{}} s",
    ),
}

ROW_WORDS = {
    BOX: "our team in its box against the others",
    LINE: "inside against outside",
    OPENING: f"going out {100 * HARD:.0f} % against {100 * USUAL:.0f} % faster",
}


@dataclass(frozen=True)
class Told:
    """What there is to tell: judged and hangs as of `SureResult`."""

    day: Scenario
    team: str
    judged: Mapping[str, tuple[Sure, Sure]]
    hangs: Mapping[str, Sequence[Effect]]
    races: int
    rows: int


def title_of(told: Told) -> str:
    """What the page is about."""
    return f"{told.day.name}: how sure are three answers for {told.team}?"


def about_words(told: Told) -> str:
    """How many races were run."""
    invented = "Invented world. " if told.day.invented else ""
    moved = f"; every group of inputs moved by itself {told.rows} times" if told.rows else ""
    return (
        f"{invented}{told.races} races with inputs drawn and {told.races} with inputs fixed{moved}."
    )


def sentence_of(told: Told) -> str:
    """Which of the three can be told, and what the others wait for."""
    clauses = [
        _clause(key, drawn, told.hangs.get(key, ()))
        for key, (drawn, _) in told.judged.items()
        if drawn.count
    ]
    whole = "; ".join(clauses)
    return f"{whole[0].upper()}{whole[1:]}."


def _clause(key: str, found: Sure, effects: Sequence[Effect]) -> str:
    if found.is_seen:
        low, high = sorted((abs(found.low), abs(found.high)))
        return CLAUSES[key][found.mean < 0].format(f"{tenths(low)} to {tenths(high)}")
    if not found.by_chance.is_seen:
        return f"we cannot tell from these races {SUBJECTS[key]}"
    seen = [GROUP_WORDS[effect.name] for effect in effects if effect.is_seen]
    wait = seen[0] if seen else f"more of {UNMEASURED}"
    return f"we cannot tell {SUBJECTS[key]} until you know {wait}"


def _known(effects: Sequence[Effect]) -> bool:
    return bool(effects) and not math.isnan(effects[0].total)


def range_rows(told: Told) -> list[list[str]]:
    """Both ranges of every answer side by side."""
    rows = [["seconds", "average", "whole range", "chance alone", "inputs fixed", "clear"]]
    for key, (drawn, fixed) in told.judged.items():
        if drawn.count:
            alone = drawn.by_chance
            cells = [ends(each.low, each.high) for each in (drawn, alone, fixed)]
            seen = "yes" if drawn.is_seen else "no"
            rows.append([ROW_WORDS[key], tenths(drawn.mean, "+"), *cells, seen])
    return rows


LEARN = "simrun learn says which count or split time would tell more, and takes in what you have."


def hang_words(told: Told) -> list[str]:
    """The three groups that every answer hangs on most, in words, and how to know more of them."""
    words = [hangs_words(HEADS[key], effects) for key, effects in told.hangs.items() if effects]
    return [*words, LEARN] if words else []


def plan_words(told: Told) -> list[str]:
    """How many races would do, as the two variances stand?"""
    wanted = [
        planned(drawn.parts, fine=FINE_S).seeds for drawn, _ in told.judged.values() if drawn.parts
    ]
    if not wanted or max(wanted) <= told.races:
        return []
    return [
        f"These ranges come from {told.races} races; {max(wanted)} would settle how wide they are. Beyond "
        "that only measuring narrows them."
    ]


def hang_rows(told: Told) -> list[list[str]]:
    """Every group's share of every answer."""
    rows = [["answer", "group", "alone", "with others", "95 % range"]]
    for key, effects in told.hangs.items():
        for effect in effects if _known(effects) else ():
            between = f"{_bounded(effect.low)} to {_bounded(effect.high)}"
            cells = [_bounded(effect.alone), _bounded(effect.total), between]
            rows.append([ROW_WORDS[key], GROUP_WORDS[effect.name], *cells])
    return rows


def _bounded(share: float) -> str:
    return DASH if math.isnan(share) else percent(min(1.0, max(0.0, share)))


def text_of(told: Told) -> str:
    """Everything as a terminal shows it."""
    parts = [sentence_of(told), table_text(range_rows(told))]
    parts += ["\n".join(words)] if (words := [*hang_words(told), *plan_words(told)]) else []
    return "\n\n".join(parts)
