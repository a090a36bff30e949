"""Which single pair of races tells what a study found? The middle one of the better and the worse arm."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from simrun.errors import BadInput, Problem, nearest_word
from simrun.race.run import run_race
from simrun.state.files import save
from simrun.study.plan import Plan
from simrun.study.races import Outcome
from simrun.study.store import Store
from simrun.writing import ready_folder

Array = NDArray[np.float64]

Score = Callable[[Outcome], float]
"""One race in one figure, nan where there is none."""


def median_pair(plan: Plan, store: str | Path, better: str, worse: str, score: Score) -> int:
    """Which seed shows two arms as they usually are? The same seed in both: the same people.

    The one that lies nearest the middle of the better arm, of the worse one and of their differences at
    once: of the three ranks the one farthest from the median counts (shares of the seeds from 0 to 0.5);
    of equals the lowest seed. Raises BadInput for an arm that the plan lacks and where no seed has a
    figure in both. Check: tests/unit/test_study_story.py.
    """
    for name in (better, worse):
        if name not in plan.arms:
            near = nearest_word(name, plan.arms)
            raise BadInput(Problem("arm", f"no {name!r} in this study", "an arm of the plan", near))
    one, other = (_scores(plan, store, name, score) for name in (better, worse))
    seeds = np.array(
        [s for s in plan.seeds if np.isfinite(one.get(s, np.nan) - other.get(s, np.nan))]
    )
    if not len(seeds):
        found = f"no race of {better!r} and {worse!r} with one seed and a figure"
        raise BadInput(Problem("store", found, "run the study first"))
    first, second = (np.array([arm[seed] for seed in seeds]) for arm in (one, other))
    off = np.max([_off_middle(values) for values in (first, second, second - first)], axis=0)
    return int(seeds[off <= off.min() + 1e-12].min())


def record_pair(
    plan: Plan,
    seed: int,
    arms: tuple[str, str],
    folder: str | Path,
    progress: Callable[[float], None] | None = None,
) -> tuple[Path, Path]:
    """Run two arms with one seed and keep the recordings, better.npz and worse.npz, for a replay.

    A study keeps no frames, so the two races are run again: the same bits. Raises CannotWrite.
    """
    folder = ready_folder(folder)
    written = []
    for number, (name, file) in enumerate(zip(arms, ("better.npz", "worse.npz"), strict=True)):
        written.append(save(run_race(plan.arms[name], seed), folder / file))
        if progress:
            progress((number + 1) / 2)
    return written[0], written[1]


def _scores(plan: Plan, store: str | Path, name: str, score: Score) -> dict[int, float]:
    with Store(store) as kept:
        return {seed: score(race) for seed, race in kept.outcomes(plan.digests[name])}


def _off_middle(values: Array) -> Array:
    """How far from the median is each by rank? Shares of the count, (S,); equals share their rank."""
    below = (values[None, :] < values[:, None]).sum(axis=1)
    equal = (values[None, :] == values[:, None]).sum(axis=1)
    return np.abs((below + equal / 2) / len(values) - 0.5)
