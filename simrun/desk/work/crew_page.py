"""The crew sheet of the line as it stands: pegs, stakes and tapes, to be printed and carried to the field."""

from __future__ import annotations

from pathlib import Path

from simrun.answers.layout.crew.crew_drawing import crew_drawing
from simrun.answers.layout.crew.crew_tables import beside_rows, point_rows, stake_rows
from simrun.answers.layout.crew.crew_words import stake_words, tape_step_m
from simrun.base.units import length_text
from simrun.desk.words import crew_sentence, crew_title
from simrun.measure.stakes import stake_plan
from simrun.pages.cautions import CAUTION
from simrun.pages.frame import write_page
from simrun.pages.page import Page, Part, table_of
from simrun.scenario.scenario import Scenario

CREW_PAGE = "crew.html"


def write_crew_page(day: Scenario, folder: Path) -> Path:
    """Write it. Raises BadInput, CannotWrite. Check: tests/journeys/test_desk.py."""
    plan = stake_plan(day, tape_step_m(day.units))
    tables = (
        table_of(point_rows(plan, day.units), left=2),
        table_of(stake_rows(plan, day.units)),
        table_of(beside_rows(day, day.units), left=2),
    )
    first = Part(
        text=(stake_words(plan, day.units),),
        figures=(crew_drawing(day, day.units),),
        tables=tables,
    )
    start = day.start
    said = crew_sentence(
        length_text(start.width_m, day.units),
        start.boxes,
        length_text(start.box_width_m, day.units),
    )
    page = Page(title=crew_title(day.name), sentence=said, first=first, caution=CAUTION)
    return write_page(page, folder / CREW_PAGE)
