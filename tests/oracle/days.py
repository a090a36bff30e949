"""Race days on which a pencil can say what comes out."""

from __future__ import annotations

from collections.abc import Mapping

SPEED_M_S = 5.0
"""5000 m in 16:40."""


def _table(head: str, /, **keys: str | int) -> str:
    said = (f'"{value}"' if isinstance(value, str) else value for value in keys.values())
    return "\n".join([head, *(f"{key} = {value}" for key, value in zip(keys, said, strict=True))])


def _road(length: int, **keys: int) -> str:
    return _table("[[course.pieces]]", piece="straight", length=length, **keys, surface="road")


def _day(
    name: str,
    line: str,
    pieces: list[str],
    marks: Mapping[str, int],
    teams: list[str],
    limit: str = "5 min",
) -> str:
    """One runner a team, of one speed, the first team in box 1; line: the start table, but for its rows."""
    tables = [
        f'\nname = "{name}"',
        _table("[clock]", limit=limit),
        f"[start]\n{line}\nfront_row = 1",
        "[course]",
        *pieces,
        *(_table("[[course.checkpoints]]", name=mark, at=at) for mark, at in marks.items()),
        _table("[field]", ability="even", time="16:40", runners=1, opening=0),
        *(_table("[[teams]]", name=team, box=box) for box, team in enumerate(teams, 1)),
    ]
    return "\n".join(tables) + "\n"


ALONE = _day(
    "Alone",
    "width = 3\nboxes = 1\nbox_width = 3",
    [_road(600, width=3)],
    {"near": 100, "far": 500},
    ["One"],
)

FAN = _day(
    "Fan",
    "width = 60\nboxes = 3\nbox_width = 20",
    [_road(100, width=60), _road(300, width=2)],
    {"gate": 100, "end": 390},
    ["Left", "Middle", "Right"],
)
"""Three alone in boxes 20 m apart, and a gate of 2 m straight ahead of the middle one at 100 m."""


def _boxes(more: list[str], last: int) -> str:
    """As wide as the line all the way, {boxes} and {limit} left open."""
    line = "width = 60\nboxes = {boxes}\nbox_width = 12"
    pieces = [_road(150, width=60), *more]
    return _day("Boxes", line, pieces, {"before": 100, "after": last}, ["One"], "{limit} s")


TURN = _table("[[course.pieces]]", piece="turn", side="left", angle=90, inside_radius=5)

BOXES = _boxes([TURN, _road(150)], 290)
"""Only the turn at its end tells the boxes apart."""

STRAIGHT = _boxes([], 145)
