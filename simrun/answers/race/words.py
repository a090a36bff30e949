"""One race as a coach reads it: who led where, what boxes and lines cost, our team runner by runner."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simrun.base.units import clock_text
from simrun.measure.loss import places
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.numbers import tenths
from simrun.pages.text import table_text
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

MOST_MARKS = 6
"""So many checkpoints fit beside each other; loss.csv has them all."""


def _spread_out(count: int, most: int) -> list[int]:
    """At most so many of the numbers from 0, the first and the last among them."""
    if count <= most:
        return list(range(count))
    return [round(k * (count - 1) / (most - 1)) for k in range(most)]


def race_page(recording: Recording, boxes: pandas.DataFrame, lines: pandas.DataFrame) -> str:
    """One race on one page: who led where, what boxes and lines cost, our team runner by runner."""
    marks = recording.strip.checkpoints
    titles = [mark.name for mark in marks]
    shown = titles[:1] + titles[-1:] if len(titles) > 1 else titles
    parts = [
        f"{recording.scenario.name}   seed {recording.seed}, {len(recording.roster)} runners",
        _leader_text(recording, titles),
    ]
    for title in shown:
        parts.append(f"Seconds lost at {title}, by box\n" + _loss_text(boxes, "box", title))
    parts.append(f"Seconds lost at {shown[-1]}, by line\n" + _loss_text(lines, "line", shown[-1]))
    if recording.scenario.our_team:
        parts.append(_team_text(recording, titles))
    parts.append(
        "lost = box + line + traffic, against the same runner alone from the best box on the "
        "shortest line; a minus is time won. " + LEFT_OUT
    )
    return "\n\n".join(parts)


def _leader_text(recording: Recording, titles: list[str]) -> str:
    rows = [["checkpoint", "first", "middle", "last", "not there"]]
    for c, title in enumerate(titles):
        times = recording.crossing_s[:, c]
        arrived = sorted(t for t in times if t == t)
        if arrived:
            picked = (arrived[0], arrived[len(arrived) // 2], arrived[-1])
            cells = [clock_text(t) for t in picked]
        else:
            cells = ["-", "-", "-"]
        rows.append([title, *cells, str(len(times) - len(arrived))])
    return table_text(rows)


def _loss_text(frame: pandas.DataFrame, by: str, title: str) -> str:
    rows = [[by, "runners", "lost", "10 to 90 %", "box", "line", "traffic", "places"]]
    for row in frame[frame["checkpoint"] == title].to_dict("records"):
        if not row["count"]:
            rows.append([str(row[by]), "0", *["-"] * 6])
            continue
        rows.append(
            [
                str(row[by]),
                str(row["count"]),
                tenths(row["lost_s_mean"]),
                f"{tenths(row['lost_s_p10'])} to {tenths(row['lost_s_p90'])}",
                tenths(row["box_s_mean"], "+"),
                tenths(row["line_s_mean"], "+"),
                tenths(row["traffic_s_mean"], "+"),
                f"{row['places_lost_mean']:.0f}",
            ]
        )
    return table_text(rows)


def _team_text(recording: Recording, titles: list[str]) -> str:
    roster, team = recording.roster, recording.scenario.our_team
    ours = [i for i in range(len(roster)) if roster.team[i] == team]
    place = places(recording.crossing_s)
    lost = recording.crossing_s - recording.best_s
    marks = _spread_out(len(titles), MOST_MARKS)
    rows = [["runner", "row", *(titles[c] for c in marks)]]
    for i in ours:
        cells = [
            f"{place[i, c]:.0f}. ({tenths(lost[i, c], '+')} s)"
            if place[i, c] == place[i, c]
            else "-"
            for c in marks
        ]
        rows.append([roster.name[i], str(roster.row[i]), *cells])
    head = f"{team}, box {roster.box[ours[0]]}: place and seconds lost at checkpoints"
    return head + "\n" + table_text(rows)
