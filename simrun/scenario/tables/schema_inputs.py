"""What may be written about the inputs that nobody has measured? Told, narrowed, or drawn with the seed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.runners.streams import point_number, point_of
from simrun.scenario.tables.learnt_sample import Learnt, parse_learnt
from simrun.scenario.tables.values import (
    LONGEST_NAME,
    RefusedError,
    Text,
    plain_number,
    shown,
    shown_key,
)
from simrun.sources.assumed import assumed_inputs

Range = tuple[float, float]
Read = TypeVar("Read")

OWN_KEYS = ("drawn", "ranges", "learnt")
SHOWN_KEYS = 6

NEAR = 1e-5
"""Learnt values are written with six digits."""

MOST_PARTS = 3
"""No figure's key has more parts; what is nested deeper is no key of ours."""


@dataclass(frozen=True)
class Inputs:
    """What a race day says of the assumed figures that decide a race, by their keys.

    told: values that hold in every race. ranges: narrower than declared. drawn: with every seed all that is
    not told lies elsewhere in its range, evenly; otherwise it has the value of the figure. learnt: draws of
    inputs that were narrowed by what people had seen; they take the place of the ranges. learnt_file: the
    name that is written, whether the file can be read or not.
    """

    told: Mapping[str, float] = field(default_factory=dict)
    ranges: Mapping[str, Range] = field(default_factory=dict)
    drawn: bool = False
    learnt: Learnt | None = None
    learnt_file: str = ""

    @cached_property
    def free(self) -> dict[str, Range]:
        """Everything that is not told, with its range: learnt, written, or declared."""
        learnt = self.learnt.ends if self.learnt else {}
        return {
            key: learnt.get(key) or self.ranges.get(key, (figure.low, figure.high))
            for key, figure in assumed_inputs().items()
            if key not in self.told
        }

    def settles(self, key: str) -> bool:
        """Is this input's value in a race that of these inputs, whatever the field's own table says?"""
        return self.drawn or key in self.told or bool(self.learnt and key in self.learnt.keys)

    def value_at(self, key: str, share: float) -> float:
        """What value does an input have this share of the way up what it may be, 0 to 1, taken by itself?"""
        if self.learnt and key in self.learnt.keys:
            return self.learnt.value_at(key, share)
        low, high = self.free[key]
        return low + share * (high - low)

    def of_seed(self, seed: int) -> dict[str, float]:
        """Which values hold in the race of this seed? Only those that are told, learnt or drawn.

        A figure that is told, or left out of the ranges, moves no other. Learnt inputs are those of one draw,
        all together; with nothing drawn every one of them is its median.
        Check: tests/unit/scenario/test_inputs.py, tests/unit/scenario/test_learnt_inputs.py.
        """
        if not self.drawn:
            return {**(self.learnt.middle if self.learnt else {}), **self.told}
        known = assumed_inputs()
        at = dict(zip(known, point_of(seed, len(known)), strict=True))
        drawn = {key: low + at[key] * (high - low) for key, (low, high) in self.free.items()}
        learnt = self.learnt.draw(point_number(seed)) if self.learnt else {}
        return {**self.told, **drawn, **learnt}


def read_inputs(
    written: object, attachments: Mapping[str, str] | None = None
) -> tuple[Inputs, list[Problem]]:
    """The table [inputs], and what is wrong with it: a Problem a mistake. attachments: texts by file name."""
    if not isinstance(written, Mapping):
        return Inputs(), [Problem("inputs", shown(written), "a table [inputs] is wanted")]
    problems: list[Problem] = []
    drawn = written.get("drawn", False)
    if not isinstance(drawn, bool):
        problems.append(Problem("inputs.drawn", shown(drawn), "true or false"))
    ranges = written.get("ranges", {})
    if not isinstance(ranges, Mapping):
        problems.append(Problem("inputs.ranges", shown(ranges), "a table of ranges is wanted"))
        ranges = {}
    rest = {key: value for key, value in written.items() if key not in OWN_KEYS}
    told = _read(rest, "inputs", _value, problems)
    narrowed = _read(ranges, "inputs.ranges", _range, problems)
    problems += [
        Problem(f"inputs.{key}", "told, and a range of it as well", "one of the two")
        for key in told
        if key in narrowed
    ]
    file, learnt = _learnt(written.get("learnt"), told, attachments or {}, problems)
    problems += _outside(learnt, narrowed)
    return Inputs(told, narrowed, drawn is True, learnt, file), problems


def _learnt(
    name: object,
    told: Mapping[str, float],
    attachments: Mapping[str, str],
    problems: list[Problem],
) -> tuple[str, Learnt | None]:
    """The name of the file of what was learnt, and its draws where it is at hand and all are told right."""
    if name is None:
        return "", None
    try:
        file = Text(longest=200)(name)
    except RefusedError as wrong:
        problems.append(Problem("inputs.learnt", wrong.found, wrong.allowed, wrong.nearest))
        return "", None
    try:
        return file, parse_learnt(attachments[file], file, told) if file in attachments else None
    except BadInput as wrong:
        problems += wrong.problems
        return file, None


def _outside(learnt: Learnt | None, ranges: Mapping[str, Range]) -> Iterator[Problem]:
    """What was learnt before a range was written may lie outside of it."""
    for key, (low, high) in learnt.ends.items() if learnt else ():
        least, most = ranges.get(key, (low, high))
        if low < least * (1 - NEAR) - NEAR or high > most * (1 + NEAR) + NEAR:
            found = f"{least:g} to {most:g}, but learnt was {low:g} to {high:g}"
            yield Problem(f"inputs.ranges.{key}", found, "learn again with this range")


def _flat(table: Mapping[str, object], before: str = "") -> Iterator[tuple[str, object]]:
    """Keys as figures are called, whether they stand in quotation marks or not."""
    for key, value in table.items():
        if isinstance(value, Mapping) and before.count(".") < MOST_PARTS:
            yield from _flat(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", value


def _read(
    table: Mapping[str, object],
    where: str,
    read: Callable[[str, object], Read],
    problems: list[Problem],
) -> dict[str, Read]:
    """Every entry of a table by its figure's key; what is wrong is added to the problems."""
    found: dict[str, Read] = {}
    for key, value in _flat(table):
        try:
            if key in found:
                raise RefusedError("twice", "every input once")
            _check_known(key, OWN_KEYS if where == "inputs" else ())
            found[key] = read(key, value)
        except RefusedError as wrong:
            place = f"{where}.{shown_key(key)}"
            problems.append(Problem(place, wrong.found, wrong.allowed, wrong.nearest))
    return found


def _check_known(key: str, others: tuple[str, ...]) -> None:
    known = list(assumed_inputs())
    if key not in known:
        some = "; ".join([*others, *known[:SHOWN_KEYS]])
        allowed = f"an assumed figure that decides a race, allowed here: {some}; ..."
        raise RefusedError(
            "no such input", allowed, nearest_word(key[:LONGEST_NAME], [*known, *others])
        )


def _value(key: str, value: object) -> float:
    figure = assumed_inputs()[key]
    allowed = f"a number from {figure.low:g} to {figure.high:g}" + f" {figure.unit}".rstrip()
    number = plain_number(value, allowed)
    if not figure.holds(number):
        raise RefusedError(shown(value), allowed)
    return number


def _range(key: str, value: object) -> Range:
    figure = assumed_inputs()[key]
    allowed = f"two numbers within {figure.low:g} to {figure.high:g}" + f" {figure.unit}".rstrip()
    allowed += ", the lower one first"
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise RefusedError(shown(value), allowed)
    low, high = (plain_number(end, allowed) for end in value)
    if not figure.low <= low <= high <= figure.high:
        raise RefusedError(f"{low:g} to {high:g}", allowed)
    return low, high
