"""The race day on paper: read, checked, frozen."""

from __future__ import annotations

from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.lengths import length_m, time_s
from simrun.scenario.teams import Person, Team

__all__ = ["Person", "Scenario", "Team", "length_m", "read", "time_s"]
