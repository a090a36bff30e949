"""The line drawn to scale for the crew."""

from __future__ import annotations

from simrun.answers.layout.crew.crew_words import peg_names
from simrun.course.start import turned_m
from simrun.measure.stakes import stake_plan
from simrun.pages.page import Figure
from simrun.pictures.charts.crew_map import Laid, crew_map
from simrun.scenario.scenario import Scenario


def crew_drawing(day: Scenario, units: str) -> Figure:
    """The line as the crew lays it out, in the line's own frame."""
    plan = stake_plan(day)
    line = day.start_line
    (gun,) = turned_m(line.gun_m[None, :], -line.spec.tilt_deg)
    laid = Laid(plan.stake_m, plan.pegs_m, plan.left_peg, peg_names(len(plan.pegs_m)), gun)
    drawn = crew_map(laid, units)
    return Figure(drawn, "The stakes, pegs and tapes to scale, seen from above")
