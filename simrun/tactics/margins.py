"""How do the chosen lines become margins at every cut?

A turn taken inside, middle or outside is rounded off so that it touches the runner's own offset from the
inside edge; a throat is passed at their own share of its width as far as `pull` lets go of the shortest
way. Where the course bends and nobody has named a turn everybody keeps off the inside edge as somebody does
who takes the inside, each by a share of their own: no two run in one line because a map has one. Everywhere
else the string is stretched through what the measuring margin leaves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.course.approach import covered, rounded_margins_m
from simrun.course.route import plain_margins
from simrun.course.strip import MEASURING_MARGIN_M, Gate, Side, Strip
from simrun.runners.roster import Roster
from simrun.sources import figure

Array = NDArray[np.float64]

LEAST_BEND_RAD = 1e-6
"""An edge that turns less is straight: rounding of a drawing."""


def shortest_margins(
    strip: Strip, count: int, rounding_room_m: float | None = None
) -> tuple[Array, Array]:
    """The margins of the shortest way for `count` runners: (N, K), (N, K).

    rounding_room_m: how far off the string a corner is rounded, of the race; None: as the figure says.
    """
    inside = np.full((1, len(strip.gates)), MEASURING_MARGIN_M)
    left, right = _with_turns(strip, inside, rounding_room_m)
    return np.repeat(left, count, axis=0), np.repeat(right, count, axis=0)


def own_margins(
    strip: Strip, roster: Roster, rounding_room_m: float | None = None
) -> tuple[Array, Array]:
    """The margins of every runner's own way: (N, K), (N, K). The room as of `shortest_margins`."""
    left, right = _with_turns(strip, roster.inside_m, rounding_room_m)
    _tell_ends(left, right, strip, roster)
    band = _edges_m(strip.width_m, roster.edge_share)
    for margin, bends in zip((left, right), unnamed_bends(strip), strict=True):
        margin[:, bends] = np.maximum(margin[:, bends], band[:, bends])
    for index, gate in enumerate(strip.gates):
        if gate.kind != "turn":
            _keep_share(left, right, gate, strip, roster)
            _keep_side(left, right, gate, strip, roster.inside_m[:, index])
    _keep_places(left, right, strip, roster)
    return left, right


def keep_across_bends(left: Array, right: Array, strip: Strip, share: Array) -> None:
    """Give everybody an own place over the whole width of bends that nobody named: these margins, changed.

    share (N,): from the left edge, 0, to the right one, 1, less the measuring margin at both; the same
    place in bends to both sides, or they would cross the course between two. Nobody runs so
    (`own_margins` has them near the inside): it shows what the crowding of that band costs.
    Check: tests/unit/tactics/test_margins.py.
    """
    plain, _ = plain_margins(strip.width_m)
    across = share[:, None], 1 - share[:, None]
    throats = [gate.last_cut for gate in strip.gates if gate.kind != "turn"]
    for margin, part, bends in zip((left, right), across, unnamed_bends(strip), strict=True):
        bends[throats] = False
        place = plain + part * (strip.width_m - 2 * plain)
        margin[:, bends] = np.maximum(margin, place)[:, bends]


def _keep_places(left: Array, right: Array, strip: Strip, roster: Roster) -> None:
    """Shorten the cut of a checkpoint to the place across of whoever was told to keep their own up to it."""
    for told, cut in zip(roster.keeps.T, strip.checkpoint_cuts(), strict=False):
        who, width = np.flatnonzero(told == 1.0), strip.width_m[cut]
        plain = min(MEASURING_MARGIN_M, width / 2)
        place = np.clip((1 + roster.throat_share[who]) / 2 * width, plain, width - plain)
        left[who, cut], right[who, cut] = place, width - place


def _tell_ends(left: Array, right: Array, strip: Strip, roster: Roster) -> None:
    """Where a turn's entry or exit is told apart from its apex: up to where it begins, and from its end on.

    The cuts laid before and after it (`course.approach`) are shortened on the inside to the told offset, no
    longer to the rounding of the apex. Check: tests/unit/tactics/test_margins.py.
    """
    for index, gate in enumerate(strip.gates):
        if gate.kind != "turn":
            continue
        margin, cuts = left if gate.inside == Side.LEFT else right, covered(strip, gate)
        ends = (
            (slice(cuts.start, gate.first_cut + 1), roster.entry_m[:, index]),
            (slice(gate.last_cut, cuts.stop), roster.exit_m[:, index]),
        )
        for some, told_m in ends:
            who = np.flatnonzero(told_m > 0.0)
            if len(who):
                plain, _ = plain_margins(strip.width_m[some])
                most = strip.width_m[some] - plain
                margin[who, some] = np.clip(told_m[who, None], plain, most)


def _keep_side(left: Array, right: Array, gate: Gate, strip: Strip, told_m: Array) -> None:
    """Shorten a throat to the place off its left edge of whoever was told a side; 0: nothing was told."""
    cut, who = gate.last_cut, np.flatnonzero(told_m > 0.0)
    left[who, cut] = told_m[who]
    right[who, cut] = strip.width_m[cut] - told_m[who]


def _edges_m(width_m: Array, share: Array) -> Array:
    """How far off an inside edge does everybody keep? (N, K): from the measuring margin to a third of the
    width, as far as who takes the inside keeps off; on narrow ground there is no choice, so none keeps off.
    """
    plain, _ = plain_margins(width_m)
    most = np.maximum(plain, np.minimum(figure("line.inside_band_m").value, width_m / 3))
    return plain + share[:, None] * (most - plain)


def unnamed_bends(strip: Strip) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """At which cuts can a string bend about the left, the right end with no turn named there? (K,), (K,)

    Where that edge itself turns to its own side: in a bend of a drawn course, at the end of a taper.
    Check: tests/unit/tactics/test_margins.py.
    """
    named = np.zeros(len(strip.width_m), dtype=bool)
    for gate in strip.gates:
        if gate.kind == "turn":
            named[covered(strip, gate)] = True
    turns_left, turns_right = (_turning(edge) for edge in (strip.left_m, strip.right_m))
    return (turns_left > LEAST_BEND_RAD) & ~named, (turns_right < -LEAST_BEND_RAD) & ~named


def gives_m(strip: Strip) -> Array:
    """Over how much of its width may a line be shifted at every cut? (K,)

    Where a string can bend, all but what must stay open (`line.shift_keeps_m`); on straight ground nothing,
    since there a line is where somebody runs. Nor at a named turn, whose line is chosen for good: where lines
    were shifted there too, the pack left the inside and going wide no longer paid, against common practice.
    Check: tests/unit/tactics/test_margins.py, tests/validation/test_common_practice.py.
    """
    left, right = unnamed_bends(strip)
    bends = left | right
    for gate in strip.gates:
        if gate.kind != "turn":
            bends[gate.last_cut] = True
    room = np.maximum(0.0, strip.width_m - figure("line.shift_keeps_m").value)
    return np.where(bends, room, 0.0)


def _turning(edge_m: Array) -> Array:
    """By how much does this edge turn to the left at every cut? Radians, (K,), 0 at both ends."""
    way = np.diff(edge_m, axis=0)
    before, after = way[:-1], way[1:]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.pad(np.arctan2(cross, (before * after).sum(axis=1)), 1)


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
    """Shorten a throat from both sides toward their own share of it; a pull of 1 leaves what the edges do."""
    cut = gate.last_cut
    plain = min(MEASURING_MARGIN_M, strip.width_m[cut] / 2)
    held = (1 - roster.pull) * (strip.width_m[cut] - 2 * plain) / 2
    for margin, share in ((left, 1 + roster.throat_share), (right, 1 - roster.throat_share)):
        margin[:, cut] = np.maximum(margin[:, cut], plain + held * share)
