"""The finish as a coach reads it: who, which team, and what became of the time lost at the start."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from simrun.base.units import clock_text, more_text
from simrun.measure.finish import start_mark
from simrun.pages.numbers import tenths
from simrun.pages.text import table_text
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

SHOWN_RUNNERS, SHOWN_TEAMS = 10, 10

READING = (
    "Lost: to box and traffic, without the line, against the same runner alone from the best box. Made up: "
    "lost at the start less lost at the finish; a minus means more time lost on the way. Spent: how much "
    "further above the critical speed than the same runner goes alone; a minus was saved. {} How fast the "
    "reserve comes back and what a surge costs are assumed."
)
BY_PLAN = (
    "Pace follows the plan and not the place: nobody here runs harder for having been held up."
)
RACED = "Racing is part of what is lost or made up: runners chase, cover moves and kick for places."
SCORES = "Team scores (five score, two displace)"
NO_TEAM = "No team had five at the finish."


def finish_text(
    recording: Recording, tables: Mapping[str, pandas.DataFrame], units: str = "metric"
) -> str:
    """Places, times, team scores, and the time lost at the start carried to the finish line.

    tables: finish, teams and carried, as of `race_tables`.
    """
    ours = recording.scenario.our_team
    missing = missing_words(tables["finish"])
    runners = table_text(runner_rows(recording, tables["finish"]), left=3)
    parts = [
        "At the finish\n" + runners + (f"\n{missing}" if missing else ""),
        f"{SCORES}\n" + _scores(score_rows(tables["teams"], ours)),
        f"{thirds_words(recording)}\n{table_text(thirds_rows(tables['carried'], units))}",
        reading_of(recording),
    ]
    return "\n\n".join(parts)


def reading_of(recording: Recording) -> str:
    """How the tables at the finish are read, in a race by plan and in one for places."""
    return READING.format(RACED if recording.scenario.field.racing == "on" else BY_PLAN)


def thirds_words(recording: Recording) -> str:
    """Over the table of thirds."""
    return f"Time lost by {_start_mark(recording)}, carried to the finish: the field in thirds"


def missing_words(finish: pandas.DataFrame) -> str:
    """How many did not finish; nothing where all did."""
    missing = int(finish["time_s"].isna().sum())
    return f"{missing} did not finish within the time limit." if missing else ""


def _start_mark(recording: Recording) -> str:
    return recording.strip.checkpoints[start_mark(recording.strip)].name


def runner_rows(recording: Recording, finish: pandas.DataFrame) -> list[list[str]]:
    """The first ten and all of ours."""
    mark, ours = _start_mark(recording), recording.scenario.our_team
    rows = [
        ["place", "runner", "team", "time", f"at {mark}", "lost there s", "lost s", "made up s"]
    ]
    shown = finish[(finish.index < SHOWN_RUNNERS) | (finish["team"] == ours)]
    for row in shown.dropna(subset=["time_s", "start_lost_s"]).to_dict("records"):
        rows.append(
            [
                f"{row['place']}.",
                row["runner"],
                row["team"],
                clock_text(row["time_s"]),
                f"{row['start_place']}.",
                tenths(row["start_lost_s"], "+"),
                tenths(row["lost_s"], "+"),
                tenths(row["made_up_s"], "+"),
            ]
        )
    return rows


def score_rows(teams: pandas.DataFrame, ours: str | None) -> list[list[str]]:
    """The first ten teams and ours."""
    rows = [["rank", "team", "points", "places"]]
    for row in teams[(teams.index < SHOWN_TEAMS) | (teams["team"] == ours)].to_dict("records"):
        beside = f" ({row['displacers']})" if row["displacers"] else ""
        rows.append(
            [f"{row['rank']}.", row["team"], str(row["points"]), f"{row['scorers']}{beside}"]
        )
    return rows


def _scores(rows: list[list[str]]) -> str:
    return table_text(rows, left=2) if len(rows) > 1 else NO_TEAM


def thirds_rows(carried: pandas.DataFrame, units: str) -> list[list[str]]:
    """The field in thirds by how much time it had lost at the start."""
    rows = [
        [
            "lost at start",
            "runners",
            "lost there s",
            "lost at finish s",
            "made up s",
            "spent",
            "gained places",
        ]
    ]
    for row in carried.to_dict("records"):
        rows.append(
            [
                row["lost_at_start"],
                str(row["runners"]),
                *(tenths(row[name]) for name in ("start_lost_s", "lost_s")),
                tenths(row["made_up_s"], "+"),
                more_text(row["paid_m"], units),
                str(row["gained_places"]),
            ]
        )
    return rows
