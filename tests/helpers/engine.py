"""Has the engine been compiled? Whoever needs it so says it here, and no test needs another to have run."""

from __future__ import annotations

from pathlib import Path

import simrun

SCENARIO = Path(__file__).parents[2] / "scenarios" / "dual_meet.toml"


def prepare_engine() -> None:
    """Run a second of a race: what it needs is compiled, or found in the cache."""
    simrun.race(simrun.read(SCENARIO).changed({"clock.limit": 1}), seed=1)


if __name__ == "__main__":
    prepare_engine()
