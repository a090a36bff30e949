"""The tables as a coach reads them on a terminal: one block of text each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simrun.base.units import clock_text, length_text
from simrun.measure.wheel import GroundReport
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

LEFT_OUT = (
    "Left out: falls, elbows, mud that changes during the race, wind, ropes and spectators. "
    "One race is one story: another seed tells another."
)

CAUTION = (
    "Not a safety assessment. Falls, pushing and medical events are not simulated. Course approval, "
    "field limits, recall and medical cover are decided by the referee, the games committee, the "
    "governing body and licensed medical staff under the local rules. The models behind the figures "
    "were measured mostly on walking crowds and road starts."
)


MOST_MARKS = 6
"""So many checkpoints fit beside each other; loss.csv has them all."""


def _spread_out(count: int, most: int) -> list[int]:
    """At most so many of the numbers from 0, the first and the last among them."""
    if count <= most:
        return list(range(count))
    return [round(k * (count - 1) / (most - 1)) for k in range(most)]


def table_text(rows: list[list[str]], left: int = 1) -> str:
    """Rows as aligned columns, the first `left` to the left, the others to the right; row 0 is the head."""
    widths = [max(len(row[c]) for row in rows) for c in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            cell.ljust(width) if c < left else cell.rjust(width)
            for c, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    lines.insert(1, "-" * max(len(line) for line in lines))
    return "\n".join(lines)


def tenths(seconds: float, sign: str = "") -> str:
    """Seconds to one decimal, with a sign where asked for; nothing lost is 0.0, never -0.0."""
    return f"{round(seconds, 1) + 0.0:{sign}.1f}"


def ground_page(report: GroundReport, units: str, inspection: str = "") -> str:
    """The course on one page: lengths, distances, widths, and the extra metres of every box."""
    facts = [["measured line (0.30 m off the edges)", length_text(report.length_m, units)]]
    shortest = report.length_m
    for choice, metres in report.lines_m.items():
        facts.append(
            [f"  every turn {choice}", f"{length_text(metres, units)} ({metres - shortest:+.1f} m)"]
        )
    facts.append(["start line", length_text(report.start_width_m, units)])
    facts.append(["bow of the line", length_text(report.bow_m, units)])
    facts.append(
        ["front line per front-row runner", length_text(report.front_line_per_runner_m, units)]
    )
    for what, found in (
        ("first narrowing", report.first_narrowing),
        ("first turn", report.first_turn),
    ):
        where = f"{length_text(found[1], units)} ({found[0]})" if found else "none"
        facts.append([what, where])
    width, at = report.narrowest_m
    facts.append(["narrowest", f"{length_text(width, units)} wide at {length_text(at, units)}"])
    if report.tightest_turn:
        name, radius = report.tightest_turn
        facts.append(["tightest turn", f"{name}, inside radius {length_text(radius, units)}"])
    for name, at in report.checkpoints:
        facts.append([f"checkpoint {name}", length_text(at, units)])
    boxes = [["box", "team", f"extra m to {report.first_gate}", "extra m to the finish"]]
    for box in report.boxes:
        boxes.append(
            [str(box.box), box.team, f"{box.to_first_gate_m:.2f}", f"{box.to_finish_m:.2f}"]
        )
    facts_text = table_text([["course", ""], *facts], left=2)
    parts = [report.name, facts_text, table_text(boxes, left=2), inspection, CAUTION]
    return "\n\n".join(part for part in parts if part)


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
    from simrun.measure.loss import places

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
