"""A layout study in sentences: which layout is better, the cheapest change, the queue."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simrun.answers.layout.fair.fairness import points_between, unfairness_s
from simrun.answers.layout.fair.layout_sample import LayoutSample
from simrun.answers.layout.fair.worst_pair import WorstPair
from simrun.answers.layout.layout_found import Change, Found, Weighed
from simrun.answers.layout.layout_measures import FLOW
from simrun.answers.layout.varied import AFTER_TURN, FINISH, NARROWING, SETTINGS, present, said
from simrun.base.units import length_text
from simrun.pages.numbers import NOTHING_SEEN, mean_and_ends, tenths, the_mark
from simrun.pages.sure_words import (
    CHANCE_ALONE,
    UNMEASURED,
    chance_words,
    sure_difference,
    turned_round,
)
from simrun.sources import figure
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    import pandas

READING = (
    "Spread between boxes: the standard deviation between boxes of the mean seconds lost, less what so "
    "few races leave in it by chance; 0 is a line on which the box does not matter. Seconds are lost "
    "against the same runner alone from the best box. Worst pair: named only where the two lie further "
    "apart than the furthest two of as many equal boxes would, 19 times in 20, each layout and mark by "
    "itself. Decided by the draw: the share of the variance of places that the box alone explains; a team "
    "that was given a box stands there in every race, with its own tactics. Held up: seconds that the "
    "others cost, mean of the field, waiting at the start for those in front and being held to their pace "
    "included; of a place, those lost on it. Slow: seconds below half of the speed they want, once they "
    "had reached it; slowed: who spent a second or more that way. Density: the highest over 1 m2 and 1 s, "
    "10 m from the line or further, mean of the races; most: in any one race, and where. All of it stops "
    "where the study ends. Flow: through the first narrowing in its busiest 10 s. Strung out: from then "
    "on at most a tenth of the field is held below nine tenths of the speed they want. Ranges hold the "
    "long-run mean with 95 % confidence. All layouts meet the same people where the number of teams is "
    "the same."
)

DENSITY_BANDS = (
    ("slowed", "slowed from {:g}"),
    ("contact", "involuntary contact from about {:g}"),
    ("force", "dangerous forces from about {:g}"),
)

STANDING = "setting off"
"""The place on which is lost what is lost before the first metre."""

NO_PAIR, TOO_FEW = "no pair stands out", "too few races to name a pair"

PICKED = (
    "It was picked after all of them had been seen, so it looks better than it is; --search checks its "
    "choice with fresh races."
)

MOST_UNFIT = 12
"""So many layouts that do not fit are told by name."""

SAME = 1e-6
"""A setting that differs by less stands where it stood."""

QUEUE_S = 0.1
"""From so many seconds a runner on the simulated field counts as a queue (our own choice of a word)."""


def density_words() -> str:
    """The published thresholds of density in one sentence, with where they come from."""
    told = [w.format(figure(f"crowd.density_{key}_per_m2").value) for key, w in DENSITY_BANDS]
    flow = figure(FLOW)
    return (
        f"People per square metre: {', '.join(told)} (Fruin, as tabulated by Wirz et al. 2013). These come "
        f"from walking crowds, not from runners. Flow of runners at saturation: {flow.low:.2f} to "
        f"{flow.high:.2f} a second and metre of width (Peckover et al. 2022); below it the narrowing was "
        "not full, or the run-up kept it from filling."
    )


def sentence_of(found: Found, units: str) -> str:
    """What all changes of a search gain, else which layout is better, else how fair the present one is."""
    if len(np.unique(found.now.box)) < 2 and found.searched is None and found.sweep is None:
        return (
            "One box: nothing lies between boxes. What everybody loses and the crowd stand below."
        )
    if len(found.seeds) < 2:
        return "One race cannot say how far apart the boxes lie; run more to find out."
    if found.searched is not None:
        return _whole_words(found, units)
    if found.aim and found.weighed:
        return _aimed_words(found, units)
    if found.sweep is not None:
        return _weighed_words(found, units)
    apart = f"{_spread(found.now, found.at)} s apart at {place_words(found.at)}"
    points = points_between(found.now) if found.at == FINISH else None
    more = "" if points is None else f", and {tenths(points.mean)} team points"
    return f"As the layout is, the boxes lie {apart}{more}."


def _aimed_words(found: Found, units: str) -> str:
    """What the line brings whose ways to a gate are equal: exactly, and in the races."""
    (line,) = found.weighed
    return (
        f"The line with equal ways to {the_mark(found.aim)}, {said(line.values, units)}, beside the line "
        f"as it is: {_three_words(found, line)}. Its stakes are told here."
    )


def _weighed_words(found: Found, units: str) -> str:
    """Which layout of the sweep is better in something and worse in nothing? Fairness alone is no answer."""
    raced = len(found.weighed)
    of = "the one layout raced" if raced == 1 else f"the {raced} layouts raced"
    if not found.better:
        none = "The one layout raced is not" if raced == 1 else f"None of {of} is"
        return (
            f"{none} better than the line as it is without being worse in something, as far as we can see: "
            "spread between boxes, seconds lost, crowding."
        )
    best = found.better[0]
    more = len(found.better) - 1
    others = f" So {'is' if more == 1 else 'are'} {_counted(more, 'other')}." if more else ""
    return (
        f"Better than the line as it is and worse in nothing that we can see, of {of}: "
        f"{said(best.values, units)}: {_three_words(found, best)}.{others}"
    )


def fairest_words(found: Found, units: str) -> list[str]:
    """What the fairest layout costs in the two other things, where it is not the one that is recommended."""
    fairest = found.fairest
    if fairest is None or (found.better and found.better[0] is fairest) or len(found.seeds) < 2:
        return []
    return [
        f"The fairest by itself, {said(fairest.values, units)}: {_three_words(found, fairest)}."
    ]


def _three_words(found: Found, each: Weighed) -> str:
    """What it brings in each of the three, in points too where races go so far; or nothing to be seen."""
    at = place_words(found.at)
    told = [
        ("boxes", _closer(each.closer_s)),
        (f"seconds lost by everybody at {at}", _more_words(each.lost_s, "s")),
        ("people on the fullest square metre", _more_words(each.denser, "people")),
    ]
    if each.points_closer is not None:
        told.insert(
            1, ("boxes in team points at the finish", _closer(each.points_closer, "points"))
        )
    return "; ".join(f"{what}: {words}" for what, words in told)


def _more_words(found: Estimate, unit: str) -> str:
    turned = turned_round(found, unit)
    return f"we cannot tell ({turned})" if turned else sure_difference(found, unit)


def _closer(gain: Estimate, unit: str = "s") -> str:
    """By how much closer together, and which part of that is chance; or that it is not to be told."""
    words = (unit, "closer together", "further apart")
    turned = turned_round(gain, *words)
    return f"we cannot tell ({turned})" if turned else sure_difference(gain, *words)


def _spread(sample: LayoutSample, at: str) -> str:
    return tenths(unfairness_s(sample, at).mean)


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def place_words(mark: str) -> str:
    """A checkpoint in a sentence."""
    if mark in (NARROWING, FINISH):
        return f"the {mark}"
    return "the way out of the first turn" if mark == AFTER_TURN else mark


def more_words(found: Found, units: str) -> list[str]:
    """What is to be said straight after the sentence."""
    unfit = unfit_words(found, units)
    if found.searched is not None:
        return [*gain_words(found, units), *([unfit] if unfit else [])]
    picked = bool(found.better) and len(found.weighed) > 1
    said = [] if found.aim else fairest_words(found, units)
    return [*said, *([PICKED] if picked else []), *_range_words(found), *([unfit] if unfit else [])]


def _range_words(found: Found) -> list[str]:
    """Between what does the spread of the boxes as they are lie? Nothing to say of one race."""
    spread = unfairness_s(found.now, found.at)
    chance = chance_words(spread)
    if not chance:
        return []
    return [f"Spread as the layout is: {mean_and_ends(spread)} s; {chance}."]


def short_caption(found: Found) -> str:
    """Where the measures of the short table were taken."""
    return f"Spread, pair and draw at {place_words(found.at)}; the crowd all the way to the end."


def now_words(found: Found, units: str) -> str:
    """The present layout, setting by setting."""
    told = said({name: round(v, 2) for name, v in present(found.scenario).items()}, units)
    return f"{told[0].upper()}{told[1:]}. {_counted(len(found.seeds), 'race')}."


def unfit_words(found: Found, units: str) -> str:
    """Which layouts were not raced, and why. Empty where all were."""
    asked = found.sweep or found.searched
    if asked is None or not asked.unfit:
        return ""
    told = "; ".join(f"{said(values, units)}: {why}" for values, why in asked.unfit[:MOST_UNFIT])
    rest = len(asked.unfit) - MOST_UNFIT
    more = f"; and {rest} more" if rest > 0 else ""
    return f"Not raced, because they do not fit: {told}{more}."


def rule_words(found: Found, table: pandas.DataFrame, units: str) -> str:
    """Where the dispersion rule and the simulated field differ, and why. Empty without a narrowing."""
    here = table[(table.checkpoint == found.at) & table.crowd_rule_straight_m.notna()]
    if not len(here):
        return ""
    flow = figure(FLOW).value
    now = here.iloc[0]
    free, away = (
        length_text(float(metres), units)
        for metres in (now.crowd_rule_straight_m, now.crowd_straight_m)
    )
    parts = [
        "The dispersion rule expects no queue beyond L* = N v^2 / (C sigma sqrt(2 pi)), where C is the "
        f"published flow of runners, {flow:g} a second and metre, times the width. A queue here means "
        f"{QUEUE_S:g} s a runner or more below half of the speed they want. For the layout as it is, L* is "
        f"{free} and the narrowing lies {away} away."
    ]
    without, needless = parted(here, here.crowd_rule_straight_m)
    if not without + needless:
        return f"{parts[0]} The rule and the simulated field agree on all {len(here)} layouts."
    if without:
        parts.append(_queue_anyway(here, without, flow))
    if needless:
        parts.append(
            f"Queues that the rule expects but the field does not show: {needless} of {len(here)} layouts. "
            "The rule starts everybody from one place at one moment, and counts a peak that lasts an "
            "instant. On a line the ends have further to go, the rows behind start later, and a short peak "
            "slows nobody below half of the speed they want."
        )
    return " ".join(parts)


def parted(here: pandas.DataFrame, rule_m: pandas.Series) -> tuple[int, int]:
    """How many layouts queue although the rule expects none, and how many the other way round?"""
    expected = here.crowd_straight_m < rule_m
    seen = here.crowd_slow_s >= QUEUE_S
    return int((seen & ~expected).sum()), int((expected & ~seen).sum())


def _queue_anyway(here: pandas.DataFrame, without: int, flow: float) -> str:
    """Queues beyond L*: counted by hand, and the rule tried again with the flow that was reached."""
    queueing = here[here.crowd_slow_s >= QUEUE_S]
    odd = queueing[queueing.crowd_straight_m >= queueing.crowd_rule_straight_m]
    clumps = int((odd.crowd_hand_queue_s >= QUEUE_S).sum())
    reached = float(queueing.crowd_flow_per_s_m.max())
    again, _ = parted(here, here.crowd_rule_straight_m * flow / reached)
    return (
        f"Queues that the rule does not expect: {without} of {len(here)} layouts. The hand "
        "calculation, with everybody's own place and speed, has runners waiting in "
        f"{clumps} of them: the rule sees an even stream, but a field comes in clumps. The simulated fields "
        "that queued brought at most "
        f"{reached:.2f} a second and metre through in their busiest 10 s; with that flow in place of "
        f"{flow:g}, the rule would differ from the simulated field on {again} layouts."
    )


def front_words(tried: int) -> str:
    """What the layouts of a search's table have in common."""
    return (
        f"{tried} layouts were tried. No other beats these in spread, seconds held up and added ground "
        "together. The figures come from fresh races, with people the search never met."
    )


def _whole_words(found: Found, units: str) -> str:
    """What all changes of the search gain together."""
    searched = found.searched
    assert searched is not None
    whole = _closer(searched.whole)
    told = f"boxes {whole}" if searched.whole.is_seen and whole != NOTHING_SEEN else whole
    now = present(found.scenario)
    moved = {n: v for n, v in searched.best.items() if abs(v - now.get(n, np.inf)) > SAME}
    return f"All changes together ({said(moved, units)}): {told}."


def gain_words(found: Found, units: str) -> list[str]:
    """The cheapest change that gets most of the gain: "arc instead of straight line: 70 % of it"."""
    searched = found.searched
    assert searched is not None
    if not searched.whole.low > 0:
        return ["So no change can be said to be worth it."]
    parts = [_change_words(found, change, units) for change in searched.changes]
    if searched.cheapest is None:
        return [*parts, "No single change can be said to bring half of the gain."]
    alone = SETTINGS[searched.cheapest.name].said(searched.cheapest.value, units)
    return [*parts, f"The cheapest change that brings most of the gain: {alone}, and nothing else."]


def _change_words(found: Found, change: Change, units: str) -> str:
    now = present(found.scenario).get(change.name)
    setting = SETTINGS[change.name]
    before = "" if now is None else f" instead of {setting.value_text(now, units)}"
    share = f"{100 * change.share:.0f} % of the gain" if change.gain_s.is_seen else NOTHING_SEEN
    told = setting.said(change.value, units)
    return f"{told[0].upper()}{told[1:]}{before}: {share}."


def apart_words(apart: Estimate) -> str:
    """How far apart the worst two boxes lie, all pairs counted, or why that is not told."""
    if not np.isfinite(apart.low):
        return TOO_FEW
    if not apart.low > 0:
        return NO_PAIR
    return f"{tenths(apart.mean, '+')} ({tenths(apart.low)} to {tenths(apart.high)})"


def pair_words(pair: WorstPair, unit: str) -> str:
    """The two boxes furthest apart with by how much, or why no pair is named."""
    told, boxes = apart_words(pair.apart), f"box {pair.most} against {pair.least}"
    alone = pair.apart.by_chance
    if pair.is_named:
        more = chance_words(pair.apart, unit)
        return f"{boxes}: {told} {unit}" + (f"; {more}" if more else "")
    if pair.is_enough and alone.low > 0:
        return f"{told}: {boxes} would by {CHANCE_ALONE}, but {UNMEASURED} may undo that"
    return told


def about_words(found: Found) -> str:
    """How many races were run, of how many layouts."""
    invented = "Invented world. " if found.scenario.invented else ""
    layouts = len(found.every()) if found.sweep or found.searched else 1
    races = _counted(len(found.seeds), "race")
    return f"{invented}{_counted(layouts, 'layout')}, {races} each, compared at {place_words(found.at)}."
