"""What does the team carry to the line? Order, opening, line, places, where to move: one page's words."""

from __future__ import annotations

import numpy as np

from simrun.answers.tactic.orders import told
from simrun.answers.tactic.run import PRESENT, Found
from simrun.base.units import METRES_A_YARD, length_text, pace_text
from simrun.pages.text import tenths
from simrun.pictures.charts.team_sheet import TeamCard
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import single_range

CLOSED_SHARE, OPEN_SHARE = 0.5, 0.25
"""Against the most crowded section: from half of it a section counts as closed, below a quarter as open."""

LEAST_TRAFFIC_S = 0.1
"""Below so many seconds a 100 m nothing is closed anywhere."""

NOT_IN_IT = (
    "Left out: falls, elbows, mud that changes, wind, ropes, spectators. Names and times of the others "
    "change from race to race, and boxes where they are drawn; ranges are what eight races in ten gave."
)


def team_card(found: Found) -> TeamCard:
    """The plan's page, its places and ranges from the fresh races."""
    day = told(found.day, found.team, found.order)
    box = next(team.box for team in day.teams if team.name == found.team)
    invented = "Invented world. " if day.invented else ""
    return TeamCard(
        title=f"{found.team}: {day.name}",
        box=f"{invented}{_box_words(box)}",
        head=("runner", "stands", "go out", "then", *_marks(day), "finish"),
        runners=tuple(_runner_rows(found, day)),
        lines=tuple(_line_words(found, day)),
        moves=tuple(move_words(found, day)),
        outcome=tuple(_outcome_words(found)),
        left_out=NOT_IN_IT,
    )


def _box_words(box: int | None) -> str:
    return f"Box {box}, counted from the left facing the course." if box else "Box to be drawn."


def _marks(day: Scenario) -> list[str]:
    return [f"at {mark.name}" for mark in day.strip.checkpoints]


def _runner_rows(found: Found, day: Scenario) -> list[tuple[str, ...]]:
    """Front row first, from left to right."""
    roster = day.roster(found.fresh_seeds[0])
    plan = found.fresh["the plan"]
    ours = np.flatnonzero(roster.team == found.team)
    rows = []
    for i in sorted(range(len(ours)), key=lambda i: (roster.row[ours[i]], roster.file[ours[i]])):
        who = ours[i]
        cruise, opening = float(roster.cruise_m_s[who]), float(roster.opening[who])
        bands = [_band(plan.place[:, i, c]) for c in range(plan.place.shape[2])]
        rows.append(
            (
                roster.name[who],
                f"row {roster.row[who]}, {_nth(int(roster.file[who]))}",
                _pace_words(cruise, opening, day.units),
                pace_text(cruise, day.units),
                *bands,
                _band(plan.finish_place[:, i]),
            )
        )
    return rows


def _pace_words(cruise_m_s: float, opening: float, units: str) -> str:
    pace = pace_text(cruise_m_s * (1 + opening), units)
    return f"{pace} ({opening_words(opening)})"


def opening_words(opening: float) -> str:
    """How hard to go out, in words: "+12 %", or race pace."""
    return f"+{100 * opening:.0f}\N{NO-BREAK SPACE}%" if opening else "race pace"


def _nth(file: int) -> str:
    endings = {1: "2nd", 2: "3rd"}
    return "leftmost" if file == 0 else f"{endings.get(file, f'{file + 1}th')} from left"


def _band(places: np.ndarray) -> str:
    """Between which places did eight races in ten bring this runner? "12 to 31"."""
    low, high = single_range(places)
    if np.isnan(low):
        return "-"
    first, last = round(low), round(high)
    return f"{first}" if first == last else f"{first} to {last}"


def _line_words(found: Found, day: Scenario) -> list[str]:
    roster = day.roster(found.fresh_seeds[0])
    who = int(np.flatnonzero(roster.team == found.team)[0])
    full, settle = float(roster.opening_m[who]), float(roster.settle_m[who])
    said = [
        f"Go out like that for {length_text(full, day.units)}, "
        f"then settle over {length_text(settle, day.units)}."
    ]
    said += [f"{turn}: {word}." for turn, word in found.order.lines.items()]
    return said


def move_words(found: Found, day: Scenario) -> list[str]:
    """Section by section: where the others hold us up, where it is open, which landmark is near."""
    plan = found.fresh["the plan"]
    traffic = np.nanmean(plan.traffic_s, axis=(0, 1))
    place = np.nanmean(plan.place, axis=(0, 1))
    ends = np.array([mark.station_m for mark in day.strip.checkpoints])
    starts = np.concatenate([[0.0], ends[:-1]])
    unit, metres = ("yd", 100 * METRES_A_YARD) if day.units == "us" else ("m", 100.0)
    rate = metres * np.diff(traffic, prepend=0.0) / np.maximum(ends - starts, 1.0)
    names = ["the gun", *(mark.name for mark in day.strip.checkpoints)]
    said = []
    for c in range(len(ends)):
        near = _landmarks(day, float(starts[c]), float(ends[c]))
        gained = "" if c == 0 else _gained(place[c - 1] - place[c])
        said.append(
            f"{names[c]} to {names[c + 1]}{near}: {_kind(rate, c)} "
            f"({tenths(float(rate[c]), '+')} s a 100 {unit} from the others{gained})."
        )
    return said


def _kind(rate: np.ndarray, section: int) -> str:
    """What to do in a section, by what the others cost there against the most crowded one."""
    here, most = float(rate[section]), float(rate.max())
    if section == 0:
        return "go out as told"
    if most < LEAST_TRAFFIC_S or here < OPEN_SHARE * most:
        return "open, move here"
    return "closed, hold your place" if here >= CLOSED_SHARE * most else "pass where a gap opens"


def _gained(places: float) -> str:
    whole = round(places)
    count = "1 place" if abs(whole) == 1 else f"{abs(whole)} places"
    return f", {count} {'won' if whole > 0 else 'lost'}" if whole else ""


def _landmarks(day: Scenario, first_m: float, last_m: float) -> str:
    near = [mark.name for mark in day.strip.landmarks if first_m < mark.station_m <= last_m]
    return f" ({', '.join(near)})" if near else ""


def _outcome_words(found: Found) -> list[str]:
    plan, paper = found.fresh["the plan"], found.fresh[PRESENT]
    said = []
    for words, arm in (("With this plan", plan), ("As it stood on paper", paper)):
        low, high = single_range(arm.scorers_lost_s)
        points = _band(arm.points)
        scored = f", {points} team points carried to the finish" if points != "-" else ""
        said.append(
            f"{words}: our first five lose {tenths(low)} to {tenths(high)} s at {_last(found)}{scored}."
        )
    return said


def _last(found: Found) -> str:
    return found.day.strip.checkpoints[-1].name
