"""Who is left out of the means of a study, and why? One line for its page, over all races of its store."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from simrun.measure.left_out import LeftOut, found_in, left_out_words
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome
from simrun.trials.store import Store


def left_out_of_race(outcome: Outcome, seed: int) -> LeftOut:
    """Who did not reach the last mark of one race, and who stood on the way?"""
    arrived = np.isfinite(outcome.crossing_s[:, -1])
    word = f"a runner of box {{who}} (seed {seed})"
    return found_in(arrived, outcome.stood_s, outcome.stood_m, outcome.box.tolist(), word)


def left_out_in(store: Path, plan: Plan | None = None) -> LeftOut:
    """The same over all races of a store, or over those of one plan. Raises BadRecording."""
    found = LeftOut(0, 0, (), 0)
    with Store(store) as kept:
        asked = None if plan is None else set(plan.seeds)
        for digest in plan.texts if plan else kept.arms():
            for seed, outcome in kept.outcomes(digest):
                if asked is None or seed in asked:
                    found += left_out_of_race(outcome, seed)
    return found


def left_out_line(store: Path, plan: Plan | None = None) -> str:
    """In words; empty where everybody came and nobody stood."""
    return left_out_words(left_out_in(store, plan))
