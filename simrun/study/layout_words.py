"""The answers of a layout study as sentences: the fairest layout, the cheapest change, where a queue forms."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from simrun.measure.pages import tenths
from simrun.study.boxes_page import table_html
from simrun.study.layout import KNOBS, present, said
from simrun.study.layout_measures import unfairness_s
from simrun.study.layout_run import Answer
from simrun.study.layout_search import Change, ground_m
from simrun.study.layout_sweep import mean_of
from simrun.study.statistics import NOTHING_SEEN, Estimate, words

if TYPE_CHECKING:
    import pandas

QUEUE_S = 0.1
"""From so many seconds a runner on the simulated field counts as queueing (our own choice of a word)."""

PARTED = {
    "only simulated": "{} of {} layouts queue although the rule expects none: it sends everybody straight to "
    "the narrowing at the own speed and lets the whole width be used, but a field bunches within its "
    "rows and boxes, closes in from the sides, keeps gaps and leaves width unused.",
    "only by rule": "{} of {} layouts do not queue although the rule expects it: it takes everybody to start "
    "from one point at once and holds the densest moment against the mean published flow, but on a "
    "wide line the ends have further to go, the rear rows start later, and a peak that is over "
    "within a few seconds costs nobody half of the wished speed.",
}


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
    rule = here.crowd_straight_m < here.crowd_rule_straight_m
    seen = here.crowd_queue_s > QUEUE_S
    counts = {"only simulated": int((seen & ~rule).sum()), "only by rule": int((rule & ~seen).sum())}
    parts = [
        "By the dispersion rule no queue forms beyond L* = N v^2 / (C sigma sqrt(2 pi)), with C the published "
        f"flow of runners times the width; queueing here means {QUEUE_S:g} s a runner or more. For the layout "
        f"as it is L* is {here.crowd_rule_straight_m.iloc[0]:.0f} m, and the narrowing lies "
        f"{here.crowd_straight_m.iloc[0]:.0f} m away."
    ]
    parts += [PARTED[key].format(count, len(here)) for key, count in counts.items() if count]
    if not any(counts.values()):
        parts.append(f"Rule and simulated field agree on all {len(here)} layouts.")
    return " ".join(parts)


def search_html(answer: Answer) -> list[str]:
    """What the search found: the layouts that nothing beats, with fresh races, and what one change gains."""
    found = answer.found
    if found is None:
        return []
    rows = [["", "layout", "spread between boxes s", "queueing s", "ground that is not there now"]]
    for i, (values, sample) in enumerate(found.front, start=1):
        spread, queue = unfairness_s(sample, answer.at), mean_of(sample, "queue_s")
        rows.append([str(i), said(values), f"{tenths(spread.mean)} ({_ends(spread)})", tenths(queue)])
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
        name = KNOBS[found.cheapest.name].title
        parts.append(f"Cheapest change that gets most of the gain: the {name} alone.")
    else:
        parts.append("No single change gets half of it.")
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
