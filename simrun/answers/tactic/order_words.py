"""The orders of one runner as they are read out, and why one of them surprises."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from simrun.answers.tactic.runner_orders import RunnerOrder
from simrun.answers.tactic.tactic_found import STAGES
from simrun.pages.numbers import DASH, ordinal, tenths, the_mark

AS_YOU_LIKE = "as you like"
MOST_WHY = 3
WHOLE_FROM_S = 20.0
HELD_MORE_S = 0.2
"""Opening harder counts as a reason where it saves so much more in the crowd than it saves the other."""


def order_words(one: RunnerOrder) -> str:
    """Seconds at the stake, lines, places, where to sit and go: one line a runner."""
    parts = [opening_words(one), *line_parts(one.lines, one.as_good), gate_words(one)]
    return f"{one.runner}: {', '.join(part for part in [*parts, stage_words(one)] if part)}."


def opening_words(one: RunnerOrder) -> str:
    """ "33 s at the 150 m stake (32 to 34 s is as good)"; as you like, with what was tried; flat out."""
    if one.told_s != one.told_s:
        return ""
    told, stake = split_text(one.told_s), the_mark_of(one.stake)
    if one.as_you_like:
        return f"{AS_YOU_LIKE} to {stake}, {split_ends(one.low_s, one.high_s)} were tried"
    flat = ", flat out" if one.flat_out else ""
    return f"{told} at {stake}{flat}{_as_good_words(one)}"


def _as_good_words(one: RunnerOrder) -> str:
    """The seconds that may be as good; where they reach the end of what was tried, that they do."""
    band = split_ends(one.low_s, one.high_s)
    if band == split_text(one.told_s):
        return _edge_words(one)
    return f" ({band} is as good{_edge_words(one, '; ')})"


def _edge_words(one: RunnerOrder, link: str = "") -> str:
    if one.flat_out or not (one.hardest or one.calmest):
        return ""
    words = "nothing faster was tried" if one.hardest else "nothing calmer was tried"
    if one.hardest and one.at_limit:
        words = f"{split_text(one.low_s)} is flat out"
    return f"{link}{words}" if link else f" ({words})"


def split_text(seconds: float) -> str:
    """Seconds at a stake as they are called out: whole ones, short ones to a tenth."""
    return f"{seconds:.0f} s" if seconds >= WHOLE_FROM_S else f"{seconds:.1f} s"


def split_ends(low_s: float, high_s: float) -> str:
    """ "32 to 34 s", or the one number."""
    low, high = split_text(low_s), split_text(high_s)
    if low == high:
        return low
    # Both ends to the same digits.
    return f"{low_s:.1f} to {high_s:.1f} s" if low_s < WHOLE_FROM_S else f"{low_s:.0f} to {high}"


def the_mark_of(name: str) -> str:
    """ "the 150 m stake", "the hedge gap"."""
    return f"the {name}" if name.endswith(" stake") else the_mark(name)


def line_parts(lines: Mapping[str, str], as_good: Iterable[str]) -> list[str]:
    """ "inside at the pump corner and the alder turn"; a turn that is as you like is not ordered."""
    told = {turn: word for turn, word in lines.items() if turn not in set(as_good)}
    return [
        f"{word} at {turns_words([t for t, w in told.items() if w == word], len(lines))}"
        for word in dict.fromkeys(told.values())
    ]


def turns_words(turns: list[str], of: int) -> str:
    """Some turns by name, all of many as every turn, many of them as so many."""
    if len(turns) == of > 1:
        return "every turn"
    return joined([the_mark(turn) for turn in turns])


def joined(names: list[str]) -> str:
    """Names as they are read out."""
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def free_words(as_good: Iterable[str]) -> str:
    """ "As you like: front row and alder turn."; empty where all that was tried can be told apart."""
    free = list(as_good)
    return f"{AS_YOU_LIKE.capitalize()}: {joined(free)}." if free else ""


def gate_words(one: RunnerOrder) -> str:
    """ "12th to 20th at the hedge gap": eight races in ten; where the opening is free, after which one."""
    ends = place_ends(one.gate_low, one.gate_high)
    after = f" after {split_text(one.told_s)}" if one.as_you_like else ""
    return f"{ends} at {the_mark_of(one.gate)}{after}" if ends else ""


def place_ends(low: float, high: float) -> str:
    """ "12th to 20th", or the one place; empty of nobody."""
    first, last = ordinal(low), ordinal(high)
    if DASH in (first, last):
        return ""
    return first if first == last else f"{first} to {last}"


def stage_words(one: RunnerOrder) -> str:
    """Where to sit and where to go, where that is ordered."""
    return "" if STAGES in one.as_good else stages_words(one.sit, one.go)


def stages_words(sit: str, go: str) -> str:
    """ "sit on the boardwalk, go at the water tower"; empty for an even pace."""
    parts = [f"sit on {the_mark(sit)}"] if sit else []
    parts += [f"go at {the_mark(go)}"] if go else []
    return ", ".join(parts)


def flat_out_words(orders: Iterable[RunnerOrder], length: str) -> str:
    """What "flat out" rests on, where somebody is told to; empty where nobody is."""
    if not any(one.flat_out and not one.as_you_like for one in orders):
        return ""
    return (
        f"Flat out is as fast as each of ours can go alone. Over {length} it came out ahead; what so hard an "
        "opening costs later is assumed, no range covers it, and the others do not answer it by going out "
        "harder themselves. Where calmer seconds are as good, take those."
    )


def why_words(orders: Iterable[RunnerOrder], first: RunnerOrder) -> list[str]:
    """Why a slower one is told to open harder than the fastest of ours: from what was measured."""
    odd = sorted((one for one in orders if one.surprises), key=lambda one: one.harder, reverse=True)
    return [_why(one, first) for one in odd[:MOST_WHY]]


def _why(one: RunnerOrder, first: RunnerOrder) -> str:
    head = f"Why {one.runner} is told to open harder than {first.runner}"
    if one.as_you_like or one.harder_low <= first.harder_high:
        return f"{head}: these races cannot tell it from opening as {first.runner} does; either will do."
    saved, her = (o.calm_traffic_s - o.told_traffic_s for o in (one, first))
    if saved - her >= HELD_MORE_S:
        return (
            f"{head}: {stands_words(one)}, and held up {tenths(one.calm_traffic_s)} s by "
            f"{the_mark_of(one.gate)} after a calm opening, {tenths(one.told_traffic_s)} s after this one; "
            f"{first.runner}, {stands_words(first)}, {tenths(first.calm_traffic_s)} and "
            f"{tenths(first.told_traffic_s)} s."
        )
    by = the_mark_of(one.gate)
    return f"{head}: the crowd does not say why; by {by} it saves no more than it saves {first.runner}."


def stands_words(one: RunnerOrder) -> str:
    """ "in row 2 at the left end of the box"."""
    row = "in the front row" if one.row == 1 else f"in row {one.row}"
    if one.abreast > 1 and one.file in (0, one.abreast - 1):
        return f"{row} with the {'left' if one.file == 0 else 'right'} neighbor's box beside"
    return row
