"""How fast is everybody over 5 km?

Each field is a law for the time of any one runner, reached through a normal draw: the part that a
whole team shares, and the runner's own part. Fast and slow so share every box.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.sources import figure

Array = NDArray[np.float64]

VARSITY = {"boys varsity 5 km": "boys", "girls varsity 5 km": "girls"}
KINDS = (*VARSITY, "even", "normal")

LARGEST_DEVIATION = 4.0
"""The draws of a "normal" field stop here: one in thirty thousand must not run a world record."""


@dataclass(frozen=True)
class VarsityLaw:
    """A field whose time is winner_s (fastest_share + exp N(log_mean, log_sd)).

    `winner_s` is derived from the mean. Source: computed from public results, figures
    `people.boys_*`, `people.girls_*`. Check: tests/validation/test_people.py.
    """

    winner_s: float
    fastest_share: float
    log_mean: float
    log_sd: float

    @property
    def mean_s(self) -> float:
        """The mean of the law: winner_s (fastest_share + exp(mu + sigma^2 / 2))."""
        return self.winner_s * (self.fastest_share + math.exp(self.log_mean + self.log_sd**2 / 2))

    @property
    def sd_s(self) -> float:
        """The standard deviation of the law."""
        scale = self.winner_s * math.exp(self.log_mean + self.log_sd**2 / 2)
        return scale * math.sqrt(math.expm1(self.log_sd**2))

    def time_s(self, deviation: Array) -> Array:
        """The time that belongs to a standard normal draw, same shape; a larger draw is slower."""
        ratio = self.fastest_share + np.exp(self.log_mean + self.log_sd * deviation)
        return self.winner_s * ratio


def varsity_law(who: str) -> VarsityLaw:
    """The law of "boys" or "girls": the published quantiles, scaled to the mean time."""
    log_mean = figure(f"people.{who}_log_mean").value
    log_sd = figure(f"people.{who}_log_sd").value
    one = VarsityLaw(1.0, figure("people.fastest_share").value, log_mean, log_sd)
    return replace(one, winner_s=figure(f"people.{who}_mean_s").value / one.mean_s)


def share_between_teams() -> float:
    """Which share of a time's variance lies between teams? 28^2 / (28^2 + 69^2) = 0.14."""
    between = figure("people.between_teams_sd_s").value
    within = figure("people.within_team_sd_s").value
    return between**2 / (between**2 + within**2)


def draw_times_s(
    kind: str,
    team_index: NDArray[np.int64],
    rng: np.random.Generator,
    mean_s: float = math.nan,
    sd_s: float = math.nan,
) -> Array:
    """Everybody's 5 km time in seconds, (N,).

    kind: one of `KINDS`. team_index (N,): whose runner each is, from 0. mean_s is needed by "even"
    and "normal", sd_s by "normal" (between teams the same share as in the varsity fields, assumed).
    Teams added at the end change nobody before them. Raises BadInput naming the nearest kind.
    """
    if kind not in KINDS:
        raise BadInput(_unknown(kind))
    if kind in VARSITY:
        law = varsity_law(VARSITY[kind])
        return law.time_s(_deviations(team_index, rng, _share_of_logs(law.log_sd)))
    _check_normal(mean_s, 0.0 if kind == "even" else sd_s)
    deviation = _deviations(team_index, rng, share_between_teams())
    if kind == "even":
        return np.full(len(team_index), float(mean_s))
    return mean_s + sd_s * np.clip(deviation, -LARGEST_DEVIATION, LARGEST_DEVIATION)


def _share_of_logs(log_sd: float) -> float:
    """The share of the logarithm's variance that gives the wanted share of the time's variance."""
    return math.log1p(share_between_teams() * math.expm1(log_sd**2)) / log_sd**2


def _deviations(team_index: NDArray[np.int64], rng: np.random.Generator, share: float) -> Array:
    """Standard normal draws (N,), of which `share` of the variance is common to a team."""
    of_teams, of_runners = rng.spawn(2)
    teams = int(np.max(team_index, initial=-1)) + 1
    level = of_teams.standard_normal(teams)[team_index]
    own = of_runners.standard_normal(len(team_index))
    return math.sqrt(share) * level + math.sqrt(1.0 - share) * own


def _check_normal(mean_s: float, sd_s: float) -> None:
    problems = []
    if not (math.isfinite(mean_s) and mean_s > 0.0):
        problems.append(Problem("time", f"{mean_s:g} s", "a 5 km time above 0 s"))
    elif not 0.0 <= sd_s <= mean_s / 5.0:
        problems.append(
            Problem("spread", f"{sd_s:g} s", f"0 to {mean_s / 5.0:g} s, a fifth of time")
        )
    if problems:
        raise BadInput(problems)


def _unknown(kind: str) -> Problem:
    allowed = "one of " + ", ".join(repr(known) for known in KINDS)
    return Problem("ability", repr(kind), allowed, nearest_word(kind, KINDS))
