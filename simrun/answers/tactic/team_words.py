"""What does the team carry to the line? Order, opening, line, places, where to move: one page's words."""

from __future__ import annotations

import numpy as np

from simrun.answers.tactic.orders import told
from simrun.answers.tactic.tactic_found import Found
from simrun.answers.tactic.tactic_score import Scored
from simrun.base.units import METRES_A_YARD, length_text, pace_text
from simrun.pages.cautions import NOT_IN_IT
from simrun.pages.numbers import DASH, tenths, the_mark
from simrun.pictures.charts.team_sheet import TeamCard
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import single_range

CLOSED_SHARE, OPEN_SHARE = 0.5, 0.25
"""Against the most crowded section: from half of it a section counts as closed, below a quarter as open."""

LEAST_TRAFFIC_S = 0.1
"""Below so many seconds a 100 m nothing is closed anywhere."""


def team_card(found: Found, units: str) -> TeamCard:
    """The plan's page, its places and ranges from the fresh races."""
    day = told(found.day, found.team, found.order)
    return TeamCard(
        title=f"{found.team}: {day.name}",
        box=box_words(found),
        head=("runner", "stands", "go out", "then", *_marks(day), "finish"),
        runners=tuple(_runner_rows(found, day, units)),
        lines=tuple(_line_words(found, day, units)),
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


def _marks(day: Scenario) -> list[str]:
    return [f"at {mark.name}" for mark in day.strip.checkpoints]


def _runner_rows(found: Found, day: Scenario, units: str) -> list[tuple[str, ...]]:
    """Front row first, from left to right."""
    roster = day.roster(found.fresh_seeds[0])
    plan = found.plan
    ours = np.flatnonzero(roster.team == found.team)
    rows = []
    for i in sorted(range(len(ours)), key=lambda i: (roster.row[ours[i]], roster.file[ours[i]])):
        who = ours[i]
        cruise, opening = float(roster.cruise_m_s[who]), found.order.opening_of(roster.name[who])
        bands = [_band(plan.place[:, i, c]) for c in range(plan.place.shape[2])]
        rows.append(
            (
                roster.name[who],
                f"row {roster.row[who]}, {_nth(int(roster.file[who]))}",
                _pace_words(cruise, opening, units),
                pace_text(cruise, units),
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
        return DASH
    first, last = round(low), round(high)
    return f"{first}" if first == last else f"{first} to {last}"


def _line_words(found: Found, day: Scenario, units: str) -> list[str]:
    turns = [f"At {turn}: {word}." for turn, word in found.order.lines.items()]
    if not any(found.openings().values()):
        return ["Run at race pace from the gun.", *turns]
    roster = day.roster(found.fresh_seeds[0])
    who = int(np.flatnonzero(roster.team == found.team)[0])
    full, settle = float(roster.opening_m[who]), float(roster.settle_m[who])
    hold, ease = length_text(full, units), length_text(settle, units)
    said = f"Hold the opening pace for {hold}, then ease to race pace over the next {ease}."
    return [said, *turns]


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
        said.append(f"{names[c]} to {names[c + 1]}{near}: {_kind(rate, c)}; {cost}{gained}.")
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
    return f"; {count} {'gained' if whole > 0 else 'lost'}" if whole else ""


def _landmarks(day: Scenario, first_m: float, last_m: float) -> str:
    near = [mark.name for mark in day.strip.landmarks if first_m < mark.station_m <= last_m]
    return f" ({', '.join(near)})" if near else ""


def _outcome_words(found: Found) -> list[str]:
    arms = (("With this plan", found.plan), ("With the plan on paper", found.paper))
    return [_expected(words, arm, found.marks[-1]) for words, arm in arms]


def _expected(words: str, arm: Scored, mark: str) -> str:
    """What eight races in ten gave our first five, and the team."""
    low, high = single_range(arm.scorers_lost_s)
    points = _band(arm.points)
    scored = f"; carried to the finish, {points} team points" if points != DASH else ""
    return f"{words} our first five lose {tenths(low)} to {tenths(high)} s by {the_mark(mark)}{scored}."
