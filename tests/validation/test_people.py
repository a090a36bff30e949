"""Are the people drawn those of the published distributions?

Against a published sample (194 boys or 186 girls, in about 27 teams of seven) the tolerance is two
standard errors of that sample. Against an input it is four standard errors of our own draws.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from simrun.runners.ability import VARSITY, draw_times_s, share_between_teams, varsity_law
from simrun.runners.body import draw_radius_m
from simrun.runners.streams import stream
from simrun.sources import figure

pytestmark = pytest.mark.oracle

TEAM = 7
TEAMS = 20_000
FIELDS = sorted(VARSITY.items())


def _times_s(kind: str) -> np.ndarray:
    """The times of many teams, (TEAMS, TEAM)."""
    index = np.repeat(np.arange(TEAMS), TEAM)
    return draw_times_s(kind, index, stream(2026, "people")).reshape(TEAMS, TEAM)


def _published(who: str, what: str) -> float:
    return figure(f"people.{who}_{what}").value


def _error_of_sd(sample: np.ndarray, count: float) -> float:
    """The standard error of a standard deviation found from `count` independent draws."""
    return float(sample.std() * math.sqrt((stats.kurtosis(sample, fisher=False) - 1) / (4 * count)))


@pytest.mark.parametrize(("kind", "who"), FIELDS)
def test_mean_of_the_5_km_times(kind: str, who: str) -> None:
    """The mean of many drawn fields is the published mean.

    The mean is an input, so only our own sampling error is allowed (team mates count as one).
    Source: computed from public results of 194 boys and 186 girls; computed.
    """
    of_teams = _times_s(kind).mean(axis=1)
    entry = figure(f"people.{who}_mean_s")
    error = 4.0 * of_teams.std() / math.sqrt(TEAMS)
    assert abs(of_teams.mean() - entry.value) < error, entry.against(of_teams.mean())


@pytest.mark.parametrize(("kind", "who"), FIELDS)
def test_spread_of_the_5_km_times(kind: str, who: str) -> None:
    """The standard deviation follows from the quantile law and agrees with the published one.

    Source: computed from public results of 194 boys and 186 girls; computed.
    """
    times_s = _times_s(kind).ravel()
    entry = figure(f"people.{who}_sd_s")
    error = _error_of_sd(times_s, _published(who, "runners"))
    assert abs(times_s.std() - entry.value) < 2.0 * error, entry.against(times_s.std())


@pytest.mark.parametrize(("kind", "who"), FIELDS)
def test_quantiles_of_the_5_km_times(kind: str, who: str) -> None:
    """Every percentile is winner x (0.9 + exp N(mu, sigma)), reckoned here from the law.

    Team mates are alike, so the effective number of independent runners is taken for the error.
    Source: computed from public results of 194 boys and 186 girls; computed.
    """
    times_s = _times_s(kind).ravel()
    mu, sigma = _published(who, "log_mean"), _published(who, "log_sd")
    winner_s = _published(who, "mean_s") / (0.9 + math.exp(mu + sigma**2 / 2))
    shares = np.linspace(0.01, 0.99, 99)
    wanted_s = winner_s * (0.9 + np.exp(mu + sigma * stats.norm.ppf(shares)))
    below = np.searchsorted(np.sort(times_s), wanted_s) / len(times_s)
    independent = len(times_s) / (1.0 + (TEAM - 1) * share_between_teams())
    error = np.sqrt(shares * (1.0 - shares) / independent)
    assert np.max(np.abs(below - shares) / error) < 4.5


@pytest.mark.parametrize(("kind", "who"), FIELDS)
def test_the_law_puts_the_winner_first(kind: str, who: str) -> None:
    """The fastest of a field of the published size runs near the winner's time of the law.

    time / winner's time must be 1 for the winner; the law was fitted, so it need not be exactly.
    Source: computed from public results of 194 boys and 186 girls; computed.
    """
    size = int(_published(who, "runners"))
    times_s = _times_s(kind).ravel()
    fields = times_s[: len(times_s) // size * size].reshape(-1, size)
    first = fields.min(axis=1) / varsity_law(who).winner_s
    assert abs(first.mean() - 1.0) < 2.0 * first.std()


def test_share_of_the_spread_that_lies_between_teams() -> None:
    """28^2 / (28^2 + 69^2) of the variance of a time lies between teams (analysis of variance).

    Source: computed from public results of boys' teams, sd 69 s within, 28 s between; computed.
    """
    parts = [_share(part) for part in np.split(_times_s("boys varsity 5 km"), 20)]
    error = np.std(parts, ddof=1) / math.sqrt(len(parts))
    assert abs(np.mean(parts) - 28.0**2 / (28.0**2 + 69.0**2)) < 4.0 * error


def _share(times_s: np.ndarray) -> float:
    within = times_s.var(axis=1, ddof=1).mean()
    between = times_s.mean(axis=1).var(ddof=1) - within / TEAM
    return float(between / (between + within))


def _medians_of_published_size(of_teams: np.ndarray) -> np.ndarray:
    """The median over every 27 teams, as many as the published runners make."""
    teams = int(_published("boys", "runners")) // TEAM
    return np.median(of_teams[: len(of_teams) // teams * teams].reshape(-1, teams), axis=1)


def test_spread_within_a_boys_team() -> None:
    """The standard deviation within a middling boys' team is the published one.

    Source: computed from public results of 194 boys; computed.
    """
    medians_s = _medians_of_published_size(_times_s("boys varsity 5 km").std(axis=1, ddof=1))
    entry = figure("people.within_team_sd_s")
    assert abs(medians_s.mean() - entry.value) < 2.0 * medians_s.std(), entry.against(
        medians_s.mean()
    )


def test_time_between_the_first_and_fifth_of_a_boys_team() -> None:
    """The median of first to fifth over teams of seven is the published 94 s.

    Source: computed from public results of 194 boys; computed.
    """
    ranked_s = np.sort(_times_s("boys varsity 5 km"), axis=1)
    medians_s = _medians_of_published_size(ranked_s[:, 4] - ranked_s[:, 0])
    entry = figure("people.first_to_fifth_s")
    assert abs(medians_s.mean() - entry.value) < 2.0 * medians_s.std(), entry.against(
        medians_s.mean()
    )


@pytest.mark.parametrize("body", ["men", "women"])
def test_shoulders(body: str) -> None:
    """Bodies have the published mean breadth, and the spread of the bones in proportion.

    Source: Heinz et al. 2003, J. Stat. Educ. 11(2), data set bdims; seen; deltoid breadth memory.
    """
    breadth_m = 2.0 * draw_radius_m(body, 40_000, stream(2026, "bodies"))
    mean_m = {"men": 0.475, "women": 0.422}[body]
    sd_m = mean_m * {"men": 2.1 / 41.2, "women": 1.8 / 36.5}[body]
    assert abs(breadth_m.mean() - mean_m) < 4.0 * sd_m / math.sqrt(40_000)
    drawn_sd_m = sd_m * stats.truncnorm.std(-3.0, 3.0)
    assert abs(breadth_m.std() - drawn_sd_m) < 4.0 * sd_m / math.sqrt(80_000)
