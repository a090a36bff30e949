"""Which single pair of races tells what a study found? The middle one of the better and the worse arm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.writing import ready_folder
from simrun.engine.run import run_race
from simrun.scenario.scenario import Scenario
from simrun.state.recording_file import save
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome
from simrun.trials.store import Store

Array = NDArray[np.float64]

Score = Callable[[Outcome], float]
"""One race in one figure, nan where there is none."""


def median_pair(plan: Plan, store: str | Path, better: str, worse: str, score: Score) -> int:
    """Which seed shows two arms as they usually are, by a figure of every race kept in a store?

    As `middle_seed`. Raises BadInput for an arm that the plan lacks and where no seed has a figure in both.
    """
    for name in (better, worse):
        if name not in plan.arms:
            near = nearest_word(name, plan.arms)
            raise BadInput(Problem("arm", f"no {name!r} in this study", "an arm of the plan", near))
    one, other = (_scores(plan, store, name, score) for name in (better, worse))
    pairs = [[arm.get(seed, np.nan) for seed in plan.seeds] for arm in (one, other)]
    return middle_seed(plan.seeds, *pairs)


def middle_seed(seeds: Sequence[int], better: ArrayLike, worse: ArrayLike) -> int:
    """Which seed shows two arms as they usually are? One figure a seed in each, nan where there is none.

    The one that lies nearest the middle of the better arm, of the worse one and of their differences at
    once: of the three ranks the one farthest from the median counts (shares of the seeds from 0 to 0.5);
    of equals the lowest seed. The same seed in both, so the same people. Raises BadInput where no seed
    has both figures. Check: tests/unit/trials/test_usual_pair.py.
    """
    one, other = np.asarray(better, dtype=float), np.asarray(worse, dtype=float)
    known = np.isfinite(other - one)
    if not known.any():
        found = "no seed with a figure in both arms"
        raise BadInput(Problem("story", found, "run the study first, or with more seeds"))
    first, second = one[known], other[known]
    off = np.max([_off_middle(values) for values in (first, second, second - first)], axis=0)
    return int(np.asarray(seeds)[known][off <= off.min() + 1e-12].min())


def record_pair(
    arms: tuple[Scenario, Scenario],
    seed: int,
    folder: str | Path,
    progress: Callable[[float], None] | None = None,
) -> list[Path]:
    """Run the better and the worse arm with one seed and keep better.npz and worse.npz for a replay.

    A study keeps no frames, so the two races are run again: the same bits. Raises CannotWrite.
    """
    folder = ready_folder(folder)
    written = []
    for number, (arm, file) in enumerate(zip(arms, ("better.npz", "worse.npz"), strict=True)):
        written.append(save(run_race(arm, seed), folder / file))
        if progress:
            progress((number + 1) / 2)
    return written


def _scores(plan: Plan, store: str | Path, name: str, score: Score) -> dict[int, float]:
    with Store(store) as kept:
        return {seed: score(race) for seed, race in kept.outcomes(plan.digests[name])}


def _off_middle(values: Array) -> Array:
    """How far from the median is each by rank? Shares of the count, (S,); equals share their rank."""
    below = (values[None, :] < values[:, None]).sum(axis=1)
    equal = (values[None, :] == values[:, None]).sum(axis=1)
    return np.abs((below + equal / 2) / len(values) - 0.5)
