"""The race day whose people go by a behaviour of one's own: what it says of it, and while days are read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar

from simrun.scenario.scenario import Scenario

_TOLD: ContextVar[Mapping[str, str] | None] = ContextVar("behaviour", default=None)


def with_behaviour(scenario: Scenario, told: Mapping[str, str]) -> Scenario:
    """The race day that says so; told: as of `BehaviourTable`. What it does is found by its digest."""
    return scenario.changed({"behaviour": dict(told)})


def without_behaviour(scenario: Scenario) -> Scenario:
    """The race day by the plan and nothing else."""
    return scenario if scenario.behaviour is None else scenario.changed({"behaviour": None})


@contextmanager
def every_day_read_with(told: Mapping[str, str] | None) -> Iterator[None]:
    """Every race day that is read from a file within this block says so. None: as they are."""
    token = _TOLD.set(told)
    try:
        yield
    finally:
        _TOLD.reset(token)


def as_told(scenario: Scenario) -> Scenario:
    """The race day as it was read, with the behaviour of this block, if there is one."""
    told = _TOLD.get()
    return scenario if told is None else with_behaviour(scenario, told)
