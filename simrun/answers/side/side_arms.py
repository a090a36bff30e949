"""Which races are run for a side? Timed on the way to the narrowing; our team told to cross, and not to.

Held fixed between two arms: the people, the boxes (but where they are drawn again), everybody's chances, our
openings. An arm differs from another by one order to our team alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.course.strip import Gate, Side
from simrun.scenario.changes.changes_course import with_checkpoints
from simrun.scenario.changes.changes_orders import with_line_at
from simrun.scenario.changes.changes_people import with_draw_again
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema_teams import OWN

DRAWN, PAPER, CROSS, KEEP = "drawn again", "as on paper", "cross", "keep"

TURN_LINES: Mapping[str, Any] = {
    "inside": "inside",
    "outside": "outside",
    "wide in and cut back after": ["outside", "inside", "inside"],
    "inside in and run wide after": ["inside", "inside", "outside"],
}
"""Entry, apex and exit of the first turn, together and apart; the others are held against the first."""

STEP_M = 10.0
"""Marks on the way to the narrowing lie so far apart."""

MOST_LATE = 6
"""So many of them are tried as the place up to which ours keep their own place."""

BEHIND_M = 30.0
"""What a line through a turn has cost is told so far behind its end."""

OTHER = {"left": "right", "right": "left"}


@dataclass(frozen=True)
class Places:
    """What is asked about: the narrowing, the turn behind it (None: there is none), the good side.

    marks: a name and metres each: on the way, at the narrowing, behind the turn.
    """

    narrowing: Gate
    turn: Gate | None
    good: str
    marks: tuple[tuple[str, float], ...]
    at_m: float
    behind: str
    behind_m: float


def places_of(day: Scenario, good: str | None = None) -> Places:
    """Where is the first narrowing, and which side of it is the good one?

    Raises BadInput where there is none before the first turn, or no turn behind it and no side told.
    """
    strip = day.strip
    narrowing = next(iter(strip.gates), None)
    if narrowing is None or narrowing.kind == "turn":
        found = "a turn comes first" if narrowing else "none"
        allowed = "a narrowing or gap before the first turn: without one there is no side to get to"
        raise BadInput(Problem("course", found, allowed, "", day.file))
    turn = next((gate for gate in strip.gates if gate.kind == "turn"), None)
    if good is None and turn is None:
        allowed = "left or right, since no turn behind the narrowing says which is good"
        raise BadInput(Problem("--good", "nothing", allowed, "", day.file))
    side = good or ("left" if turn and turn.inside == Side.LEFT else "right")
    at_m = float(strip.station_m[narrowing.last_cut])
    end_m = float(strip.station_m[turn.last_cut]) if turn else at_m
    behind_m = min(end_m + BEHIND_M, strip.length_m - 0.1)
    steps = [STEP_M * k for k in range(1, int((at_m - 1.0) // STEP_M) + 1)]
    behind = f"{BEHIND_M:.0f} m behind {turn.name if turn else narrowing.name}"
    marks = [*((f"{m:.0f} m", m) for m in steps), (narrowing.name, at_m), (behind, behind_m)]
    return Places(narrowing, turn, side, tuple(marks), at_m, behind, behind_m)


def timed(day: Scenario, places: Places) -> Scenario:
    """The race day timed at these marks, rounded to the centimetre; those of a drawing stay."""
    return with_checkpoints(day, [(name, round(at_m, 2)) for name, at_m in places.marks])


def team_of(day: Scenario, name: str | None) -> str | None:
    """Whose box is asked about: the named team's, else ours; None where there is none on paper.

    Raises BadInput for a team that does not run.
    """
    names = [team.name for team in day.teams]
    if name is not None and name not in names:
        allowed = "one of " + ", ".join(names[:40])
        raise BadInput(Problem("team", repr(name), allowed, nearest_word(name, names), day.file))
    team = name or day.our_team
    boxes = {one.name: one.box for one in day.teams}
    return team if team is not None and boxes[team] is not None else None


def late_marks(places: Places) -> list[str]:
    """Up to which marks do ours keep their own place, before they cross? The last ones on the way."""
    names = [name for name, _ in places.marks[:-2]]
    step = max(1, len(names) // (2 * MOST_LATE))
    return names[::-1][::step][:MOST_LATE][::-1]


def after_words(mark: str) -> str:
    """What the order to cross behind this mark is called."""
    return f"cross after {mark}"


def own_side(day: Scenario, team: str) -> str:
    """On which side of the middle of the line does its box lie?"""
    roster = day.roster(1)
    return "left" if roster.throat_share[roster.team == team].mean() < 0.0 else "right"


def arms_of(day: Scenario, team: str | None, places: Places) -> dict[str, Scenario]:
    """Every arm by its name. Check: tests/unit/answers/test_side.py."""
    arms = {DRAWN: with_draw_again(day)}
    if team is None:
        return arms
    arms[PAPER] = day
    name = places.narrowing.name
    own = own_side(day, team)
    arms[CROSS] = with_line_at(day, team, name, places.good)
    arms[KEEP] = with_line_at(day, team, name, own)
    if own != places.good:
        for mark in late_marks(places):
            arms[after_words(mark)] = with_line_at(arms[CROSS], team, mark, OWN)
    if places.turn is not None:
        turn = places.turn.name
        arms |= {word: with_line_at(day, team, turn, line) for word, line in TURN_LINES.items()}
    return arms
