"""How does a behaviour of one's own get into a compiled race?

As the address of a small compiled function of plain numbers: the kernel is compiled once for all
behaviours, and another time for none, where nothing of this is left in it.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.tactics.own.behaviour import EVERYBODY, OURS, Behaviour, Law, names_of, plain_of
from simrun.tactics.own.senses import MOST_M_S, SENSES, WISH


class Hooks(NamedTuple):
    """What the kernel asks: wish and side of all SENSES, and of whom (N,): 1 where they count. wrong (4,):
    the first answer that was none: its runner (-1: none yet), seconds since the gun, what was answered, WISH
    or SIDE."""

    wish: Any
    side: Any
    who: NDArray[np.int8]
    wrong: NDArray[np.float64]


def hooks_for(behaviour: Behaviour, team: NDArray[np.str_], ours: str | None) -> Hooks:
    """The hooks for these runners, by their teams' names (N,); ours: which team is. Raises BadInput."""
    wish, side = _compiled(behaviour)
    return Hooks(wish, side, _who(behaviour.who, team, ours), np.array([-1.0, 0.0, 0.0, 0.0]))


def check_answers(hooks: Hooks, behaviour: Behaviour, names: tuple[str, ...]) -> None:
    """Raises BadInput where an answer was none: who, when, what."""
    row, t_s, answered, which = hooks.wrong.tolist()
    if row < 0:
        return
    what, law = (("wish", behaviour.wish), ("side", behaviour.side))[int(which)]
    assert law is not None
    found = f"{answered:g} for {names[int(row)]}, {t_s:.2f} s after the gun"
    allowed = (
        f"a speed from 0 to {MOST_M_S:g} m/s"
        if which == WISH
        else "a track that can be seen, in metres"
    )
    raise BadInput(Problem(f"{what} {plain_of(law).__name__}", found, f"{allowed}, every time"))


def _who(who: str, team: NDArray[np.str_], ours: str | None) -> NDArray[np.int8]:
    if who == EVERYBODY:
        return np.ones(len(team), dtype=np.int8)
    name = ours if who == OURS else who
    if name is None:
        raise BadInput(Problem("who", OURS, "a race day on which a team is ours"))
    return np.asarray(team == name, dtype=np.int8)


def check_team(behaviour: Behaviour, teams: list[str], ours: str | None) -> None:
    """Raises BadInput where nobody of this race day would go by it."""
    if behaviour.who == OURS and ours is None:
        raise BadInput(Problem("who", OURS, "a race day on which a team is ours"))
    if behaviour.who not in (EVERYBODY, OURS, *teams):
        allowed = f'"{EVERYBODY}", "{OURS}", or a team: ' + ", ".join(teams[:30])
        near = nearest_word(behaviour.who, teams)
        raise BadInput(Problem("who", f"no team {behaviour.who!r}", allowed, near))


@lru_cache(maxsize=16)
def _compiled(behaviour: Behaviour) -> tuple[Any, Any]:
    return (
        _hook("wish", behaviour.wish, "wished_m_s", behaviour),
        _hook("side", behaviour.side, "offset_m", behaviour),
    )


def _hook(what: str, law: Law | None, otherwise: str, behaviour: Behaviour) -> Any:
    """A function of all SENSES that hands on those which are asked for; without one: as it would be."""
    from simrun.base.code.compiling import called_by_kernel

    names = ", ".join(SENSES)
    if law is None:
        given = otherwise
    else:
        figures = {name: repr(float(value)) for name, value in behaviour.figures.items()}
        given = f"law({', '.join(figures.get(name, name) for name in names_of(law))})"
    try:
        return called_by_kernel(law, f"lambda {names}: {given}", len(SENSES))
    except TypeError as wrong:
        assert law is not None
        allowed = "a function of plain numbers that numba can compile, which answers a number"
        raise BadInput(Problem(f"{what} {plain_of(law).__name__}", str(wrong), allowed)) from None
