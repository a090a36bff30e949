"""Which kinds of answer are there? One a folder of this room; nothing is listed by hand."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

import simrun.answers as room
import simrun.answers.whole as whole
from simrun.answers.kind import Kind


def all_kinds() -> tuple[Kind, ...]:
    """Every kind, in the order in which the commands are listed.

    What is made of several stands in `whole/`. The only place that imports by name: a folder is a kind, so
    that who adds one need not edit a list. Check: tests/architecture/test_new_kind.py.
    """
    found = [
        f"{place.__name__}.{module.name}"
        for place in (room, whole)
        for module in iter_modules(place.__path__)
        if module.ispkg
    ]
    kinds = [import_module(name).KIND for name in found if name != whole.__name__]
    return tuple(sorted(kinds, key=lambda kind: kind.place))
