"""Simulates the start of mass-start running races, says what a box and a line cost, and shows it.

>>> import simrun
>>> recording = simrun.race(simrun.read("scenarios/dual_meet.toml"), seed=1)
>>> table = simrun.time_lost(recording)
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

# The room is loaded before the function of its name is made: `simrun.race` is what a user calls, and
# `from simrun.engine.run import ...` goes on finding the room.
import simrun.race as _room
from simrun.base.errors import SimrunError

if TYPE_CHECKING:
    import pandas

    from simrun.scenario.scenario import Scenario
    from simrun.state.recording import Recording

__version__ = "0.1.0"

__all__ = ["SimrunError", "animate", "load", "race", "read", "save", "summary", "time_lost"]

del _room


def read(path: str | Path) -> Scenario:
    """What does this scenario file say? Read, checked and frozen. Raises SimrunError."""
    from simrun.scenario.reader import read as read_file

    return read_file(path)


def race(
    scenario: Scenario, seed: int = 1, progress: Callable[[float], None] | None = None
) -> Recording:
    """What happens in one race? The same scenario and seed give the same bits. Raises SimrunError."""
    from simrun.engine.run import run_race

    return run_race(scenario, seed, progress=progress)


def time_lost(recording: Recording) -> pandas.DataFrame:
    """How many seconds and places did each runner lose, and to what? One row a runner and checkpoint."""
    from simrun.measure.loss import time_lost as table

    return table(recording)


def summary(table: pandas.DataFrame, by: list[str]) -> pandas.DataFrame:
    """Mean, 10th and 90th percentile and count of the loss by "box", "line" or both, per checkpoint."""
    from simrun.measure.loss import summary as summed

    return summed(table, by)


def animate(recording: Recording, path: str | Path, **options: Any) -> Path:
    """The race as an animated GIF; `follow` names a team or a runner. Raises SimrunError."""
    from simrun.pictures.film.gif import animate as draw

    return draw(recording, path, **options)


def save(recording: Recording, path: str | Path) -> Path:
    """Keep a recording on disk. Raises SimrunError."""
    from simrun.state.recording_file import save as write

    return write(recording, path)


def load(path: str | Path) -> Recording:
    """Read a recording from disk. Raises SimrunError."""
    from simrun.state.recording_file import load as read_file

    return read_file(path)
