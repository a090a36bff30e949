"""One race as a coach reads it: what our team lost and to what, who led where, what boxes and lines cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from simrun.answers.race.finish_words import finish_text
from simrun.answers.race.raced_words import (
    LEFT_READING,
    OPENINGS,
    left_rows,
    left_words,
    opening_rows,
    raced_words,
)
from simrun.base.units import clock_text
from simrun.measure.loss import places
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.numbers import DASH, ends, tenths, the_mark, whole
from simrun.pages.page import Moment
from simrun.pages.text import table_text
from simrun.pictures.ink.view import View
from simrun.pictures.story.moments import followed
from simrun.pictures.story.telling import Telling
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

MOST_MARKS = 6
"""So many checkpoints fit beside each other; loss.csv has them all."""

BEFORE_S = 3.0
"""A link into the replay begins so long before its moment, to see it coming."""

READING = (
    "Lost = box + line + traffic, measured against the same runner alone from the best box on the shortest "
    "line. A minus means time gained. The 10 to 90 % range is what eight runners out of ten met. Places "
    "count against the place of one's own ability, so what one loses another gains. In one race a box's "
    "figures are also those of the team that stands there; what a box costs is for many races to say "
    "(simrun boxes)."
)

PICTURE_ALT = "Mean seconds lost by box, split into box, line and traffic"

PART_HEADS = {"front_adds": "of traffic, by the front s"}

PARTS = {
    "box_s": ("to the box", "gained from the box"),
    "line_s": ("to the line", "gained on the line"),
    "traffic_s": ("to traffic", "gained in the traffic"),
    "racing_s": ("to racing", "gained by racing"),
}


@dataclass(frozen=True)
class Told:
    """What there is to tell: the race, its tables, the reader's units."""

    recording: Recording
    tables: Mapping[str, pandas.DataFrame]
    units: str

    @property
    def marks(self) -> list[str]:
        """The checkpoints by name."""
        return [mark.name for mark in self.recording.strip.checkpoints]

    @property
    def last(self) -> str:
        """The mark at which the answer is given."""
        return self.marks[-1]

    @property
    def team(self) -> str | None:
        """Our team, if any."""
        return self.recording.scenario.our_team

    def some_marks(self, most: int) -> list[int]:
        """At most so many of the checkpoints, the first and the last among them."""
        return _spread_out(len(self.marks), most)

    @property
    def is_raced(self) -> bool:
        """Does everybody race for places, and is it known what that adds?"""
        return "openings" in self.tables

    @property
    def our_box(self) -> int | None:
        """In which box did our team stand?"""
        roster = self.recording.roster
        ours = roster.box[roster.team == self.team] if self.team else []
        return int(ours[0]) if len(ours) else None


def sentence_of(told: Told) -> str:
    """What our team lost by the last mark, and to what; without a team of ours, how the boxes differ."""
    loss = told.tables["loss"]
    rows = loss[(loss["team"] == told.team) & (loss["checkpoint"] == told.last)]
    if not len(rows):
        return _boxes_sentence(told)
    there = rows.dropna(subset=["lost_s"])
    missing = len(rows) - len(there)
    if not len(there):
        return f"Nobody from {told.team} reached {told.last} within the time limit."
    mean = float(there["lost_s"].mean())
    lost = f"{'lost' if mean >= 0 else 'gained'} {tenths(abs(mean))} s on average"
    told_of = [name for name in PARTS if name != "racing_s" or there[name].any()]
    parts = ", ".join(_part(float(there[name].mean()), name) for name in told_of)
    out = f" ({missing} of {len(rows)} did not get there in time)" if missing else ""
    return f"{told.team} {lost} by {the_mark(told.last)} from box {told.our_box}: {parts}{out}."


def _part(seconds: float, name: str) -> str:
    """One part of a loss: "1.5 s to the line"."""
    lost, gained = PARTS[name]
    return f"{tenths(abs(seconds))} s {lost if round(seconds, 1) >= 0 else gained}"


def _boxes_sentence(told: Told) -> str:
    rows = told.tables["boxes"]
    rows = rows[(rows["checkpoint"] == told.last) & (rows["count"] > 0)]
    if not len(rows):
        return f"Nobody reached {told.last} within the time limit."
    order = rows.sort_values("lost_s_mean").to_dict("records")
    least, most = (f"{tenths(row['lost_s_mean'])} s on average" for row in (order[0], order[-1]))
    if len(order) == 1:
        return f"Box {order[0]['box']} lost {least} by {the_mark(told.last)}."
    first, last = (row["box"] for row in (order[0], order[-1]))
    few = f"In this race box {first} lost the least by {the_mark(told.last)}, {least}"
    return f"{few}, and box {last} the most, {most}."


def about_of(told: Told) -> str:
    """Which race this is."""
    recording = told.recording
    invented = "Invented world. " if recording.scenario.invented else ""
    return f"{invented}Seed {recording.seed}, {len(recording.roster)} runners, one race."


def title_of(told: Told) -> str:
    """What the chart shows."""
    return f"{told.recording.scenario.name}: at {told.last}, seed {told.recording.seed}"


def text_of(told: Told) -> str:
    """The sentence, and one race on one page."""
    name, marks = told.recording.scenario.name, told.marks
    shown = marks[:1] + marks[-1:] if len(marks) > 1 else marks
    parts = [
        sentence_of(told),
        f"{name}\n{about_of(told)}",
        table_text(leader_rows(told)),
    ]
    for mark in shown:
        parts.append(f"{by_words('box', mark)}\n{table_text(loss_rows(told, 'box', mark))}")
    parts.append(f"{by_words('line', told.last)}\n{table_text(loss_rows(told, 'line', told.last))}")
    if told.our_box is not None:
        parts.append(f"{team_words(told)}\n{table_text(team_rows(told))}")
    parts += raced_parts(told)
    parts.append(f"{reading_of(told)} {LEFT_OUT}")
    if "finish" in told.tables:
        parts.append(finish_text(told.recording, told.tables, told.units))
    return "\n\n".join(parts)


def raced_parts(told: Told) -> list[str]:
    """Of a race for places: what is said of it, the openings of ours, and what they have left."""
    if not told.is_raced:
        return []
    recording, opened = told.recording, told.tables["openings"]
    parts = ["\n".join(raced_words(recording, told.tables, told.last, told.units))]
    parts.append(f"{OPENINGS}\n{table_text(opening_rows(recording, opened, told.units))}")
    if told.our_box is not None:
        rows = table_text(left_rows(recording, told.some_marks(MOST_MARKS), told.units))
        parts.append(f"{left_words(str(told.team))}\n{rows}\n{LEFT_READING}")
    return parts


def reading_of(told: Told) -> str:
    """How the figures are read, with the fourth part where there is one."""
    if not told.is_raced:
        return READING
    return READING.replace("box + line + traffic,", "box + line + traffic + racing,")


def by_words(by: str, mark: str) -> str:
    """Over the table of boxes or lines."""
    return f"Seconds lost at {mark}, by {by}"


def leader_rows(told: Told) -> list[list[str]]:
    """When the first, the middle and the last were at every checkpoint."""
    rows = [["checkpoint", "first", "middle", "last", "did not get there"]]
    for c, title in enumerate(told.marks):
        times = told.recording.crossing_s[:, c]
        arrived = np.sort(times[~np.isnan(times)])
        cells = [DASH] * 3
        if len(arrived):
            cells = [
                clock_text(float(t)) for t in (arrived[0], arrived[len(arrived) // 2], arrived[-1])
            ]
        rows.append([title, *cells, str(len(times) - len(arrived))])
    return rows


def loss_rows(told: Told, by: str, mark: str) -> list[list[str]]:
    """A row a box or line at a mark."""
    table = told.tables[{"box": "boxes", "line": "lines"}[by]]
    parts = ["box", "line", "traffic", *(["racing", "front_adds"] if told.is_raced else [])]
    heads = [PART_HEADS.get(part, f"{part} s") for part in parts]
    rows = [[by, "runners", "lost s", "10 to 90 %", *heads, "places"]]
    for row in table[table["checkpoint"] == mark].to_dict("records"):
        if not row["count"]:
            rows.append([str(row[by]), "0", *[DASH] * (3 + len(parts))])
            continue
        rows.append(
            [
                str(row[by]),
                str(row["count"]),
                tenths(row["lost_s_mean"]),
                ends(row["lost_s_p10"], row["lost_s_p90"]),
                *(tenths(row[f"{part}_s_mean"], "+") for part in parts),
                whole(row["places_lost_mean"]),
            ]
        )
    return rows


def team_words(told: Told) -> str:
    """Over the table of our runners."""
    return f"{told.team}, box {told.our_box}: place at each checkpoint, and (seconds lost)"


def team_rows(told: Told, most: int = MOST_MARKS) -> list[list[str]]:
    """Our team runner by runner at some checkpoints, the first and the last among them."""
    recording, roster = told.recording, told.recording.roster
    place, lost = places(recording.crossing_s), recording.crossing_s - recording.best_s
    marks = told.some_marks(most)
    rows = [["runner", "row", *(told.marks[c] for c in marks)]]
    for i in np.flatnonzero(roster.team == told.team):
        cells = [_place_words(place[i, c], lost[i, c]) for c in marks]
        rows.append([roster.name[i], str(roster.row[i]), *cells])
    return rows


def _place_words(place: float, lost_s: float) -> str:
    return DASH if np.isnan(place) else f"{place:.0f}. ({tenths(lost_s, '+')})"


def _spread_out(count: int, most: int) -> list[int]:
    """At most so many of the numbers from 0, the first and the last among them."""
    if count <= most:
        return list(range(count))
    return [round(k * (count - 1) / (most - 1)) for k in range(most)]


def moments_of(told: Told, follow: str | None) -> tuple[Moment, ...]:
    """Links into the replay: the gun, the first throat and turn, where most was lost, the last mark.

    At each when the middle runner of those followed is there, or of the field.
    """
    recording = told.recording
    view = View(to_s=float(recording.times_s[-1]), units=told.units)
    beats = Telling(recording, view, follow).beats
    found = {beat.name: beat.t_s for beat in beats if beat.decides and not beat.is_the_end}
    who = followed(recording, follow).who
    times = np.sort(recording.crossing_s[who if who.any() else slice(None), -1])
    middle = float(times[(len(times) - 1) // 2])
    if not np.isnan(middle):
        found[told.last] = middle
    late = [Moment("replay.html", max(0.0, t - BEFORE_S), name) for name, t in found.items()]
    return (Moment("replay.html", 0.0, "the gun"), *sorted(late, key=lambda one: one.second_s))


def not_drawn(name: str, why: str) -> str:
    """Said where the race is there and a picture or a page of it is not."""
    again = "" if name == "race.html" else ": simrun replay recording.npz draws it again"
    return f"{name} was not drawn: {why}. The race is kept{again}."
