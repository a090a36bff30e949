"""The line drawn to scale for the crew, on the page and on a sheet of paper of its own."""

from __future__ import annotations

from simrun.answers.layout.crew.crew_tables import tape_rows
from simrun.answers.layout.crew.crew_words import (
    across_of,
    beside_words,
    peg_names,
    point_words,
    stake_words,
)
from simrun.course.start import in_line_m
from simrun.measure.stakes import StakePlan, stake_plan
from simrun.pages.cautions import CAUTION
from simrun.pages.page import Figure
from simrun.pictures.charts.crew_map import CrewSheet, Laid, crew_map, crew_pdf
from simrun.scenario.scenario import Scenario

PAPERS = {"crew_a4.pdf": "A4", "crew_letter.pdf": "Letter"}
"""The files of the crew's sheet."""


def crew_drawing(day: Scenario, units: str) -> Figure:
    """The line as the crew lays it out, in the line's own frame."""
    drawn = crew_map(laid_of(day, stake_plan(day)), units)
    return Figure(drawn, "The stakes, pegs and tapes to scale, seen from above")


def crew_sheets(day: Scenario, plan: StakePlan, units: str) -> dict[str, bytes]:
    """The crew's sheet by its file: the drawing, what to set first, every tape; plan: as read."""
    points = [f"{name}: {words}" for name, words in point_words(plan, units).items()]
    beside = [f"{name}: {words}" for name, words in beside_words(day, units).items()]
    how = [stake_words(plan, units), *points, *beside]
    sheet = CrewSheet(day.name, laid_of(day, plan), how, tape_rows(plan, units), CAUTION)
    return {file: crew_pdf(sheet, paper, units) for file, paper in PAPERS.items()}


def laid_of(day: Scenario, plan: StakePlan) -> Laid:
    line = day.start_line
    (gun,) = in_line_m(line.spec, line.gun_m[None, :])
    pegs = plan.pegs_m, plan.left_peg, peg_names(len(plan.pegs_m))
    return Laid(plan.stake_m, *pegs, gun, across_of(day), day.start.ambulance)
