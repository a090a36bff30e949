"""Learning held against itself: invented truths are learnt back, ranks even, intervals as wide as they say.

Truths are races at inputs that the table has not met, seen with errors of who looks. What was learnt of each
is held against its truth. Everything over 60 truths, out of a table of as many races as the command runs,
which may be stopped and taken up again; what it prints is kept in tests/validation/learning, with its origin:
python tests/validation/test_learning.py 60 dual_meet
With a third word truths are drawn by that seed instead, and nothing is kept: 300 dual_meet 1234
With a fourth tables of up to so many races are held against each other, kept too: 300 dual_meet 1234 1000
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray
from scipy import stats

from simrun.cli.progress import progress_of
from simrun.scenario.changes.changes_inputs import with_inputs
from simrun.scenario.reader import read
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.learning import TABLE_RACES
from simrun.trials.learning.agreement import (
    TOO_RARE,
    learners_without,
    with_any,
    with_others,
    with_posterior,
)
from simrun.trials.learning.learn_inputs import Learner, learner_of
from simrun.trials.learning.lesson import figures_in
from simrun.trials.learning.seen_races import ARM, Table, Watched, run_table, watched_day
from simrun.trials.plan import Plan
from tests.helpers.seen_lists import everything_seen

TOP = Path(__file__).parents[2]
KEPT = Path(__file__).parent / "learning"

LEVELS = (50, 80, 95)
BINS = 6
SIZES = (200, 300, 400, 500, 700, 1000)
TRUTHS_BY, FIRST_SEED, OTHER_SEED = 17, 100_001, 300_001
CHANCE = 0.01
"""The whole of a table's checks may fail by chance so often."""

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Back:
    """What was learnt back of T truths. share (T, D): of the draws that lie below the truth; learnt (D,).

    width (T, D): of the 80 % interval. score (T, D): the continuous ranked probability score of the draws,
    Gneiting and Raftery 2007, J. Am. Stat. Assoc. 102:359, memory; as a share of the range, 0 best, 1/6 in
    the mean where nothing was learnt: who widens intervals to hold more, or narrows them, has a worse one.
    """

    keys: tuple[str, ...]
    learnt: NDArray[np.bool_]
    share: Array
    width: Array
    score: Array
    any_share: Array
    others_share: Array
    fit_share: Array

    def covered(self, level: int) -> NDArray[np.bool_]:
        """Does the middle interval of this level hold the truth? (T, D)"""
        return np.asarray(np.abs(self.share - 0.5) <= level / 200)

    @cached_property
    def table(self) -> pd.DataFrame:
        """A row an input: the p value of even ranks, how many truths every interval holds, its width."""
        counts = [np.histogram(column, BINS, (0, 1))[0] for column in self.share.T]
        rows = {
            "input": list(self.keys),
            "learnt": self.learnt,
            "truths": len(self.share),
            "ranks_p": [float(stats.chisquare(each).pvalue) for each in counts],
            **{f"held_{level}": self.covered(level).sum(axis=0) for level in LEVELS},
            "width_80": self.width.mean(axis=0),
            "score": self.score.mean(axis=0),
        }
        return pd.DataFrame(rows)


def truths_of(watched: Watched, count: int, store: Path, drawn_by: int = TRUTHS_BY) -> Table:
    """So many races at inputs drawn by themselves, each with people of its own.

    Not the next points of the table's sequence: those fill its gaps and lie more evenly than chance has it,
    so that neither the chi-square of ranks nor the binomial of intervals would hold.
    """
    free = watched.day.inputs.free
    low, high = np.array(list(free.values())).T
    unit = np.random.default_rng(drawn_by).random((count, len(free)))
    first = FIRST_SEED if drawn_by == TRUTHS_BY else OTHER_SEED
    races = []
    for number, values in enumerate(low + unit * (high - low)):
        day = with_inputs(watched.day, dict(zip(free, map(float, values), strict=True)))
        plan = Plan({ARM: day}, (first + number,), at_marks=True)
        races += list(outcomes_of(plan, ARM, carry_out(plan, store, workers=1)))
    return Table(watched, tuple(races), tuple(free), unit)


def learnt_back(
    table: Table, truths: Table, splits_only: bool = False, against_others: bool = True
) -> Back:
    """Learn from the races of a table, and learn the inputs of the truths back.

    against_others: hold every source against the others as well.
    """
    sources = everything_seen(table.watched)[: 1 if splits_only else None]
    known = figures_in(table, table.races, sources)
    seen = figures_in(table, truths.races, sources, len(table.races))
    learner = learner_of(table.inputs, np.hstack(known))
    without = learners_without(table.inputs, known) if against_others else []
    share, width, score = _shares(learner, np.hstack(seen), truths.inputs)
    held, against, fit = [], [], []
    for truth in range(len(truths.races)):
        here = [each[truth] for each in seen]
        held.append([with_any(i, known[i], here[i]).share for i in range(len(here))])
        against.append([one.share for one in with_others(without, known, here)])
        posterior = learner.posterior(np.concatenate(here))
        fit.append([one.share for one in with_posterior(posterior, known, here)])
    checks = (np.array(held), np.array(against), np.array(fit))
    return Back(table.keys, learner.learnt, share, width, score, *checks)


def _shares(learner: Learner, seen: Array, truths: Array) -> tuple[Array, Array, Array]:
    share, width, score = [], [], []
    for figures, truth in zip(seen, truths, strict=True):
        draws = learner.posterior(figures).draws()
        below, equal = (draws < truth).mean(axis=0), (draws == truth).mean(axis=0)
        share.append(below + equal / 2)
        width.append(np.subtract(*np.quantile(draws, (0.9, 0.1), axis=0)))
        score.append(scored(draws, truth))
    return np.array(share), np.array(width), np.array(score)


def scored(draws: Array, truth: Array) -> Array:
    """How well do draws (M, D) foretell a truth (D,)? Mean distance to it less half of that among them."""
    rank = 2 * np.arange(1, len(draws) + 1) - len(draws) - 1
    among = (rank[:, None] * np.sort(draws, axis=0)).sum(axis=0) / len(draws) ** 2
    return np.asarray(np.abs(draws - truth).mean(axis=0) - among)


def by_size(table: Table, truths: Table) -> pd.DataFrame:
    """A row a size of the table, splits alone and everything: what intervals hold, their width, the score.

    Of the inputs that the whole table learns anything of.
    """
    rows = []
    for only in (True, False):
        learnt = None
        for races in sorted({n for n in SIZES if n <= len(table.races)}, reverse=True):
            some = replace(table, races=table.races[:races], inputs=table.inputs[:races])
            back = learnt_back(some, truths, only, against_others=False)
            learnt = back.learnt if learnt is None else learnt
            row = {"fed": "splits" if only else "everything", "races": races}
            row |= {"inputs": int(learnt.sum()), "learnt": int((learnt & back.learnt).sum())}
            row |= {f"held_{n}": back.covered(n)[:, learnt].mean() for n in LEVELS}
            means = {"width_80": back.width, "score": back.score}
            rows.append(row | {key: each[:, learnt].mean() for key, each in means.items()})
    return pd.DataFrame(rows)


def complaints(found: pd.DataFrame) -> list[str]:
    """Which inputs that were learnt have uneven ranks, or intervals that hold too few truths or too many?

    Every check at CHANCE over the number of checks: ranks by chi-square, counts by the binomial.
    """
    learnt = found[found.learnt]
    checks = len(learnt) * (1 + len(LEVELS))
    odd = [f"{row.input}: ranks" for row in learnt.itertuples() if row.ranks_p < CHANCE / checks]
    for level in LEVELS:
        low, high = stats.binom.interval(1 - CHANCE / checks, found.truths.iloc[0], level / 100)
        held = learnt[f"held_{level}"]
        odd += [
            f"{key}: {n} at {level} %"
            for key, n in zip(learnt.input, held, strict=True)
            if not low <= n <= high
        ]
    return odd


def pooled(found: pd.DataFrame) -> dict[int, float]:
    """Which share of all truths of all inputs that were learnt do the intervals hold?"""
    learnt = found[found.learnt]
    return {
        level: float(learnt[f"held_{level}"].mean() / learnt.truths.iloc[0]) for level in LEVELS
    }


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Table:
    """260 races of the dual meet."""
    watched = watched_day(read(TOP / "scenarios/dual_meet.toml"), 1000.0)
    return run_table(watched, 260, tmp_path_factory.mktemp("learning") / "races.db", workers=1)


@pytest.mark.slow
def test_truths_are_learnt_back(small: Table, tmp_path: Path) -> None:
    """A slice: 40 truths out of 260 races. No input is off, and 80 % intervals hold 80 % within three errors.

    our own requirement
    """
    back = learnt_back(small, truths_of(small.watched, 40, tmp_path / "truths.db"))
    assert back.learnt.sum() >= 4
    assert complaints(back.table) == []
    held = back.covered(80)[:, back.learnt].mean(axis=1)
    assert abs(held.mean() - 0.8) <= 3 * held.std(ddof=1) / np.sqrt(len(held))


@pytest.mark.slow
def test_figures_of_other_races_teach_nothing(small: Table) -> None:
    """Placebo: what was seen in one race held against the inputs of another: nothing is learnt.

    computed
    """
    figures = np.hstack(figures_in(small, small.races, everything_seen(small.watched)))
    mixed = np.random.default_rng(1).permutation(figures)
    assert not learner_of(small.inputs, mixed).learnt.any()


@pytest.mark.parametrize("name", ["dual_meet", "brindle_fen"])
def test_the_kept_table_is_even(name: str) -> None:
    """60 truths: of every input that was learnt ranks are even, and intervals hold what they say.

    our own requirement
    """
    found = pd.read_csv(KEPT / f"{name}.csv")
    assert found.truths.min() >= 60
    assert found.learnt.sum() >= 4
    assert complaints(found) == []


def test_intervals_that_are_too_narrow_are_found() -> None:
    """Planted: draws two thirds as wide as they should be.

    computed
    """
    rng = np.random.default_rng(2)
    truth = rng.standard_normal((60, 8))
    draws = rng.standard_normal((400, 60, 8)) * 0.95
    even = (draws + 0.3 * rng.standard_normal((60, 8)) < truth).mean(axis=0)
    narrow = (draws * 0.6 < truth).mean(axis=0)
    for share, is_odd in ((even, False), (narrow, True)):
        nothing = np.zeros((60, 8))
        keys = tuple(f"input {i}" for i in range(8))
        back = Back(keys, np.ones(8, dtype=bool), share, *[nothing] * 5)
        assert bool(complaints(back.table)) is is_odd


def test_a_score_knows_better_draws() -> None:
    """Nothing learnt scores 1/6 in the mean, the truth itself 0; too narrow or too wide is worse than right.

    closed form: the mean of |u - v| over even u and v is 1/3, half of it is 1/6
    """
    rng = np.random.default_rng(3)
    truths = rng.random(4000)
    even = np.linspace(0, 1, 401)[:, None]
    assert np.mean([scored(even, each) for each in truths]) == pytest.approx(1 / 6, abs=0.003)
    assert scored(np.full((9, 1), 0.3), np.array([0.3])) == pytest.approx(0.0, abs=1e-15)
    errors = 0.1 * rng.standard_normal((4000, 1))
    spread = np.asarray(stats.norm.ppf((np.arange(200) + 0.5) / 200))[:, None]
    right, narrow, wide = (
        np.mean([scored(share * spread, each) for each in errors]) for share in (0.1, 0.04, 0.2)
    )
    assert right < min(narrow, wide)


def main(words: Sequence[str]) -> None:
    """Run what is missing, print the table and keep it."""
    truths, name = int(words[0]), words[1] if len(words) > 1 else "dual_meet"
    drawn_by = int(words[2]) if len(words) > 2 else TRUTHS_BY
    races = int(words[3]) if len(words) > 3 else TABLE_RACES
    watched = watched_day(read(TOP / f"scenarios/{name}.toml"), 1000.0)
    folder = TOP / "outputs" / "learning"
    with progress_of(name, quiet=False) as told:
        store = folder / f"{name}.db"
        table = run_table(watched, races, store, workers=1, progress=told)
    true = truths_of(watched, truths, folder / f"{name}_truths_{drawn_by}.db", drawn_by)
    if len(words) > 3:
        sizes = by_size(table, true)
        print(sizes.to_string(index=False, float_format=lambda value: f"{value:.3f}"))
        sizes.to_csv(KEPT / f"{name}_sizes.csv", index=False, float_format="%.4f")
        return
    for only in (True, False):
        back = learnt_back(table, true, only, drawn_by == TRUTHS_BY)
        found = back.table
        shown = found[found.learnt].sort_values("width_80")
        fed = "splits alone" if only else "everything seen"
        print(f"\n{name}, {fed}: {truths} truths, {races} races")
        print(shown.to_string(index=False, float_format=lambda value: f"{value:.2f}"))
        print("held of all:", {level: round(share, 3) for level, share in pooled(found).items()})
        shares = {"any": back.any_share, "others": back.others_share, "learnt": back.fit_share}
        rare = {key: (each < TOO_RARE).sum(axis=0).tolist() for key, each in shares.items()}
        print("truths called odd, source by source, against:", rare)
        print("off:", complaints(found) or "none")
    if drawn_by == TRUTHS_BY:
        found.to_csv(KEPT / f"{name}.csv", index=False, float_format="%.4f")


if __name__ == "__main__":
    main(sys.argv[1:])
