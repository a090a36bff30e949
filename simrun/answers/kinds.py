"""Which kinds of answer are there? One a folder of this room; nothing is listed by hand."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

import simrun.answers as room
from simrun.answers.kind import Kind


def all_kinds() -> tuple[Kind, ...]:
    """Every kind, in the order in which the commands are listed.

    The only place that imports by name: a folder is a kind, so that who adds one need not edit a list.
    Check: tests/architecture/test_new_kind.py.
    """
    folders = [found.name for found in iter_modules(room.__path__) if found.ispkg]
    kinds = [import_module(f"{room.__name__}.{name}").KIND for name in sorted(folders)]
    return tuple(sorted(kinds, key=lambda kind: kind.place))
