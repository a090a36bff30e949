"""Races that several tests look at: run once in a process, and nobody can write into them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

import simrun
from simrun.state.recording import Recording

SHIPPED = Path(__file__).parents[2] / "scenarios"


@cache
def shipped(name: str, seed: int) -> Recording:
    """The race of this seed in a scenario that comes along, as it stands there."""
    recording = simrun.race(simrun.read(SHIPPED / f"{name}.toml"), seed=seed)
    for values in vars(recording).values():
        if isinstance(values, np.ndarray):
            values.flags.writeable = False
    return recording
