"""A tactic of one's own: which functions, with which figures, and for whom? Checked when it is made."""

from __future__ import annotations

import dis
import hashlib
import inspect
import math
import textwrap
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import FunctionType
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.tactics.own.senses import ONLY_SIDE, SENSES

EVERYBODY, OURS = "everybody", "ours"

Law = Callable[..., float]


@dataclass(frozen=True, eq=False)
class Behaviour:
    """A tactic of one's own, handed in beside a race day.

    wish: the speed wanted now, m/s, asked in every step. side: the track wanted, metres to the right of
    straight on, asked at every look for a gap, and only where others are near. Each is a plain function of
    numbers that numba can compile; its arguments are names of `SENSES` and of `figures`. What it wants is
    still subject to everything that a body does: nobody runs through anybody, brakes harder or turns tighter
    for it. who: "everybody", "ours", or a team by name. Alone-runs wish by it too, with nobody near.

    A `side` gives the mirrored race on a mirrored course only if it treats left and right alike. A wish
    that jumps makes the race hang on the step. Raises BadInput.
    Check: tests/properties/test_own_behaviour.py, tests/unit/tactics/test_own_behaviour.py.
    """

    wish: Law | None = None
    side: Law | None = None
    figures: Mapping[str, float] = field(default_factory=dict)
    who: str = EVERYBODY

    def __post_init__(self) -> None:
        object.__setattr__(self, "figures", dict(self.figures))  # nobody changes it afterwards
        if self.wish is None and self.side is None:
            raise _refused(
                "behaviour", "neither wish nor side", "a function for one of them, or both"
            )
        asked: set[str] = set()
        for what, law in (("wish", self.wish), ("side", self.side)):
            if law is not None:
                asked |= set(_checked_names(what, law, self.figures))
        for name, value in self.figures.items():
            _check_figure(name, value, asked)
        if not isinstance(self.who, str) or not self.who:
            raise _refused("who", repr(self.who), '"everybody", "ours", or the name of a team')

    def __repr__(self) -> str:
        """What it is called, its figures and for whom it is."""
        told = ", ".join(f"{name}={value:g}" for name, value in self.figures.items())
        return f"<Behaviour {self.word}: {told or 'no figures'}, for {self.who}>"

    @property
    def word(self) -> str:
        """What it is called: its functions by name."""
        return " and ".join(plain_of(law).__name__ for law in (self.wish, self.side) if law)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Behaviour) and self.digest == other.digest

    def __hash__(self) -> int:
        return hash(self.digest)

    @cached_property
    def digest(self) -> str:
        """A short name for what it does: its functions' text with all of their own that they call, the
        figures, and for whom it is. Races by another one are other races."""
        parts = [
            repr(sorted((name, float(value)) for name, value in self.figures.items())),
            self.who,
        ]
        for law in (self.wish, self.side):
            parts += ["", *(_texts(plain_of(law), set()) if law else ())]
        return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:24]


def plain_of(law: Law) -> FunctionType:
    """The Python function, also of one that numba has compiled."""
    given: Any = law
    plain: FunctionType = getattr(given, "py_func", given)
    return plain


def names_of(law: Law) -> list[str]:
    """The arguments of a function, in order."""
    return list(inspect.signature(plain_of(law)).parameters)


def _checked_names(what: str, law: Law, figures: Mapping[str, float]) -> list[str]:
    """The arguments, each of them known. Raises BadInput."""
    plain = plain_of(law)
    if not isinstance(plain, FunctionType):
        raise _refused(what, repr(law)[:60], "a function written in Python, with def")
    if (
        plain.__name__ == "<lambda>"
    ):  # two on one line could not be told apart, and pages call it by its name
        raise _refused(what, "a lambda", "a function with a name, made with def")
    for one in inspect.signature(plain).parameters.values():
        if one.kind is not one.POSITIONAL_OR_KEYWORD or one.default is not one.empty:
            allowed = "plain arguments without a value; what is set stands under figures"
            raise _refused(f"{what} {plain.__name__}", f"the argument {one}", allowed)
        known = [name for name in SENSES if what == "side" or name not in ONLY_SIDE]
        if one.name not in known and one.name not in figures:
            near = nearest_word(one.name, [*known, *figures])
            allowed = "known are " + ", ".join([*known, *figures])
            raise BadInput(
                Problem(f"{what} {plain.__name__}", f"the argument {one.name!r}", allowed, near)
            )
    if any(step.opname == "RAISE_VARARGS" for step in dis.get_instructions(plain)):
        allowed = "a number for every runner at every moment"
        raise _refused(f"{what} {plain.__name__}", "raises an error", allowed)
    return names_of(law)


def _check_figure(name: str, value: object, asked: set[str]) -> None:
    if name in SENSES:
        raise _refused(f"figures.{name}", "the name of what a runner sees", "another name")
    if name not in asked:
        near = nearest_word(name, asked)
        raise BadInput(
            Problem(f"figures.{name}", "asked for by no function", "a figure that is used", near)
        )
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise _refused(f"figures.{name}", repr(value)[:60], "a finite number")


def _texts(plain: FunctionType, seen: set[int]) -> Iterator[str]:
    """The text of a function, and of all that its module has under the names it uses."""
    if id(plain) in seen:
        return
    seen.add(id(plain))
    yield _text(plain)
    inner = inspect.getclosurevars(plain)
    for name, value in sorted({**inner.globals, **inner.nonlocals}.items()):
        called = plain_of(value)
        if isinstance(called, FunctionType):
            yield from _texts(called, seen)
        elif not inspect.ismodule(value):
            yield f"{name} = {value!r}"


def _text(plain: FunctionType) -> str:
    """What a function says; one typed in by hand has only its compiled steps."""
    try:
        return textwrap.dedent(inspect.getsource(plain))
    except (OSError, TypeError):
        code: Any = plain.__code__
        return f"{code.co_code.hex()} {code.co_consts!r} {code.co_names!r}"


def _refused(key: str, found: str, allowed: str) -> BadInput:
    return BadInput(Problem(key, found, allowed))
