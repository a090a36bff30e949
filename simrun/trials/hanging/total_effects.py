"""Which share of an answer's variance does every group of inputs make? Out of the races, no fit between."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.trials.hanging.radial_design import BASE, NUDGED, OTHER
from simrun.trials.statistics import CONFIDENCE

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Effect:
    """A group's share of the variance by inputs: alone (first order), and with the others (total).

    low, high: of the total, 95 % over the rows. nan, and endless, where nothing but chance varies. Shares
    are not held within 0 and 1: chance puts them outside.
    """

    name: str
    alone: float
    total: float
    low: float
    high: float

    @property
    def is_seen(self) -> bool:
        """Is it more than chance that the answer moves with this group?"""
        return self.low > 0


def effects_of(rows: Sequence[Mapping[str, float]]) -> list[Effect]:
    """The effects of every group, the largest total first. A mapping a row: the answer by point.

    With A, B, A' and A_i (A nudged, and with group i as in B) of one row by the same seed:
    N = mean (A - A')^2 / 2, V = mean (A - B)^2 / 2 - N, total T_i = (mean (A - A_i)^2 / 2 - N) / V, alone
    S_i = 1 - (mean (B - A_i)^2 / 2 - N) / V. People and chance are the same within a row, so they are in none
    of the differences, but for what a crowd makes of any small change: that is N. Without it a group that
    does nothing gets half of the variance where such chance is as large as the inputs. Rows in which an
    answer is missing are left out. The interval: T +- t(R - 1) times its jackknife error.
    Source: Jansen 1999, Comput. Phys. Commun. 117:35; Saltelli and others 2010, 181:259; memory. The nudge is
    our own. Check: tests/unit/trials/test_hanging.py (against sums that are known).
    """
    if not rows:
        return []
    names = [name for name in rows[0] if name not in (BASE, OTHER, NUDGED)]
    columns = (BASE, OTHER, NUDGED, *names)
    table = np.array([[row[name] for name in columns] for row in rows], dtype=float)
    table = table[~np.isnan(table).any(axis=1)]
    if len(table) < 2:
        return [Effect(name, np.nan, np.nan, -np.inf, np.inf) for name in names]
    alone, total = _shares(table)
    low, high = _interval(table, total)
    found = [
        Effect(name, *(float(x[i]) for x in (alone, total, low, high)))
        for i, name in enumerate(names)
    ]
    return sorted(found, key=lambda effect: -effect.total)


def _shares(table: Array) -> tuple[Array, Array]:
    """First order and total of every group, (D,) each, out of (R, D + 3)."""
    base, other, nudged, mixed = table[:, :1], table[:, 1:2], table[:, 2:3], table[:, 3:]
    noise = ((base - nudged) ** 2).mean()
    whole = ((base - other) ** 2).mean() - noise
    if not whole > 0:
        return np.full(mixed.shape[1], np.nan), np.full(mixed.shape[1], np.nan)
    total = (((base - mixed) ** 2).mean(axis=0) - noise) / whole
    alone = 1.0 - (((other - mixed) ** 2).mean(axis=0) - noise) / whole
    return alone, total


def _interval(table: Array, total: Array) -> tuple[Array, Array]:
    """Between what does the total lie, every row left out once?"""
    from scipy import stats

    count = len(table)
    without = np.array([_shares(np.delete(table, i, axis=0))[1] for i in range(count)])
    error = np.sqrt((count - 1) / count * ((without - without.mean(axis=0)) ** 2).sum(axis=0))
    reach = stats.t.ppf((1 + CONFIDENCE) / 2, count - 1) * error
    # Where chance swallows the inputs, with one row or another left out, nothing is claimed.
    known = np.isfinite(reach + total)
    return np.where(known, total - reach, -np.inf), np.where(known, total + reach, np.inf)
