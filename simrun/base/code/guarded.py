"""Which folders can nobody else write to? What is kept there is loaded as code."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path


def trusted() -> tuple[int, ...]:
    """The users whose files we load as code: ourselves, and whoever the whole machine belongs to anyway."""
    if not hasattr(os, "getuid"):
        return (0,)
    return (os.getuid(), 0, os.lstat("/").st_uid)


def is_guarded(folder: Path) -> bool:
    """Can we write there, and nobody else, neither into it nor another folder in its place?

    Every folder on the way is looked at, and what links lead to.
    """
    state = folder.lstat()
    if not (stat.S_ISDIR(state.st_mode) and os.access(folder, os.W_OK)):
        return False
    if not hasattr(os, "getuid"):
        return True
    if state.st_uid != os.getuid() or state.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
        return False
    return all(_is_kept_from_others(place.lstat()) for place in _way_to(folder.absolute()))


def _way_to(folder: Path) -> Iterator[Path]:
    """Every folder above this one, as it is written and as links have it."""
    for place in folder.parents:
        yield place
        if place.is_symlink():
            target = place.parent / place.readlink()
            yield from (target, *_way_to(target))


def _is_kept_from_others(state: os.stat_result) -> bool:
    """Can only trusted users put something else in the place of what lies in such a folder?"""
    if state.st_uid not in trusted():
        return False
    if stat.S_ISLNK(state.st_mode) or state.st_mode & stat.S_ISVTX:
        return True
    return not state.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
