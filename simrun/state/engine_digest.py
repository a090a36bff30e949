"""Which state of the engine ran a race? Times of one state are not those of another."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

from simrun.sources.library import shared_folder

ROOMS = ("course", "engine", "laws", "runners", "scenario", "sources", "state", "tactics")
"""The rooms whose text decides what happens in a race."""


def engine_digest() -> str:
    """A short name for the state of the engine: races of another state are other races."""
    package = Path(__file__).parents[1]
    files = [path for room in ROOMS for path in sorted((package / room).rglob("*.py"))]
    files += sorted((shared_folder() / "figures").glob("*.toml"))
    digest = hashlib.sha256()
    for path in files:
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:24]


@lru_cache(maxsize=1)
def running_engine() -> str:
    """The same, found once: what this process was started with."""
    return engine_digest()
