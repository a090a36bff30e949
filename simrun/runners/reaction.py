"""How long after the gun does everybody first move?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.runners.body import check_body
from simrun.sources import figure

Array = NDArray[np.float64]


def shortest_reaction_s(body: str) -> float:
    """The shortest genuine reaction of a body, in seconds. Source: start-block studies (seen)."""
    check_body(body)
    return figure(f"start.reaction_{body}_s").value


def draw_reaction_s(body: str, count: int, rng: np.random.Generator) -> Array:
    """The reaction of `count` standing runners to the sound, (N,), in seconds.

    The shortest reaction plus a lognormal excess: right-skewed, as reactions are. The excess is
    assumed (`start.reaction_excess_s`, `start.reaction_spread`), since no standing crowd was
    measured. Check: tests/validation/test_reaction.py.
    """
    excess = figure("start.reaction_excess_s").value
    spread = figure("start.reaction_spread").value
    factor = np.exp(spread * rng.standard_normal(count))
    return shortest_reaction_s(body) + excess * factor


def sound_delay_s(distance_m: Array) -> Array:
    """How long the sound takes to somebody `distance_m` from the gun, same shape, in seconds."""
    return np.asarray(distance_m, dtype=np.float64) / figure("sound_m_s").value
