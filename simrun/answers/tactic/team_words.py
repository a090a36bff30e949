"""What does the team carry to the line? Order, opening, line, places, where to move: one page's words."""

from __future__ import annotations

import numpy as np

from simrun.answers.tactic.order_words import (
    AS_YOU_LIKE,
    free_words,
    line_parts,
    split_ends,
    split_text,
    stage_words,
    the_mark_of,
)
from simrun.answers.tactic.runner_orders import RunnerOrder
from simrun.answers.tactic.search.tactic_score import Scored
from simrun.answers.tactic.tactic_found import Found
from simrun.base.units import METRES_A_YARD, clock_text, pace_text
from simrun.pages.cautions import NOT_IN_IT
from simrun.pages.numbers import DASH, tenths
from simrun.pictures.charts.team_sheet import TeamCard
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import single_range

CLOSED_SHARE, OPEN_SHARE = 0.5, 0.25
"""Against the most crowded section: from half of it a section counts as closed, below a quarter as open."""

LEAST_TRAFFIC_S = 0.1
"""Below so many seconds a 100 m nothing is closed anywhere."""


def team_card(found: Found, orders: tuple[RunnerOrder, ...], units: str) -> TeamCard:
    """The plan's page, its places and ranges from the fresh races."""
    day = found.plan_day
    return TeamCard(
        title=f"{found.team}: {day.name}",
        box=box_words(found),
        head=(
            "runner",
            "stands",
            f"at {the_mark_of(found.marks[found.stake])}",
            "then",
            *_marks(found),
        ),
        runners=tuple(_runner_rows(found, orders, units)),
        lines=tuple(_line_words(found, orders)),
        moves=tuple(move_words(found, day, units)),
        outcome=tuple(_outcome_words(found)),
        left_out=not_in_it_words(day),
    )


def not_in_it_words(day: Scenario) -> str:
    """What is not in it, and what changes from race to race: with an entry list, not who runs."""
    changing = (
        "How hard the others go out and which lines they take change"
        if day.field.seed_times
        else "The other teams' names and times change"
    )
    drawn = ", and so do boxes that are drawn" if any(t.box is None for t in day.teams) else ""
    ranges = "The ranges are what eight races out of ten gave."
    return f"{NOT_IN_IT} {changing} from race to race{drawn}. {ranges}"


def box_words(found: Found) -> str:
    """Where the team stands."""
    box = next(team.box for team in found.day.teams if team.name == found.team)
    invented = "Invented world. " if found.day.invented else ""
    return f"{invented}{_box_words(box)}"


def _box_words(box: int | None) -> str:
    return (
        f"Box {box}, counted from the left facing the course."
        if box
        else "The box is yet to be drawn."
    )


def _marks(found: Found) -> list[str]:
    return [f"at {the_mark_of(found.marks[c])}" for c in _place_marks(found)]


def _place_marks(found: Found) -> list[int]:
    """Where places are told: every mark but the stake, which has its seconds."""
    last = len(found.marks) - 1
    return [c for c in range(last + 1) if c != found.stake or c in (found.gate, last)]


def _runner_rows(
    found: Found, orders: tuple[RunnerOrder, ...], units: str
) -> list[tuple[str, ...]]:
    """Front row first, from left to right."""
    roster, rows = found.plan_day.roster(found.fresh_seeds[0]), []
    for one in orders:
        i = found.names.index(one.runner)
        cruise = float(roster.cruise_m_s[np.flatnonzero(roster.team == found.team)[i]])
        rows.append(
            (
                one.runner,
                f"row {one.row}, {_nth(one.file)}",
                _seconds_words(one),
                pace_text(cruise, units),
                *(_band(found.plan.place[:, i, c]) for c in _place_marks(found)),
            )
        )
    return rows


def _seconds_words(one: RunnerOrder) -> str:
    """ "33 s", or as you like with what was tried."""
    if one.told_s != one.told_s:
        return DASH
    if one.as_you_like:
        return f"{AS_YOU_LIKE}, {split_ends(one.low_s, one.high_s)}"
    return split_text(one.told_s) + (", flat out" if one.flat_out else "")


def _nth(file: int) -> str:
    endings = {1: "2nd", 2: "3rd"}
    return "leftmost" if file == 0 else f"{endings.get(file, f'{file + 1}th')} from left"


def _band(places: np.ndarray) -> str:
    """Between which places did eight races in ten bring this runner? "12 to 31"."""
    low, high = single_range(places)
    if np.isnan(low):
        return DASH
    first, last = round(low), round(high)
    return f"{first}" if first == last else f"{first} to {last}"


def _line_words(found: Found, orders: tuple[RunnerOrder, ...]) -> list[str]:
    """Lines at the turns, and where to sit and go."""
    one = orders[0]
    said = [*line_parts(one.lines, one.as_good), stage_words(one)]
    told = [f"{part[0].upper()}{part[1:]}." for part in said if part]
    return [*told, *filter(None, [free_words(one.as_good)])]


def move_words(found: Found, day: Scenario, units: str) -> list[str]:
    """Section by section: where the others hold us up, where it is open, which landmark is near."""
    place = np.nanmean(found.plan.place, axis=(0, 1))
    ends = np.array([mark.station_m for mark in day.strip.checkpoints])
    starts = np.concatenate([[0.0], ends[:-1]])
    unit, metres = ("yd", 100 * METRES_A_YARD) if units == "us" else ("m", 100.0)
    traffic = np.nanmean(found.plan.traffic_s, axis=(0, 1))
    rate = metres * np.diff(traffic, prepend=0.0) / np.maximum(ends - starts, 1.0)
    names = ["Gun", *(mark.name for mark in day.strip.checkpoints)]
    said = []
    for c in range(len(ends)):
        near = _landmarks(day, float(starts[c]), float(ends[c]))
        gained = "" if c == 0 else _gained(place[c - 1] - place[c])
        cost = f"traffic {tenths(float(rate[c]), '+')} s per 100 {unit}"
        told = "go out as told" if c <= found.stake else _kind(rate, c)
        said.append(f"{names[c]} to {names[c + 1]}{near}: {told}; {cost}{gained}.")
    return said


def _kind(rate: np.ndarray, section: int) -> str:
    """What to do in a section, by what the others cost there against the most crowded one."""
    here, most = float(rate[section]), float(rate.max())
    if most < LEAST_TRAFFIC_S or here < OPEN_SHARE * most:
        return "open, move here"
    return "closed, hold your place" if here >= CLOSED_SHARE * most else "pass where a gap opens"


def _gained(places: float) -> str:
    whole = round(places)
    count = "1 place" if abs(whole) == 1 else f"{abs(whole)} places"
    return f"; {count} {'gained' if whole > 0 else 'lost'}" if whole else ""


def _landmarks(day: Scenario, first_m: float, last_m: float) -> str:
    near = [mark.name for mark in day.strip.landmarks if first_m < mark.station_m <= last_m]
    return f" ({', '.join(near)})" if near else ""


def _outcome_words(found: Found) -> list[str]:
    arms = (("With this plan", found.plan), ("With the plan on paper", found.paper))
    return [_expected(words, arm) for words, arm in arms]


def _expected(words: str, arm: Scored) -> str:
    """What eight races in ten gave our first five, and the team."""
    low, high = map(clock_text, single_range(arm.scorers_s))
    points = _band(arm.points)
    scored = f", for {points} team points" if points != DASH else ""
    return f"{words} our first five finish in {low} to {high} on average{scored}."
