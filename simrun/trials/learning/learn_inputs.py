"""What may the inputs be, after what was seen? Approximate Bayes on a table of simulated races.

Every race of the table met other inputs. Of what was seen, regressions learn what it says of every input
(the learnt statistics); the races whose statistics lie nearest to those of what was seen are kept, and moved
by a local regression to where they would lie had theirs been just that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem

Array = NDArray[np.float64]

KEPT_SHARE, FEWEST_KEPT = 0.5, 200
SEEN_SHARE = 0.05
"""An input of which the figures foretell less than this share of the variance is left as it was."""

DRAWS = 200
FOLDS = 5
PENALTIES = tuple(10.0**power for power in range(-1, 6))
EDGE = 1e-4
DRAWN_BY = 7


@dataclass(frozen=True)
class Learner:
    """Regressions of the inputs on figures, out of a table of R races.

    inputs (R, D): as normal scores of where they lie in their ranges. told (R, D): what the figures of a race
    say of them, by regressions that have not met that race: by those that have, the table would lie nearer to
    its truths than anything that is seen later, and of few races intervals would be too narrow. regression:
    of the whole table, for what is seen later.
    """

    inputs: Array
    told: Array
    regression: Any

    @cached_property
    def seen(self) -> Array:
        """Which share of the variance of every input do the figures foretell, out of sample? (D,)"""
        left = ((self.told - self.inputs) ** 2).mean(axis=0)
        return np.asarray(1.0 - left / np.maximum(self.inputs.var(axis=0), 1e-12))

    @cached_property
    def learnt(self) -> NDArray[np.bool_]:
        """Of which inputs do the figures say anything? (D,)"""
        return np.asarray(self.seen >= SEEN_SHARE)

    @cached_property
    def _spread(self) -> Array:
        """What turns the statistics into some of spread one that do not go together, (Q, Q)."""
        found = np.cov(self.told[:, self.learnt].T).reshape((int(self.learnt.sum()),) * 2)
        values, vectors = np.linalg.eigh(found)
        return np.asarray(vectors / np.sqrt(np.maximum(values, 1e-9 * values.max())))

    def statistics(self, figures: Array) -> Array:
        """What figures (R, F) say of the inputs that they say anything of, (R, Q)."""
        return np.asarray(self.regression.predict(_with_squares(figures)))[:, self.learnt]

    @cached_property
    def _table_statistics(self) -> Array:
        return np.asarray(self.told[:, self.learnt] @ self._spread)

    def posterior(self, figures: Array) -> Posterior:
        """The inputs after these figures (F,) were seen.

        Rejection with a local linear regression, Beaumont, Zhang and Balding 2002, Genetics 162:2025; memory.
        """
        races = len(self.inputs)
        if not self.learnt.any():
            nothing = np.zeros((races, 0))
            return self._after(np.arange(races), np.full(races, 1.0 / races), nothing)
        here = (self.statistics(figures[None]) @ self._spread)[0]
        away = np.sqrt(((self._table_statistics - here) ** 2).sum(axis=1))
        count = min(races, max(FEWEST_KEPT, round(KEPT_SHARE * races)))
        kept = np.sort(np.argsort(away, kind="stable")[:count])
        reach = away[kept].max() * (1 + 1e-9) + 1e-12
        weights = 1.0 - (away[kept] / reach) ** 2
        return self._after(kept, weights / weights.sum(), self._table_statistics[kept] - here)

    def _after(self, kept: NDArray[np.int64], weights: Array, off: Array) -> Posterior:
        plain = Posterior(self.inputs[kept], weights, kept, off)
        scores = self.inputs[kept].copy()
        scores[:, self.learnt] = plain.moved(self.inputs)[:, self.learnt]
        return Posterior(scores, weights, kept, off)


@dataclass(frozen=True)
class Posterior:
    """Races that were kept: their inputs (K, D, normal scores), those that were learnt moved; weights (K,),
    rows (K,) of the table, and how far off what was seen their statistics lie, (K, Q)."""

    scores: Array
    weights: Array
    rows: NDArray[np.int64]
    off: Array

    def moved(self, values: Array) -> Array:
        """What values (R, V) of the table's races would be, had their statistics been those of what was seen.

        Of the kept races, (K, V): the local line at what was seen, and what every race lies off it.
        """
        design = np.column_stack([np.ones(len(self.rows)), self.off])
        root = np.sqrt(self.weights)[:, None]
        here = values[self.rows]
        slopes = np.linalg.lstsq(root * design, root * here, rcond=None)[0]
        # What a fitted line leaves over is too little, by the slopes that were fitted.
        enough = 1.0 / float((self.weights**2).sum())
        wide = np.sqrt(enough / max(1.0, enough - design.shape[1]))
        return np.asarray(slopes[0] + wide * (here - design @ slopes))

    def draws(self, count: int = DRAWS, seed: int = DRAWN_BY) -> Array:
        """So many draws, equal in weight, (count, D): where in their ranges, 0 to 1."""
        rng = np.random.default_rng(seed)
        at = (rng.random() + np.arange(count)) / count
        which = np.searchsorted(np.cumsum(self.weights), at).clip(max=len(self.weights) - 1)
        return unit_of(self.scores[rng.permutation(which)])


def scores_of(unit: Array) -> Array:
    """Normal scores of where inputs lie in their ranges: no move of a score leads out of a range."""
    from scipy.special import ndtri

    return np.asarray(ndtri(np.clip(unit, EDGE, 1 - EDGE)))


def unit_of(scores: Array) -> Array:
    """Where in their ranges inputs of these normal scores lie."""
    from scipy.special import ndtr

    return np.asarray(ndtr(scores))


def learner_of(inputs: Array, figures: Array) -> Learner:
    """Learn what the figures of R races say of their inputs. inputs (R, D): 0 to 1; figures (R, F): no nan.

    The regressions are ridges on figures and their squares, every input with the penalty that leaves the
    least error out of sample. The posterior's mean is the statistic that loses least: Fearnhead and Prangle
    2012, J. R. Stat. Soc. B 74:419; memory. Raises BadInput where scikit-learn is missing.
    Check: tests/unit/trials/test_learn_inputs.py, tests/validation/test_learning.py (ranks and coverage).
    """
    linear, model, pipeline, processing = _library()
    regression = pipeline.make_pipeline(
        processing.StandardScaler(), linear.RidgeCV(PENALTIES, alpha_per_target=True)
    )
    scores, wide = scores_of(inputs), _with_squares(figures)
    folds = model.KFold(FOLDS)
    told = np.asarray(model.cross_val_predict(regression, wide, scores, cv=folds))
    return Learner(scores, told, regression.fit(wide, scores))


def _with_squares(figures: Array) -> Array:
    return np.hstack([figures, figures**2])


def check_library() -> None:
    """Is there a library to learn with? Raises BadInput before any race is run."""
    _library()


def _library() -> tuple[Any, Any, Any, Any]:
    try:
        from sklearn import linear_model, model_selection, pipeline, preprocessing
    except ImportError:
        allowed = "install the extra `learn`: pip install 'simrun[learn]'"
        raise BadInput(Problem("learn", "scikit-learn is missing", allowed)) from None
    return linear_model, model_selection, pipeline, preprocessing


def foretold_by(design: Array, answer: Array) -> tuple[float, Array]:
    """What do figures or inputs (R, F) foretell of an answer (R,), out of sample? The share of its variance,
    not below 0, and what is foretold, (R,)."""
    linear, model, pipeline, processing = _library()
    regression = pipeline.make_pipeline(processing.StandardScaler(), linear.RidgeCV(PENALTIES))
    told = model.cross_val_predict(regression, _with_squares(design), answer, cv=model.KFold(FOLDS))
    share = 1.0 - float(((told - answer) ** 2).mean()) / max(float(answer.var()), 1e-12)
    return max(0.0, share), np.asarray(told)


def explained(design: Array, answer: Array) -> float:
    """Which share of the variance of an answer (R,) do figures (R, F) foretell, out of sample?"""
    return foretold_by(design, answer)[0]


def stacked(figures: Sequence[Sequence[Array]]) -> Array:
    """Figures by race and sighting as one table, (R, F); a race without a figure gets the column's median."""
    table = np.array([np.concatenate(list(each)) for each in figures], dtype=float)
    middle = np.nanmedian(table, axis=0)
    return np.where(np.isfinite(table), table, np.nan_to_num(middle))
