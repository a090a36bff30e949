"""Where may everybody finish, and which team wins? Many races to the finish line, with ranges."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.finish.against_results import against_results, against_text
from simrun.base.csv import write_csv
from simrun.base.errors import BadInput, Problem
from simrun.base.units import clock_text
from simrun.base.writing import ready_folder
from simrun.measure.finish import reaches_finish, start_mark
from simrun.measure.scoring import TeamScore, team_scores
from simrun.pages.text import LEFT_OUT, table_text, tenths
from simrun.runners.results import Results
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome
from simrun.trials.statistics import single_range

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]
SHOWN_TEAMS = 12
ARM = "as told"


def run_finish(
    scenario: Scenario,
    folder: str | Path,
    seeds: Sequence[int],
    results: Results | None = None,
    **how: Any,
) -> tuple[str, list[Path]]:
    """Run the scenario with every seed; gives the page and what was written.

    Writes finish_teams.csv, and finish_ours.csv where a team is ours, and finish_races.db, with which a
    study that was stopped goes on. results: last year's, to be held beside ours (finish_results.csv). how: as
    of `carry_out`. Raises BadInput where the scenario's last
    checkpoint is not the finish. Check: tests/journeys/test_finish.py.
    """
    _check_reaches_finish(scenario)
    where = ready_folder(folder)
    plan = Plan({ARM: scenario}, tuple(seeds), scenario.our_team or scenario.teams[0].name)
    store = carry_out(plan, where / "finish_races.db", **how)
    outcomes = list(outcomes_of(plan, ARM, store))
    teams = team_ranges(outcomes, [team.name for team in scenario.teams])
    written = [write_csv(teams, where / "finish_teams.csv")]
    parts = [f"{scenario.name}: {len(outcomes)} races", _team_text(teams, scenario.our_team)]
    if scenario.our_team:
        ours = our_ranges(outcomes, scenario)
        written.append(write_csv(ours, where / "finish_ours.csv"))
        parts.append(_our_text(ours, scenario.our_team))
    if results is not None:
        names = [mark.name for mark in scenario.strip.checkpoints]
        beside = against_results(outcomes, names, results)
        written.append(write_csv(beside, where / "finish_results.csv"))
        parts.append(against_text(beside, results, names))
    parts.append("Ranges: what eight of ten races brought. " + LEFT_OUT)
    return "\n\n".join(parts), [*written, store]


def _check_reaches_finish(scenario: Scenario) -> None:
    strip = scenario.strip
    if not reaches_finish(strip):
        last = strip.checkpoints[-1]
        found = f"the last is {last.name!r} at {last.station_m:.0f} m"
        allowed = f"one at the finish, {strip.length_m:.1f} m, and one before it"
        raise BadInput(Problem("course.checkpoints", found, allowed, "", scenario.file))


def scores_of(outcome: Outcome, names: Sequence[str]) -> dict[str, TeamScore]:
    """The team scores of one race by team; who did not finish does not count."""
    time_s = outcome.crossing_s[:, -1]
    order = [i for i in time_s.argsort(kind="stable") if time_s[i] == time_s[i]]
    return {s.team: s for s in team_scores([names[outcome.team_index[i]] for i in order])}


def team_ranges(outcomes: Sequence[Outcome], names: Sequence[str]) -> pandas.DataFrame:
    """Points, rank and share of wins of every team over the races, the best mean first.

    points_low, points_high, rank_low, rank_high: what eight of ten races brought (10th and 90th percentile).
    nan for a team that never had five at the finish.
    """
    import pandas as pd

    scored = [scores_of(outcome, names) for outcome in outcomes]
    rows = []
    for name in names:
        points = [found[name].points if name in found else np.nan for found in scored]
        rank = np.array([found[name].rank if name in found else np.nan for found in scored])
        rows.append(
            {
                "team": name,
                "races": int(np.isfinite(rank).sum()),
                "points_mean": np.nanmean(points) if np.isfinite(points).any() else np.nan,
                **dict(zip(("points_low", "points_high"), single_range(points), strict=True)),
                **dict(zip(("rank_low", "rank_high"), single_range(rank), strict=True)),
                "wins_share": float((rank == 1).mean()),
            }
        )
    return pd.DataFrame(rows).sort_values("points_mean", kind="stable", ignore_index=True)


def our_ranges(outcomes: Sequence[Outcome], scenario: Scenario) -> pandas.DataFrame:
    """Our runners in the order of their finish: place, time, and box and traffic lost by the start's end
    and by the finish, each as mean and as the range of eight races in ten."""
    import pandas as pd

    index = [team.name for team in scenario.teams].index(str(scenario.our_team))
    begin = start_mark(scenario.strip)
    rows = [_ours(outcome, index, begin) for outcome in outcomes]
    values = np.stack(rows)
    table: dict[str, Any] = {"our": np.arange(1, values.shape[1] + 1)}
    for column, name in enumerate(("place", "time_s", "start_lost_s", "lost_s")):
        seen = values[:, :, column]
        table[f"{name}_mean"] = [float(np.nanmean(each)) for each in seen.T]
        table[f"{name}_low"], table[f"{name}_high"] = np.array([single_range(e) for e in seen.T]).T
    return pd.DataFrame(table)


def _ours(outcome: Outcome, index: int, begin: int) -> Array:
    """Place, time, lost by the start's end and by the finish, of our runners as they came in: (R, 4)."""
    here = outcome.team_index == index
    lost = outcome.crossing_s - outcome.alone_s + outcome.shortest_s - outcome.best_s
    columns = [outcome.place[:, -1], outcome.crossing_s[:, -1], lost[:, begin], lost[:, -1]]
    ours = np.stack(columns, axis=1)[here]
    return np.asarray(ours[ours[:, 1].argsort(kind="stable")], dtype=np.float64)


def _team_text(teams: pandas.DataFrame, ours: str | None) -> str:
    rows = [["team", "points", "range", "rank", "wins"]]
    shown = teams[(teams.index < SHOWN_TEAMS) | (teams["team"] == ours)].dropna()
    for row in shown.to_dict("records"):
        rows.append(
            [
                row["team"],
                f"{row['points_mean']:.0f}",
                f"{row['points_low']:.0f} to {row['points_high']:.0f}",
                f"{row['rank_low']:.0f} to {row['rank_high']:.0f}",
                f"{100 * row['wins_share']:.0f} %",
            ]
        )
    return "Team scores at the finish\n" + table_text(rows)


def _our_text(ours: pandas.DataFrame, team: str) -> str:
    rows = [["our", "place", "time", "lost at the start", "lost at the finish"]]
    for row in ours.to_dict("records"):
        times = (clock_text(row["time_s_low"]), clock_text(row["time_s_high"]))
        rows.append(
            [
                f"{row['our']}.",
                f"{row['place_low']:.0f} to {row['place_high']:.0f}",
                f"{times[0]} to {times[1]}",
                f"{tenths(row['start_lost_s_low'])} to {tenths(row['start_lost_s_high'])}",
                f"{tenths(row['lost_s_low'])} to {tenths(row['lost_s_high'])}",
            ]
        )
    return f"{team}, in the order of finish\n" + table_text(rows)
