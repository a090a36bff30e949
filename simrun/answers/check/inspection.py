"""How does the course stand against what books and guidance say? It reports, it does not approve."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simrun.course.route import trace
from simrun.course.string import cuts_of
from simrun.course.strip import Strip
from simrun.measure.wheel import GroundReport, first_real_narrowing
from simrun.scenario.scenario import Scenario
from simrun.sources.guidance import Guidance, guidance_about

CONVENTIONS = (
    (0.30, "road and track measuring (0.30 m)"),
    (0.15, "6 in off, US coaches"),
    (0.20, "8 in off, US coaches"),
    (0.61, "2 ft off, US high schools"),
)
"""How far off the edge the line is measured. Sources: measuring handbook (seen); coaches' pages (seen)."""

PASSING_M = 5.0
EARLY_M = 1000.0


@dataclass(frozen=True)
class Finding:
    """One measured figure: what, its value in `unit` (nan: there is none), where, and what is said of it.

    at_m: where along the measured line, for a place without a name; else nan.
    """

    what: str
    value: float
    unit: str
    where: str
    said: tuple[Guidance, ...]
    at_m: float = math.nan


@dataclass(frozen=True)
class Inspection:
    """Findings, lengths by convention, and the stretches too narrow to pass: (name, from, to, width)."""

    findings: tuple[Finding, ...]
    lengths_m: tuple[tuple[str, float], ...]
    narrow: tuple[tuple[str, float, float, float], ...]


def inspect(scenario: Scenario, report: GroundReport) -> Inspection:
    """Hold the course against the guidance. Check: tests/unit/measure/test_inspection.py (by hand)."""
    strip = scenario.strip
    return Inspection(
        tuple(_findings(scenario, report)),
        tuple((words, _length_m(strip, margin)) for margin, words in CONVENTIONS),
        tuple(narrow_stretches(strip)),
    )


def _findings(scenario: Scenario, report: GroundReport) -> list[Finding]:
    spec, strip = scenario.start_line.spec, scenario.strip
    turn, narrowing = report.first_turn, report.first_narrowing
    early = (strip.station_m > 0) & (strip.station_m <= min(EARLY_M, strip.length_m))
    throat = _throat_width_m(scenario)
    narrow = int(np.where(early, strip.width_m, np.inf).argmin())
    hard = _first_hard_object(strip)
    return [
        _finding("first turn", turn[1] if turn else math.nan, turn[0] if turn else "none"),
        _finding(
            "first narrowing",
            narrowing[1] if narrowing else math.nan,
            narrowing[0] if narrowing else "none",
        ),
        _finding("hard object", hard[1], hard[0]),
        _width("narrowest before 1000 m", strip.width_m[narrow], strip.station_m[narrow]),
        _width("narrowest", *report.narrowest_m),
        _finding("throat against the line", 100 * throat / spec.width_m, "", "%"),
        _finding("front line per front-row runner", report.front_line_per_runner_m, ""),
        _finding("start line per team", spec.width_m / max(1, len(scenario.teams)), ""),
        _finding("box width", spec.box_width_m, ""),
        _finding("front row", float(spec.front_row), "", "runners"),
    ]


def _finding(what: str, value: float, where: str, unit: str = "m") -> Finding:
    return Finding(what, value, unit, where, guidance_about(what))


def _width(what: str, width_m: float, at_m: float) -> Finding:
    """A width at a place without a name."""
    at_m = float(at_m)
    return Finding(what, float(width_m), "m", f"at {at_m:.0f} m", guidance_about(what), at_m)


def _throat_width_m(scenario: Scenario) -> float:
    """The width at the end of the first real narrowing; without one the width of the line's own ground."""
    strip, found = scenario.strip, first_real_narrowing(scenario.strip, scenario.start.width_m)
    cut = 0 if found is None else int(np.abs(strip.station_m - found[1]).argmin())
    return float(strip.width_m[cut])


def _first_hard_object(strip: Strip) -> tuple[str, float]:
    """The nearest thing to run into: an obstacle, or the first end of a wall that narrows the course."""
    found = [("none", math.nan)]
    for thing in strip.obstacles:
        away = np.hypot(*np.moveaxis(strip.middle_m[:, None] - thing.hull_m, 2, 0))
        found.append((thing.name or "obstacle", float(strip.station_m[away.argmin(axis=0)].min())))
    for edges, side in ((strip.left_edge, "left"), (strip.right_edge, "right")):
        walls = np.flatnonzero((edges == 2) & (strip.station_m[:-1] > 0))
        if len(walls) and edges[max(0, walls[0] - 1)] != 2:
            found.append((f"barrier begins, {side}", float(strip.station_m[walls[0]])))
    known = [entry for entry in found if entry[1] == entry[1]]
    return min(known, key=lambda entry: entry[1]) if known else found[0]


def narrow_stretches(strip: Strip) -> list[tuple[str, float, float, float]]:
    """Where is the course narrower than lets runners pass? Section, from, to, narrowest width, in metres."""
    narrow = strip.width_m < PASSING_M
    narrow[strip.station_m > strip.length_m] = False
    found = []
    edges = np.flatnonzero(np.diff(np.concatenate([[0], narrow.astype(int), [0]])))
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        cuts = slice(first, after)
        section = strip.section_names[strip.section[min(first, len(strip.section) - 1)]]
        span = strip.station_m[first], strip.station_m[after - 1]
        found.append((section, float(span[0]), float(span[1]), float(strip.width_m[cuts].min())))
    return found


def _length_m(strip: Strip, margin_m: float) -> float:
    """The shortest way from the middle of the line to the finish, so far off every corner."""
    cuts = cuts_of(strip.left_m, strip.right_m)
    margin = np.minimum(margin_m, strip.width_m / 2)
    return trace(cuts, margin, margin.copy(), (0.0, 0.0), strip.finish_cut).length_m
