"""Pieces written one after the other become a chain of cuts."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.course.source import CourseSource, Laps, Piece
from simrun.course.strip import EdgeKind, Side

Array = NDArray[np.float64]

MOUTH_M = 1.0
"""Over how many metres a piece other than a narrowing takes its own width."""

RUN_OUT_M = 30.0
"""Ground behind the finish, so that nobody stops on the line; a runner is taken off after it."""

RUN_OUT_CELLS = 2

FAN_STEP_DEG = 1.5
"""Largest angle between two cuts of a turn: a 400 m track is right to 1 mm (test_geometry)."""

LAP_CLOSES_WITHIN_M = 0.5


@dataclass
class Chain:
    """Cuts as they are laid, K of them, and what belongs to every cell or cut.

    first_laid: the first and the last cut of every named piece as it was laid first. repeats: the same
    of ground that is laid again, and by how many cuts further on it then lies.
    """

    left: list[Array] = field(default_factory=list)
    right: list[Array] = field(default_factory=list)
    height: list[float] = field(default_factory=list)
    cell_piece: list[int] = field(default_factory=list)
    bend: list[tuple[int, float, float]] = field(default_factory=list)
    spans: list[Span] = field(default_factory=list)
    first_laid: dict[str, tuple[int, int]] = field(default_factory=dict)
    repeats: list[tuple[int, int, int]] = field(default_factory=list)

    def lay(self, left: Array, right: Array, height: float, piece: int) -> None:
        """Lay the next cut; `piece` is the index of the piece the cell before it belongs to."""
        if self.left:
            self.cell_piece.append(piece)
        self.left.append(left)
        self.right.append(right)
        self.height.append(height)
        self.bend.append((0, np.inf, 0.0))


@dataclass(frozen=True)
class Span:
    """The cuts a piece covers: a gate if it is a turn or a throat."""

    piece: int
    first_cut: int
    last_cut: int
    lap: int = 1


def lay_pieces(source: CourseSource) -> Chain:
    """Lay every piece from the start line on; laps are laid as often as they are run."""
    chain = Chain()
    width = source.pieces[0].width_m or source.start_width_m
    _lay_apron(chain, source, width)
    for index, piece in enumerate(source.pieces):
        begin = len(chain.left) - 1
        if piece.kind == "again":
            _again(chain, piece.first, piece.last, f"course.pieces.{piece.name or index + 1}")
        else:
            _lay_piece(chain, index, piece)
        if piece.name:
            chain.first_laid[piece.name] = (begin, len(chain.left) - 1)
        if source.laps and piece.name == source.laps.last:
            _repeat(chain, source.laps)
    for length in (RUN_OUT_M, 1.0):
        _straight(chain, len(source.pieces) - 1, length, 0.0)
    return chain


def _lay_apron(chain: Chain, source: CourseSource, width: float) -> None:
    for x in (-source.apron_m, 0.0):
        chain.lay(np.array([x, width / 2]), np.array([x, -width / 2]), 0.0, 0)


def _lay_piece(chain: Chain, index: int, piece: Piece) -> None:
    first = len(chain.left) - 1
    if piece.kind == "turn":
        _mouth(chain, index, piece)
        first = len(chain.left) - 1
        _turn(chain, index, piece)
        chain.spans.append(Span(index, first, len(chain.left) - 1))
    elif piece.kind == "narrowing":
        _taper(chain, index, piece, piece.length_m)
        chain.spans.append(Span(index, len(chain.left) - 1, len(chain.left) - 1))
    elif piece.kind == "gap":
        _gap(chain, index, piece)
    else:
        mouth = _mouth(chain, index, piece)
        if mouth < 0:
            chain.spans.append(Span(index, len(chain.left) - 1, len(chain.left) - 1))
        used = MOUTH_M if mouth else 0.0
        _straight(chain, index, piece.length_m - used, piece.climb_m)


def _ahead(chain: Chain) -> Array:
    across = chain.right[-1] - chain.left[-1]
    return np.array([-across[1], across[0]]) / np.hypot(*across)


def _width(chain: Chain) -> float:
    return float(np.hypot(*(chain.right[-1] - chain.left[-1])))


def _straight(chain: Chain, index: int, length: float, climb: float) -> None:
    forward = _ahead(chain) * length
    chain.lay(chain.left[-1] + forward, chain.right[-1] + forward, chain.height[-1] + climb, index)


def _taper(chain: Chain, index: int, piece: Piece, length: float) -> None:
    """Come in (or open out) to the piece's width over `length`, on one side or on both."""
    before = _width(chain)
    change = before - (piece.width_m if piece.width_m is not None else before)
    unit = (chain.right[-1] - chain.left[-1]) / before
    from_left = {Side.LEFT: 1.0, Side.RIGHT: 0.0}.get(piece.side, 0.5)
    if piece.kind != "narrowing":
        from_left = 0.5
    forward = _ahead(chain) * length
    left = chain.left[-1] + forward + unit * change * from_left
    right = chain.right[-1] + forward - unit * change * (1 - from_left)
    climb = piece.climb_m if piece.kind == "narrowing" else 0.0
    chain.lay(left, right, chain.height[-1] + climb, index)


def _mouth(chain: Chain, index: int, piece: Piece) -> int:
    """Take the piece's width at once; -1 if that narrows the course, 1 if it widens, 0 if neither."""
    if piece.width_m is None or abs(piece.width_m - _width(chain)) < 1e-9:
        return 0
    narrows = piece.width_m < _width(chain)
    _taper(chain, index, piece, MOUTH_M)
    return -1 if narrows else 1


def _gap(chain: Chain, index: int, piece: Piece) -> None:
    """A gap in a wall: in, through, and out to the width before."""
    before = _width(chain)
    _taper(chain, index, piece, MOUTH_M)
    chain.spans.append(Span(index, len(chain.left) - 1, len(chain.left) - 1))
    _straight(chain, index, piece.length_m, piece.climb_m)
    opened = Piece(kind="straight", width_m=before)
    _taper(chain, index, opened, MOUTH_M)


def _turn(chain: Chain, index: int, piece: Piece) -> None:
    """A fan of cuts about the centre of the turn.

    Inner cuts of the fan lie a touch further out, so that its chords are together as long as the arc.
    """
    to_left = piece.side == Side.LEFT
    unit = (chain.right[-1] - chain.left[-1]) / _width(chain)
    outward = unit if to_left else -unit
    inner = chain.left[-1] if to_left else chain.right[-1]
    centre = inner - outward * piece.inside_radius_m
    steps = max(2, int(np.ceil(piece.angle_deg / FAN_STEP_DEG)))
    angle = np.deg2rad(piece.angle_deg)
    width, height, out = _width(chain), chain.height[-1], _stretch(angle / steps, steps)
    for step in range(steps + 1):
        turn = angle * step / steps * (1 if to_left else -1)
        direction = _turned(outward, turn)
        stretch = out if 0 < step < steps else 1.0
        near = centre + direction * piece.inside_radius_m * stretch
        far = centre + direction * (piece.inside_radius_m + width) * stretch
        if step:
            ends = (near, far) if to_left else (far, near)
            chain.lay(*ends, height + piece.climb_m * step / steps, index)
        chain.bend[-1] = (-1 if to_left else 1, piece.inside_radius_m, angle)


def _stretch(step_rad: float, steps: int) -> float:
    """How much further out must the inner cuts lie? Solved by halving; the same for every radius.

    2 sqrt(1 + k^2 - 2 k cos t) + (n - 2) 2 k sin(t/2) = n t.
    """
    low, high = 1.0, 1.0 + step_rad
    for _ in range(60):
        k = (low + high) / 2
        ends = 2 * np.sqrt(1 + k * k - 2 * k * np.cos(step_rad))
        inner = (steps - 2) * 2 * k * np.sin(step_rad / 2)
        low, high = (k, high) if ends + inner < steps * step_rad else (low, k)
    return float(low)


def _turned(vector: Array, angle: float) -> Array:
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.array([cosine * vector[0] - sine * vector[1], sine * vector[0] + cosine * vector[1]])


def _repeat(chain: Chain, laps: Laps) -> None:
    """Lay the cuts of the lap again, on the same ground, once for every further lap."""
    for _ in range(laps.times - 1):
        _again(chain, laps.first, laps.last, "course.laps")


def _again(chain: Chain, first: str, last: str, key: str) -> None:
    """Lay the pieces `first` to `last` once more on the same ground; the course must have come back to it."""
    for word, name in (("from", first), ("to", last)):
        if name not in chain.first_laid:
            nearest, allowed = nearest_word(name, chain.first_laid), "a piece that was laid before"
            raise BadInput(Problem(f"{key}.{word}", f"{name!r}", allowed, nearest))
    begin, end = chain.first_laid[first][0], chain.first_laid[last][1]
    _check_closed(chain, begin, key)
    here = len(chain.left) - 1
    chain.left[here], chain.right[here] = chain.left[begin], chain.right[begin]
    chain.height[here] = chain.height[begin]
    shift = here - begin
    chain.repeats.append((begin, end, shift))
    for k in range(begin + 1, end + 1):
        chain.lay(chain.left[k], chain.right[k], chain.height[k], chain.cell_piece[k - 1])
        chain.bend[-1] = chain.bend[k]
    for span in [s for s in chain.spans if begin <= s.first_cut and begin < s.last_cut <= end]:
        lap = 1 + sum(other.piece == span.piece for other in chain.spans)
        chain.spans.append(Span(span.piece, span.first_cut + shift, span.last_cut + shift, lap))


def _check_closed(chain: Chain, begin: int, key: str) -> None:
    """Raise BadInput where the last cut laid does not lie where the cut `begin` does."""
    off = [chain.left[-1] - chain.left[begin], chain.right[-1] - chain.right[begin]]
    away = max(float(np.hypot(*way)) for way in off)
    if away > LAP_CLOSES_WITHIN_M:
        forward = np.array([-1.0, 1.0]) * _across(chain, begin)[::-1]
        along, aside = float(off[0] @ forward), float(off[0] @ _across(chain, begin))
        allowed = (
            f"it must close within {LAP_CLOSES_WITHIN_M} m (left edge {along:+.2f} m ahead, "
            f"{aside:+.2f} m to the right of the lap's beginning)"
        )
        found = f"the lap ends {away:.1f} m away from where it begins"
        raise BadInput(Problem(key, found, allowed))
    climbed = chain.height[-1] - chain.height[begin]
    if abs(climbed) > LAP_CLOSES_WITHIN_M:
        found = f"the lap ends {climbed:+.1f} m above where it begins"
        allowed = f"its climbs must add up to nothing, within {LAP_CLOSES_WITHIN_M} m"
        raise BadInput(Problem(key, found, allowed))


def _across(chain: Chain, cut: int) -> Array:
    across = chain.right[cut] - chain.left[cut]
    return across / np.hypot(*across)


def edge_kinds(
    chain: Chain, pieces: tuple[Piece, ...]
) -> tuple[NDArray[np.int8], NDArray[np.int8]]:
    """The edge kinds of every cell; the inside of a turn is never open: its flags bind."""
    kinds = []
    for side in (Side.LEFT, Side.RIGHT):
        row = []
        for index in chain.cell_piece:
            piece = pieces[index]
            kind = piece.left_edge if side == Side.LEFT else piece.right_edge
            binds = piece.kind == "turn" and piece.side == side and kind == EdgeKind.OPEN
            row.append(EdgeKind.MARKED if binds else kind)
        kinds.append(np.array(row, dtype=np.int8))
    return kinds[0], kinds[1]
