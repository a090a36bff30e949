"""From the paper and one seed to everybody who stands on the line.

Every purpose has a stream of its own, and everybody is drawn for before any tactic is looked at: when
one team changes its plan, nobody else becomes another person.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Gate
from simrun.runners.ability import draw_times_s
from simrun.runners.body import draw_radius_m
from simrun.runners.endurance import RACE_M, draw_reserve_m
from simrun.runners.line_choice import (
    CHOICES,
    draw_choices,
    inside_offset_m,
    pull_about,
    with_inside_share,
)
from simrun.runners.names import invented_names
from simrun.runners.reaction import draw_reaction_s
from simrun.runners.roster import Roster
from simrun.runners.streams import stream
from simrun.runners.wander import WANDER_STEP_M, draw_wander
from simrun.scenario.day import Day
from simrun.scenario.plans import openings_of, plans_of, racing_of
from simrun.scenario.tables.schema_teams import OWN, ToldLine
from simrun.scenario.teams import Person, Team, drawn_again, one_drawn_again
from simrun.sources import figure
from simrun.sources.assumed import BODY, INSIDE, PULL

Array = NDArray[np.float64]

MOST_OPENING = 0.40


def roster_of(scenario: Day, seed: int) -> Roster:
    """Who runs with this seed? Rows in the order of the teams and of their people.

    Check: tests/unit/scenario/test_people.py (one team's plan moves nobody else).
    """
    teams, field = scenario.teams, scenario.field
    told = scenario.inputs.of_seed(seed)
    team_index = np.repeat(np.arange(len(teams)), [team.runners for team in teams])
    count = len(team_index)
    people = [person for team in teams for person in _people_of(team)]
    box = _boxes(scenario, seed)[team_index]
    row, file = _rows(scenario, people)
    lines = _lines(scenario, team_index, people, seed, told.get(INSIDE))
    low, high = pull_about(*field.pull, told[PULL]) if PULL in told else field.pull
    pull = low + (high - low) * stream(seed, "lines").spawn(3)[2].random(count)
    opening = openings_of(scenario, team_index, stream(seed, "openings").standard_normal(count))
    opening = _told(opening, teams, team_index, people, "opening")
    cruise = RACE_M / _times_s(scenario, team_index, people, seed)
    racing = racing_of(scenario, team_index, people, cruise, stream(seed, "hands"))
    return Roster(
        name=_names(people, seed),
        team_names=tuple(team.name for team in teams),
        team_index=team_index,
        box=box,
        row=row,
        file=file,
        radius_m=_size(told) * _by_body(scenario, team_index, draw_radius_m, (seed, "bodies")),
        cruise_m_s=cruise,
        opening=np.clip(opening, 0.0, MOST_OPENING),
        **plans_of(scenario, team_index, people),
        reserve_m=draw_reserve_m(count, stream(seed, "reserves")),
        reaction_s=_by_body(scenario, team_index, draw_reaction_s, (seed, "reactions"))
        + scenario.wave_wait_s(box, team_index, cruise),
        choice=lines.choice,
        inside_m=lines.inside_m,
        entry_m=lines.entry_m,
        exit_m=lines.exit_m,
        keeps=_keeps(scenario, team_index),
        throat_share=_share_of_line(scenario, box, row, file),
        pull=_told(pull, teams, team_index, people, "pull"),
        edge_share=stream(seed, "edges").random(count),
        look_phase=stream(seed, "looks").random(count),
        wander=draw_wander(count, _wander_steps(scenario), stream(seed, "noise")),
        **racing,
    )


def _by_body(
    scenario: Day,
    team_index: NDArray[np.int64],
    draw: Callable[[str, int, np.random.Generator], Array],
    purpose: tuple[int, str],
) -> Array:
    """What is drawn by whose bodies they are, (N,): squads of another body get theirs by the same draws."""
    body = np.array(
        [scenario.field.body_of(team.name) or scenario.field.body for team in scenario.teams]
    )
    drawn = {
        name: draw(name, len(team_index), stream(*purpose)) for name in np.unique(body).tolist()
    }
    return np.select([body[team_index] == name for name in drawn], list(drawn.values()))


def _size(told: Mapping[str, float]) -> float:
    """How much wider is everybody than measured shoulders say?"""
    return told[BODY] / figure(BODY).value if BODY in told else 1.0


def _people_of(team: Team) -> list[Person | None]:
    """Everybody of a team in the order of the paper, None where nobody is named."""
    return [*team.people, *[None] * (team.runners - len(team.people))]


def _names(people: list[Person | None], seed: int) -> tuple[str, ...]:
    invented = invented_names(len(people), stream(seed, "names"))
    return tuple(p.name if p else name for p, name in zip(people, invented, strict=True))


def _boxes(scenario: Day, seed: int) -> NDArray[np.int64]:
    """Every team's box: the one it names, or one drawn from those that are left, or all drawn again."""
    teams = scenario.teams
    if scenario.start.draw == "again":
        return np.array(drawn_again(len(teams), scenario.start.open_boxes, seed), dtype=np.int64)
    left = iter(stream(seed, "draw").permutation(scenario.boxes_to_draw))
    box = np.array([team.box or next(left) for team in teams], dtype=np.int64)
    if scenario.start.ours == "again":
        _change_places(box, [team.ours for team in teams].index(True), scenario, seed)
    return box


def _change_places(box: NDArray[np.int64], ours: int, scenario: Day, seed: int) -> None:
    """Put our team into another box; who stands there takes ours, and all others stay."""
    own = int(box[ours])
    other = one_drawn_again(own, scenario.start.open_boxes, seed)
    box[box == other] = own
    box[ours] = other


def _rows(scenario: Day, people: list[Person | None]) -> tuple[NDArray, NDArray]:
    """Row (from 1) and file (from 0) of everybody: front rows filled first, from left to right."""
    abreast = scenario.start.front_row
    given = iter(people)
    place = np.concatenate(
        [_order([next(given) for _ in range(team.runners)], team.front) for team in scenario.teams]
    )
    return place // abreast + 1, place % abreast


def _order(people: list[Person | None], front: tuple[str, ...]) -> NDArray[np.int64]:
    """In which order do they take their marks, from the left? Who is to stand in front comes first, (n,).

    Rows of the roster stay with the people: who stands where changes nobody's body or reaction.
    """
    rank = [_rank(person, front) for person in people]
    order = np.empty(len(people), dtype=np.int64)
    order[np.argsort(rank, kind="stable")] = np.arange(len(people))
    return order


def _rank(person: Person | None, front: tuple[str, ...]) -> int:
    """In the order of the front row as told, then who was told row 1, then everybody else."""
    if person and person.name in front:
        return front.index(person.name)
    return len(front) + (not (person and person.row == 1))


def _times_s(
    scenario: Day, team_index: NDArray[np.int64], people: list[Person | None], seed: int
) -> Array:
    field = scenario.field
    mean = np.nan if field.time_s is None else field.time_s
    spread = np.nan if field.spread_s is None else field.spread_s
    times = draw_times_s(
        field.ability or "boys varsity 5 km", team_index, stream(seed, "people"), mean, spread
    )
    for i, person in enumerate(people):
        if person and person.time_s is not None:
            times[i] = person.time_s
    return times


def _told(
    drawn: Array,
    teams: tuple[Team, ...],
    team_index: NDArray[np.int64],
    people: list[Person | None],
    what: str,
) -> Array:
    """The drawn values, replaced where a team or a person was told one."""
    values = drawn.copy()
    for i, person in enumerate(people):
        own = getattr(person, what, None)
        told = getattr(teams[team_index[i]], what) if own is None else own
        values[i] = drawn[i] if told is None else told
    return values


class _Lines(NamedTuple):
    """Everybody's choice at every gate, their own offsets there, and at a turn's ends: (N, G) each."""

    choice: NDArray[np.str_]
    inside_m: Array
    entry_m: Array
    exit_m: Array


def _lines(
    scenario: Day,
    team_index: NDArray[np.int64],
    people: list[Person | None],
    seed: int,
    inside: float | None,
) -> _Lines:
    """Where everybody passes every gate.

    inside: the share of the field that takes the inside, where the inputs say so.
    """
    gates = scenario.strip.gates
    shape = (len(people), len(gates))
    choices, shares, _ = stream(seed, "lines").spawn(3)
    lines = scenario.field.lines.scaled
    lines = lines if inside is None else with_inside_share(lines, inside)
    drawn = draw_choices(lines, choices, shape)
    share = _shares(shares, shape)
    found = _Lines(np.full(shape, "own", dtype="U12"), *(np.zeros(shape) for _ in range(3)))
    for g, gate in enumerate(gates):
        cut = gate.first_cut if gate.kind == "turn" else gate.last_cut
        width = float(scenario.strip.width_m[cut])
        if gate.kind == "turn":
            found.choice[:, g] = drawn[:, g]
            found.inside_m[:, g] = _drawn_offsets_m(drawn[:, g], width, share[:, g])
        for i, line in _told_lines(scenario.teams, team_index, people, gate):
            if gate.kind == "turn":
                _take_turn(found, i, g, line, width, share[i, g])
            elif str(line) in OFF_THE_LEFT:
                _, found.inside_m[i, g] = _offset(OFF_THE_LEFT[str(line)], width, share[i, g])
    return found


def _drawn_offsets_m(drawn: NDArray[np.str_], width_m: float, share: Array) -> Array:
    """How far off the inside edge does everybody run who took a line by the draw? (N,)"""
    each = [inside_offset_m(choice, width_m, share) for choice in CHOICES]
    return np.select([drawn == choice for choice in CHOICES], each)


def _told_lines(
    teams: tuple[Team, ...],
    team_index: NDArray[np.int64],
    people: list[Person | None],
    gate: Gate,
) -> Iterator[tuple[int, ToldLine]]:
    """Who was told a line for this gate, and which? By number in the roster; few are."""
    if gate.kind == "turn":
        told = [_told_line(team, gate) for team in teams]
    else:
        told = [_told_at(team, gate) for team in teams]
    for i, (t, person) in enumerate(zip(team_index.tolist(), people, strict=True)):
        own = person.line if person and gate.kind == "turn" else None
        line = own or told[t]
        if line:
            yield i, line


OFF_THE_LEFT = {"left": "inside", "middle": "middle", "right": "outside"}
"""A side of a narrowing as a line off its left edge."""


def _take_turn(found: _Lines, i: int, g: int, line: ToldLine, width_m: float, share: float) -> None:
    """Put down one runner's line at one turn; the word is that of the apex."""
    entry, apex, leave = line if isinstance(line, tuple) else (None, line, None)
    found.choice[i, g], found.inside_m[i, g] = _offset(apex, width_m, share)
    for column, end in ((found.entry_m, entry), (found.exit_m, leave)):
        if end is not None:
            column[i, g] = max(LEAST_TOLD_M, _offset(end, width_m, share)[1])


LEAST_TOLD_M = 0.01
"""Nought stands for an end that goes by the apex."""


def _keeps(scenario: Day, team_index: NDArray[np.int64]) -> Array:
    """At which checkpoints is everybody to be at their own place across still? (N, C): 1, else 0."""
    told = np.array(
        [
            [float(team.lines.get(mark.name) == OWN) for mark in scenario.strip.checkpoints]
            for team in scenario.teams
        ]
    )
    return told[team_index] if told.any() else np.zeros((len(team_index), 0))


def _shares(rng: np.random.Generator, shape: tuple[int, int]) -> Array:
    """One draw a runner and gate; a gate more on the course leaves the others' draws alone."""
    return rng.random((shape[0], 64 * (1 + shape[1] // 64)))[:, : shape[1]]


def _told_line(team: Team, gate: Gate) -> ToldLine | None:
    """What was this team told for this turn? The turn on this lap, the turn, the team's own line."""
    told = _told_at(team, gate)
    return team.line if told is None else told


def _told_at(team: Team, gate: Gate) -> ToldLine | None:
    """What was the team told for this gate on this lap, or on any?"""
    for key in (f"{gate.name}@{gate.lap}", gate.name):
        if key in team.lines:
            return team.lines[key]
    return None


def _offset(line: str | float, width_m: float, share: float) -> tuple[str, float]:
    if line in CHOICES:
        return str(line), float(inside_offset_m(str(line), width_m, share))
    return f"{float(line):g} m", float(line)


def _share_of_line(scenario: Day, box: NDArray, row: NDArray, file: NDArray) -> Array:
    """Where on the line does everybody stand, from -1 at its left end to 1 at its right?"""
    in_row = np.full(len(box), scenario.start.front_row)
    line = scenario.start_line
    across = line.spec.sideways_m - line.stand_m(box, row, file, in_row)[:, 1]
    return np.clip(across / (line.width_m / 2), -1.0, 1.0)


def _wander_steps(scenario: Day) -> int:
    return int(scenario.strip.length_m // WANDER_STEP_M) + 2
