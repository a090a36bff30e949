"""How the crew lays the line out, in sentences: the points to set first, the tapes, which way a box faces."""

from __future__ import annotations

import numpy as np

from simrun.base.units import METRES_A_FOOT, METRES_AN_INCH, length_text
from simrun.course.start import TAPE_M, TAPE_REACH_M
from simrun.measure.stakes import StakePlan, across_m, first_narrow_edges_m, tape_error_m
from simrun.scenario.scenario import Scenario

GROUND = (
    "Assumed of the ground: level (on a slope hold the tapes level and drop a plumb line), and the two edges "
    "of the course at the start as straight and as wide as the scenario has them."
)

STAKE_WORDS = "Where the two tapes cross, back at the line."

SQUARE_WORDS = (
    "square to a string between the two edges of the course at the start (two equal tapes, from points "
    "as far to either side of the middle peg, cross on that line)"
)


def stake_words(plan: StakePlan, units: str) -> str:
    """How two volunteers lay the line out once the points of `point_words` stand."""
    return (
        "First set the points below, then a stake wherever its two tapes cross, back at the line; no tape is "
        f"longer than {length_text(TAPE_REACH_M, units)}; left and right are as seen facing the course. "
        f"{_string_words(plan)} {_bow_words(plan, units)} Laid out again from these distances by "
        f"calculation, no stake is off by more than {_error_text(tape_error_m(plan), units)}. {GROUND}"
    )


def _string_words(plan: StakePlan) -> str:
    """The other way: by a string between the end stakes."""
    where = "so far along it"
    back = f"{where}, then so far back, square to it" if plan.bow_m else where
    return (
        "Or set only the two end stakes so, pull a string from one to the other, and set the rest by it: "
        f"{back}, from stake 1; where a tape ends, go on from there."
    )


ACROSS = {
    "recall line": ("recall_m", "where the recall starters stand"),
    "spectators' crossing": ("crossing_m", "closed before the gun"),
}
"""What may lie across the way ahead: its key under [start], and what it is for."""


def across_of(day: Scenario) -> dict[str, float]:
    """What lies across the way ahead, by name, as far as the scenario has it: metres ahead of the line."""
    told = {name: getattr(day.start, key) for name, (key, _) in ACROSS.items()}
    return {name: float(away) for name, away in told.items() if away is not None}


def beside_words(day: Scenario, units: str) -> dict[str, str]:
    """What else is painted, flagged or kept free, by name: how the crew finds its place."""
    spec, told = day.start_line.spec, {"gun": _gun_words(day, units)}
    for name, away in across_of(day).items():
        told[name] = _across_words(name, away, across_m(day.strip, spec, away), units)
    if day.start.ambulance:
        told["ambulance lane"] = f"Beside the {day.start.ambulance} end of the line, kept free."
    narrow = first_narrow_edges_m(day.strip, spec)
    if narrow is not None:
        told |= {
            f"{narrow[0]}, {side} edge": f"{_from_middle_words(edge[0], edge[1], units)}."
            for side, edge in zip(("left", "right"), narrow[1].tolist(), strict=True)
        }
    return told


def _gun_words(day: Scenario, units: str) -> str:
    """By a stake, or so far beyond it where the line is wider than its boxes."""
    start = day.start
    if start.gun == "middle":
        return "Behind the middle of the line."
    stake = 1 if start.gun == "left" else start.boxes + 1
    beyond_m = (start.width_m - start.boxes * start.box_width_m) / 2
    by = f"{tape_text(beyond_m, units)} beyond stake" if beyond_m >= TAPE_M else "by stake"
    return f"At the {start.gun} end of the line, {by} {stake}."


def _across_words(name: str, away: float, edges: tuple[float, float] | None, units: str) -> str:
    """Square to the way ahead, from edge to edge of the course."""
    ends = "across the course"
    if edges is not None:
        left, right = (tape_text(metres, units) for metres in edges)
        ends = f"square to that line, {left} to the left and {right} to the right to the course's edges"
    far = tape_text(away, units)
    return f"{far} from the middle peg towards the sighting mark, {ends}; {ACROSS[name][1]}."


def _bow_words(plan: StakePlan, units: str) -> str:
    if not plan.bow_m:
        return "The line is straight."
    return f"The ends of the line lie {tape_text(plan.bow_m, units)} ahead of its middle."


def point_words(plan: StakePlan, units: str) -> dict[str, str]:
    """What has to stand before the first stake, and how each point is found from those before it."""
    names = peg_names(len(plan.pegs_m))
    pegs = {name: _peg_words(plan, number, units) for number, name in enumerate(names)}
    return {
        "middle peg": f"In the middle of the line, {_middle_words(plan, units)}.",
        "sighting mark": _mark_words(plan, units),
        **pegs,
    }


def _middle_words(plan: StakePlan, units: str) -> str:
    """Where is the middle of the line, between the two edges?"""
    if not plan.sideways_m:
        return "halfway between the two edges of the course at the start"
    side = "left" if plan.sideways_m > 0 else "right"
    aside = tape_text(abs(plan.sideways_m), units)
    return (
        "on a string between the two edges of the course at the start, "
        f"{aside} to the {side} of halfway between them"
    )


def peg_names(count: int) -> list[str]:
    """What the fixed points are called, from left to right."""
    return ["left peg", "right peg"] if count == 2 else [f"peg {i + 1}" for i in range(count)]


def _peg_words(plan: StakePlan, number: int, units: str) -> str:
    """How a fixed point is found: over the middle of the string that all of them stand on."""
    ahead, left = (float(metres) for metres in plan.pegs_m[number])
    away = float(np.hypot(ahead, left))
    check = f"it is {tape_text(away, units)} from the middle peg"
    if away > TAPE_REACH_M:
        nearer = number + (1 if left > 0 else -1)
        apart = abs(left - float(plan.pegs_m[nearer, 1]))
        name = peg_names(len(plan.pegs_m))[nearer]
        check = f"it is {tape_text(apart, units)} further out than {name}, on the same string"
    return f"{_from_middle_words(ahead, left, units)}; {check}."


def _from_middle_words(ahead_m: float, left_m: float, units: str) -> str:
    """How a point is found from the middle peg and the mark."""
    side = "left" if left_m >= 0 else "right"
    ahead, aside = tape_text(ahead_m, units), tape_text(abs(left_m), units)
    return (
        f"{ahead} from the middle peg towards the sighting mark, then {aside} to the {side}, square to that "
        "line"
    )


def _mark_words(plan: StakePlan, units: str) -> str:
    """Where the mark goes that the crew sights to: it is the axis on which the stakes were computed."""
    square, sighting = square_words(plan.tilt_deg, units), plan.sighting
    if sighting is None:
        return f"Straight ahead of the middle peg: {square}."
    what = "narrowing" if sighting.kind == "throat" else "turn"
    away, width = length_text(sighting.away_m, units), tape_text(sighting.width_m, units)
    where = f"the first {what} ({sighting.name}), {away} away, where it is {width} wide"
    again = f"If no mark can stand there, sight {square}: that is the same line."
    if not sighting.right_of_middle_m:
        return f"In the middle of {where}. {again}"
    side = "right" if sighting.right_of_middle_m > 0 else "left"
    aside = tape_text(abs(sighting.right_of_middle_m), units)
    return (
        f"At {where}: in line with its two edges, {aside} to the {side} of the middle between them. "
        "Do not sight to the middle itself: that would lay out another line. "
        f"{again}"
    )


def square_words(tilt_deg: float, units: str) -> str:
    """How the way ahead is found without a mark: square to a string, and turned where the line is."""
    if not tilt_deg:
        return SQUARE_WORDS
    aside = tape_text(TAPE_REACH_M * abs(float(np.tan(np.radians(tilt_deg)))), units)
    over = tape_text(TAPE_REACH_M, units)
    side = "left" if tilt_deg > 0 else "right"
    return (
        f"{SQUARE_WORDS}; from that way, {over} ahead of the middle peg, go {aside} to the {side} and sight "
        "there"
    )


def _error_text(metres: float, units: str) -> str:
    return f"{12 * metres / METRES_A_FOOT:.1f} in" if units == "us" else f"{100 * metres:.1f} cm"


def tape_step_m(units: str) -> float:
    """To how much is a tape read? To the centimetre, or to half an inch."""
    return METRES_AN_INCH / 2 if units == "us" else TAPE_M


def tape_text(metres: float, units: str) -> str:
    """A length as a tape reads it: to the centimetre, or in feet and inches."""
    if units != "us":
        return f"{round(metres, 2) + 0.0:.2f} m"
    inches = round(metres / METRES_A_FOOT * 24) / 2
    return f"{int(inches // 12)} ft {inches % 12:g} in"


def turn_words(turn_deg: float) -> str:
    """Which way a box faces."""
    if abs(turn_deg) < 0.05:
        return "straight ahead"
    return f"{abs(turn_deg):.1f} degrees to the {'left' if turn_deg > 0 else 'right'}"
