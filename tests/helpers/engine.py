"""Has the engine been compiled? Whoever needs it so says it here, and no test needs another to have run."""

from __future__ import annotations

from pathlib import Path

import simrun

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def prepare_engine() -> None:
    """Read a drawn course, run a second of a race: all that is needed is compiled, or found in the cache."""
    simrun.read(SCENARIOS / "ostrel_common.toml")
    simrun.race(simrun.read(SCENARIOS / "dual_meet.toml").changed({"clock.limit": 1}), seed=1)


if __name__ == "__main__":
    prepare_engine()
