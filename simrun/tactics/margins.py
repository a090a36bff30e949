"""How do the chosen lines become margins at every cut?

A turn taken inside, middle or outside is rounded off so that it touches the runner's own offset from the
inside edge; a throat is passed at their own share of its width as far as `pull` lets go of the shortest
way. Everywhere else the string is stretched through what the measuring margin leaves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.course.approach import rounded_margins_m
from simrun.course.route import plain_margins
from simrun.course.strip import MEASURING_MARGIN_M, Gate, Side, Strip
from simrun.runners.roster import Roster
from simrun.sources import figure

Array = NDArray[np.float64]


def shortest_margins(
    strip: Strip, count: int, rounding_room_m: float | None = None
) -> tuple[Array, Array]:
    """The margins of the shortest way for `count` runners: (N, K), (N, K).

    rounding_room_m: how far off the string a corner is rounded, of the race; None: as the figure says.
    """
    inside = np.full((count, len(strip.gates)), MEASURING_MARGIN_M)
    return _with_turns(strip, inside, rounding_room_m)


def own_margins(
    strip: Strip, roster: Roster, rounding_room_m: float | None = None
) -> tuple[Array, Array]:
    """The margins of every runner's own way: (N, K), (N, K). The room as of `shortest_margins`."""
    left, right = _with_turns(strip, roster.inside_m, rounding_room_m)
    for gate in strip.gates:
        if gate.kind != "turn":
            _keep_share(left, right, gate, strip, roster)
    return left, right


def _with_turns(
    strip: Strip, inside_m: Array, rounding_room_m: float | None
) -> tuple[Array, Array]:
    room_m = figure("bend.rounding_room_m").value if rounding_room_m is None else rounding_room_m
    plain, _ = plain_margins(strip.width_m)
    left, right = (np.tile(plain, (len(inside_m), 1)) for _ in range(2))
    for index, gate in enumerate(strip.gates):
        if gate.kind == "turn":
            margin = left if gate.inside == Side.LEFT else right
            _round_off(margin, plain, strip, gate, inside_m[:, index], room_m)
    return left, right


def _round_off(
    margin: Array, plain: Array, strip: Strip, gate: Gate, apex_m: Array, room_m: float
) -> None:
    """Shorten the cuts of a turn, and those before and after it, on its inside."""
    width = strip.width_m[gate.first_cut : gate.last_cut + 1].min()
    least = min(MEASURING_MARGIN_M, width / 2)
    apex = np.clip(apex_m, least, width - least)
    cuts, wanted = rounded_margins_m(strip, gate, apex, room_m)
    most = strip.width_m[cuts] - plain[cuts]
    margin[:, cuts] = np.maximum(margin[:, cuts], np.clip(wanted, plain[cuts], most))


def _keep_share(left: Array, right: Array, gate: Gate, strip: Strip, roster: Roster) -> None:
    """Shorten a throat from both sides toward their own share of it; a pull of 1 leaves it whole."""
    cut = gate.last_cut
    plain = left[0, cut]
    held = (1 - roster.pull) * (strip.width_m[cut] - 2 * plain) / 2
    left[:, cut] = plain + held * (1 + roster.throat_share)
    right[:, cut] = plain + held * (1 - roster.throat_share)
