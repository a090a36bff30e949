"""The answers of a layout study as sentences: the fairest layout, the cheapest change, the queue."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from simrun.answers.boxes.page import table_html
from simrun.answers.layout.knobs import KNOBS, present, said
from simrun.answers.layout.layout_measures import FLOW, unfairness_s
from simrun.answers.layout.layout_search import Change, ground_m
from simrun.answers.layout.layout_sweep import mean_of
from simrun.answers.layout.run import Answer
from simrun.pages.text import tenths
from simrun.sources import figure
from simrun.trials.statistics import NOTHING_SEEN, Estimate, words

if TYPE_CHECKING:
    import pandas

QUEUE_S = 0.1
"""From so many seconds a runner on the simulated field counts as queueing (our own choice of a word)."""


def fairest_words(answer: Answer) -> str:
    """Which layout of the sweep is fairest, and is that more than chance?"""
    fairest = answer.fairest()
    assert fairest is not None
    values, sample, gain = fairest
    spread = unfairness_s(sample, answer.at)
    told = words(gain, more="closer together", less="further apart")
    return escape(
        f"Fairest: {said(values)}, boxes {tenths(spread.mean)} s apart; against the layout as it is: {told}. "
        "It was picked after looking at all of them, so it looks better than it is; --search checks on fresh "
        "races."
    )


def rule_words(answer: Answer, table: pandas.DataFrame) -> str:
    """Where the dispersion rule and the simulated field part, and why. Empty without a narrowing."""
    here = table[(table.checkpoint == answer.at) & table.crowd_rule_straight_m.notna()]
    if not len(here):
        return ""
    flow = figure(FLOW).value
    now = here.iloc[0]
    parts = [
        "By the dispersion rule no queue forms beyond L* = N v^2 / (C sigma sqrt(2 pi)), with C the "
        f"published flow of runners, {flow:g} a second and metre, times the width; queueing here means "
        f"{QUEUE_S:g} s a runner or more. For the layout as it is L* is "
        f"{now.crowd_rule_straight_m:.0f} m, and the narrowing lies {now.crowd_straight_m:.0f} m away."
    ]
    without, needless = parted(here, here.crowd_rule_straight_m)
    if not without + needless:
        return f"{parts[0]} Rule and simulated field agree on all {len(here)} layouts."
    if without:
        parts.append(_queue_anyway(here, without, flow))
    if needless:
        parts.append(
            f"{needless} of {len(here)} layouts do not queue although the rule expects it: it lets everybody "
            "start from one place at one moment, and counts a peak of an instant; on a line the ends have "
            "further to go, the rows behind start later, and a short peak costs nobody half of the "
            "wished speed."
        )
    return " ".join(parts)


def parted(here: pandas.DataFrame, rule_m: pandas.Series) -> tuple[int, int]:
    """How many layouts queue although the rule expects none, and how many the other way round?"""
    expected = here.crowd_straight_m < rule_m
    seen = here.crowd_queue_s >= QUEUE_S
    return int((seen & ~expected).sum()), int((expected & ~seen).sum())


def _queue_anyway(here: pandas.DataFrame, without: int, flow: float) -> str:
    """Queues beyond L*: counted by hand, and the rule tried again with the flow that was reached."""
    queueing = here[here.crowd_queue_s >= QUEUE_S]
    odd = queueing[queueing.crowd_straight_m >= queueing.crowd_rule_straight_m]
    clumps = int((odd.crowd_hand_queue_s >= QUEUE_S).sum())
    reached = float(queueing.crowd_flow_per_s_m.max())
    again, _ = parted(here, here.crowd_rule_straight_m * flow / reached)
    return (
        f"{without} of {len(here)} layouts queue although the rule expects none. In {clumps} of them the "
        "hand calculation with everybody's own place and speed waits too: the rule sees an even stream, a "
        "field comes in clumps. And the simulated fields that queued brought at most "
        f"{reached:.2f} through a second and metre in their busiest 10 s; with that flow in the place of "
        f"{flow:g} the rule would part from the simulated field in {again} layouts. What is left "
        "comes from the shortest way: from either side of the line it leads to the nearer corner of the "
        "narrowing, and who takes it queues there while the middle stays free; with everybody keeping the "
        "own place across (`pull = [0, 0]` under `[field]`) it all but goes away."
    )


def search_html(answer: Answer) -> list[str]:
    """What the search found: the layouts that nothing beats, with fresh races, and what one change gains."""
    found = answer.found
    if found is None:
        return []
    rows = [["", "layout", "spread between boxes s", "queueing s", "ground that is not there now"]]
    for i, (values, sample) in enumerate(found.front, start=1):
        spread, queue = unfairness_s(sample, answer.at), mean_of(sample, "queue_s")
        rows.append(
            [str(i), said(values), f"{tenths(spread.mean)} ({_ends(spread)})", tenths(queue)]
        )
        rows[-1].append(f"{ground_m(answer.scenario, values):.0f} m")
    return [
        f"<h2>Layouts that nothing beats</h2><p>{found.tried} layouts were tried; these are beaten by no "
        "other in spread, queueing and ground together. The figures are of fresh races, with people that the "
        f"search never met.</p>{table_html(rows, None)}",
        f"<h2>Which change is worth it?</h2><p>{escape(gain_words(answer))}</p>",
    ]


def gain_words(answer: Answer) -> str:
    """The cheapest change that gets most of the gain: "arc instead of straight line: 70 % of it"."""
    found = answer.found
    assert found is not None
    whole = words(found.whole, more="closer together", less="further apart")
    parts = [f"All changes together ({said(found.best)}): {whole}."]
    if not found.whole.low > 0:
        return f"{parts[0]} So no change can be said to be worth it."
    parts += [_change_words(answer, change) for change in found.changes]
    if found.cheapest is not None:
        alone = KNOBS[found.cheapest.name].said(found.cheapest.value)
        parts.append(f"Cheapest change that gets most of the gain: {alone}, and nothing else.")
    else:
        parts.append("No single change can be said to get half of it.")
    return " ".join(parts)


def _change_words(answer: Answer, change: Change) -> str:
    now = present(answer.scenario).get(change.name)
    knob = KNOBS[change.name]
    before = "" if now is None else f" instead of {knob.said(now).removeprefix(knob.title).strip()}"
    share = NOTHING_SEEN if not change.gain_s.is_seen else f"{100 * change.share:.0f} % of it"
    return f"{knob.said(change.value)}{before}: {share}."


def _ends(found: Estimate) -> str:
    known = abs(found.low) < float("inf") and abs(found.high) < float("inf")
    return f"{tenths(found.low)} to {tenths(found.high)}" if known else "-"
