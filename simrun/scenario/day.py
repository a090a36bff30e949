"""What stands on the paper of a race day? Every table, checked and frozen, and what follows from them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from dataclasses import field as column
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.course.start import StartLine
from simrun.course.strip import Strip
from simrun.scenario.built_ground import start_line
from simrun.scenario.tables.schema import (
    BehaviourTable,
    ClockTable,
    CourseTable,
    StartTable,
    Units,
)
from simrun.scenario.tables.schema_inputs import Inputs
from simrun.scenario.tables.schema_places import PlaceTable
from simrun.scenario.tables.schema_teams import FieldTable
from simrun.scenario.teams import Team, waves_by_pace


@dataclass(frozen=True)
class Day:
    """Everything on paper, checked: what was written, and the same made ready.

    document: the tables as they were written, fit for JSON. attachments: the text of every file it
    names, by that name. file: what to call the scenario in a message. Two days are equal when what was
    written is equal.
    """

    document: dict[str, Any]
    attachments: dict[str, str]
    file: str = column(compare=False)
    name: str = column(compare=False)
    about: str = column(compare=False)
    invented: bool = column(compare=False)
    units: Units = column(compare=False)
    clock: ClockTable = column(compare=False, repr=False)
    start: StartTable = column(compare=False, repr=False)
    course: CourseTable = column(compare=False, repr=False)
    field: FieldTable = column(compare=False, repr=False)
    inputs: Inputs = column(compare=False, repr=False)
    teams: tuple[Team, ...] = column(compare=False, repr=False)
    strip: Strip = column(compare=False, repr=False)
    places: tuple[PlaceTable, ...] = column(compare=False, repr=False)

    @cached_property
    def start_line(self) -> StartLine:
        """The painted line with its boxes."""
        return start_line(self.start, self.strip)

    @cached_property
    def behaviour(self) -> BehaviourTable | None:
        """By which behaviour of one's own do its people go, if any?"""
        told = self.document.get("behaviour")
        return None if told is None else BehaviourTable.model_validate(told)

    @property
    def our_team(self) -> str | None:
        """Which team is ours, if any?"""
        return next((team.name for team in self.teams if team.ours), None)

    @property
    def runners(self) -> int:
        """How many run in all?"""
        return sum(team.runners for team in self.teams)

    def wave_wait_s(
        self, box: NDArray[Any], team_index: NDArray[np.int64], cruise_m_s: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """How long after the first gun does everybody's wave go? (N,), by box or by team's seed time."""
        start = self.start
        if start.waves_by == "box":
            return start.wave_wait_s(box)
        wave = waves_by_pace(team_index, cruise_m_s, start.waves)
        return np.asarray(wave * start.wave_gap_s, dtype=np.float64)

    @property
    def boxes_to_draw(self) -> tuple[int, ...]:
        """Which boxes are left for the draw: open, and named by no team? From left to right."""
        taken = {team.box for team in self.teams} | set(self.start.empty)
        return tuple(box for box in range(1, self.start.boxes + 1) if box not in taken)

    def to_json(self) -> str:
        """Everything that was written, in one text; `from_json` makes the same scenario of it."""
        whole = {"document": self.document, "attachments": self.attachments, "file": self.file}
        return json.dumps(whole, ensure_ascii=False, allow_nan=False)

    def raced_json(self) -> str:
        """The same without what is only said of its places: two days that race alike are one to a study."""
        raced = {key: table for key, table in self.document.items() if key != "places"}
        whole = {"document": raced, "attachments": self.attachments, "file": self.file}
        return json.dumps(whole, ensure_ascii=False, allow_nan=False)
