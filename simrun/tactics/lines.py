"""How do the chosen lines become margins at every cut?

A turn taken inside, middle or outside keeps the runner's own offset from its inside edge; a throat is
passed at the own share of its width as far as `pull` lets go of the shortest way. Everywhere else the
string is stretched through what the measuring margin leaves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.course.lines import plain_margins
from simrun.course.strip import Gate, Side, Strip
from simrun.runners.roster import Roster

Array = NDArray[np.float64]


def shortest_margins(strip: Strip, count: int) -> tuple[Array, Array]:
    """The margins of the shortest way for `count` runners: (N, K), (N, K)."""
    left, right = plain_margins(strip.width_m)
    return np.tile(left, (count, 1)), np.tile(right, (count, 1))


def own_margins(strip: Strip, roster: Roster) -> tuple[Array, Array]:
    """The margins of every runner's own way: (N, K), (N, K)."""
    left, right = shortest_margins(strip, len(roster))
    for index, gate in enumerate(strip.gates):
        if gate.kind == "turn":
            margin = left if gate.inside == Side.LEFT else right
            _keep_offset(margin, strip, gate, roster.inside_m[:, index])
        else:
            _keep_share(left, right, gate, strip, roster)
    return left, right


def _keep_offset(margin: Array, strip: Strip, gate: Gate, offset_m: Array) -> None:
    """Shorten the cuts of a turn on its inside by the own offset."""
    covered = slice(gate.first_cut, gate.last_cut + 1)
    plain = margin[0, covered]
    most = strip.width_m[covered] - plain
    margin[:, covered] = np.clip(offset_m[:, None], plain, most)


def _keep_share(left: Array, right: Array, gate: Gate, strip: Strip, roster: Roster) -> None:
    """Shorten a throat from both sides toward the own share of it; a pull of 1 leaves it whole."""
    cut = gate.last_cut
    plain = left[0, cut]
    held = (1 - roster.pull) * (strip.width_m[cut] - 2 * plain) / 2
    left[:, cut] = plain + held * (1 + roster.throat_share)
    right[:, cut] = plain + held * (1 - roster.throat_share)
