"""One race for places in words: what the pull towards the front adds, openings, and what ours have left."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from simrun.base.units import clock_text, length_text
from simrun.measure.finish import reaches_finish
from simrun.pages.numbers import DASH, ends, tenths, the_mark
from simrun.pages.racing_words import racing_words
from simrun.state.recording import Recording
from simrun.trials.as_raced import beside_entries

if TYPE_CHECKING:
    import pandas

OPENINGS = (
    "Openings in seconds at their mark: told, alone with the pull of the front, and in this race"
)

LONG_M = 2500.0
"""A shorter race is not held beside seed times over 5 km."""
LEFT_READING = (
    "Left: metres that could still be run above the critical speed at each checkpoint, and in brackets the "
    "same runner's alone with the same plan. Less than alone was paid for racing or for traffic; a runner "
    "who comes to nothing fades."
)


def raced_words(
    recording: Recording, tables: Mapping[str, pandas.DataFrame], mark: str, units: str
) -> list[str]:
    """Everything that is said in sentences of a race for places; nothing where nobody races."""
    if recording.scenario.field.racing == "off":
        return []
    opened = tables["openings"]
    said = [
        racing_words(recording.scenario),
        _told_words(recording, opened, units),
        _cannot_words(opened),
    ]
    said += [_front_words(recording, tables["loss"], mark), entries_words(recording)]
    return [one for one in said if one]


def _of_ours(recording: Recording, table: pandas.DataFrame) -> pandas.DataFrame:
    """The rows of our team; everybody's without one."""
    team = recording.scenario.our_team
    return table[table["team"] == team] if team else table


def _told_words(recording: Recording, opened: pandas.DataFrame, units: str) -> str:
    """The told seconds at the mark, of our team or of the field."""
    rows = _of_ours(recording, opened).dropna(subset=["told_s"])
    if not len(rows):
        return ""
    who = recording.scenario.our_team or "The field"
    marks = sorted(set(rows["mark_m"]))
    at = " and ".join(length_text(mark, units) for mark in marks[:3])
    told = ends(float(rows["told_s"].min()), float(rows["told_s"].max()))
    seen = rows.dropna(subset=["field_s"])
    ran = ends(float(seen["field_s"].min()), float(seen["field_s"].max())) if len(seen) else DASH
    return f"{who} was told {told} s from the gun to {at}, and took {ran} s in this race."


def _cannot_words(opened: pandas.DataFrame) -> str:
    """Whose body cannot open as told, and by how much; that everybody's can."""
    lost = opened[opened["cannot"]]
    if not len(lost):
        return "Everybody's body can open as told."
    names = [f"{row.runner} ({row.missed_s:+.1f} s)" for row in lost.head(5).itertuples()]
    more = f" and {len(lost) - 5} more" if len(lost) > 5 else ""
    return f"Cannot open as told, even alone: {', '.join(names)}{more}."


def _front_words(recording: Recording, loss: pandas.DataFrame, mark: str) -> str:
    """What of the traffic comes of the pull towards the front, in the mean at the last mark."""
    rows = _of_ours(recording, loss)
    found = float(rows.loc[rows["checkpoint"] == mark, "front_adds_s"].mean())
    if np.isnan(found):
        return ""
    team = recording.scenario.our_team
    whose = f"the traffic of {team}" if team else "everybody's traffic"
    change = (
        f"adds {tenths(found)} s to" if round(found, 1) >= 0 else f"takes {tenths(-found)} s off"
    )
    return (
        f"The front draws runners out, so that they arrive together: on average that {change} {whose} by "
        f"{the_mark(mark)}. It is not bad luck."
    )


def entries_words(recording: Recording) -> str:
    """Winning time and median beside the entry list, where a long race was run to its finish."""
    long = recording.strip.length_m >= LONG_M and reaches_finish(recording.strip)
    if not long or not np.isfinite(recording.crossing_s[:, -1]).any():
        return ""
    found = beside_entries(recording)
    ran = f"{clock_text(found.winner_s)} and {clock_text(found.median_s)}"
    entered = f"{clock_text(found.entered_winner_s)} and {clock_text(found.entered_median_s)}"
    warned = f" Check the seed times: {found.warning}." if found.warning else ""
    return (
        f"Winner and middle runner, scaled to 5 km by the length: {ran}; by the seed times "
        f"{entered}.{warned}"
    )


def opening_rows(recording: Recording, opened: pandas.DataFrame, units: str) -> list[list[str]]:
    """A row a runner of ours (of the first ten without a team of ours): the mark and three times to it."""
    rows = [["runner", "mark", "told s", "alone s", "in this race s", "cannot, by s"]]
    shown = _of_ours(recording, opened)
    for row in shown.head(12).to_dict("records"):
        cells = [tenths(row[name]) for name in ("told_s", "alone_s", "field_s")]
        missed = tenths(row["missed_s"], "+") if row["cannot"] else DASH
        rows.append([row["runner"], length_text(row["mark_m"], units), *cells, missed])
    return rows


def left_rows(recording: Recording, marks: list[int], units: str) -> list[list[str]]:
    """Our runners: metres left at these checkpoints, and alone in brackets."""
    names = [mark.name for mark in recording.strip.checkpoints]
    rows = [["runner", *(names[c] for c in marks)]]
    for i in np.flatnonzero(recording.roster.team == recording.scenario.our_team):
        cells = [
            _left(recording.reserve_m[i, c], recording.alone_reserve_m[i, c], units) for c in marks
        ]
        rows.append([recording.roster.name[i], *cells])
    return rows


def left_words(team: str) -> str:
    """Over the table of what ours have left."""
    return f"{team}: metres left at each checkpoint (alone)"


def _left(raced_m: float, alone_m: float, units: str) -> str:
    if np.isnan(raced_m):
        return DASH
    return f"{length_text(raced_m, units)} ({length_text(alone_m, units)})"
