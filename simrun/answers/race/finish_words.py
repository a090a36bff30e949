"""The finish as a coach reads it on a terminal: who, which team, and what became of the start."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simrun.base.units import clock_text
from simrun.measure.finish import start_mark
from simrun.pages.text import table_text, tenths
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

SHOWN_RUNNERS, SHOWN_TEAMS = 10, 10

READING = (
    "Lost: box and traffic, without the line, against the same runner alone from the best box. Made up: lost "
    "at the start less lost at the finish; a minus is more time lost on the way. Spent: metres above the "
    "critical speed that went beyond what the same runner spends alone; a minus was saved. Pace follows "
    "the plan and not the place: nobody here runs harder for having been held up. How fast the reserve comes "
    "back and what a surge costs are assumed."
)


def finish_page(
    recording: Recording,
    finish: pandas.DataFrame,
    teams: pandas.DataFrame,
    carried: pandas.DataFrame,
) -> str:
    """Places, times, team scores, and the time lost at the start carried to the finish line."""
    mark = recording.strip.checkpoints[start_mark(recording.strip)].name
    ours = recording.scenario.our_team
    parts = [
        "At the finish\n" + _runner_text(finish, ours, mark),
        "Team scores (five score, two displace)\n" + _score_text(teams, ours),
        f"Time lost by {mark}, carried to the finish: the field in thirds\n"
        + _thirds_text(carried),
        READING,
    ]
    return "\n\n".join(parts)


def _runner_text(finish: pandas.DataFrame, ours: str | None, mark: str) -> str:
    rows = [["place", "runner", "team", "time", f"at {mark}", "lost there", "lost", "made up"]]
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
    missing = int(finish["time_s"].isna().sum())
    return table_text(rows, left=3) + (f"\n{missing} not there in time" if missing else "")


def _score_text(teams: pandas.DataFrame, ours: str | None) -> str:
    rows = [["rank", "team", "points", "places"]]
    for row in teams[(teams.index < SHOWN_TEAMS) | (teams["team"] == ours)].to_dict("records"):
        beside = f" ({row['displacers']})" if row["displacers"] else ""
        rows.append(
            [f"{row['rank']}.", row["team"], str(row["points"]), f"{row['scorers']}{beside}"]
        )
    return table_text(rows, left=2) if len(rows) > 1 else "no team with five at the finish"


def _thirds_text(carried: pandas.DataFrame) -> str:
    head = [
        "lost at start",
        "runners",
        "lost there",
        "lost at finish",
        "made up",
        "spent m",
        "gained places",
    ]
    rows = [head]
    for row in carried.to_dict("records"):
        rows.append(
            [
                row["lost_at_start"],
                str(row["runners"]),
                *(tenths(row[name]) for name in ("start_lost_s", "lost_s")),
                *(tenths(row[name], "+") for name in ("made_up_s", "paid_m")),
                str(row["gained_places"]),
            ]
        )
    return table_text(rows)
