"""Nobody locks for ever in a tight place, and nobody faces backward.

A slice of the table; the whole of it, 40 seeds each: python tests/validation/test_no_lock.py 40
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from simrun.answers.evidence.checks import RUNNERS, WALKERS
from simrun.answers.evidence.experiments.lock import Place, lock_rates, locked, places
from simrun.engine.kernel.locate import across_m
from simrun.engine.run import field_of
from simrun.scenario.reader import read

CROWDS = {"runner": RUNNERS, "walker": WALKERS}
FERRY = Path(__file__).parents[2] / "scenarios" / "ferry_meadow.toml"

SLICE = [
    *(Place("turn", width, 14, angle_deg=180) for width in (0.8, 0.9, 1.2, 1.5)),
    *(Place("turn", width, 56, angle_deg=180) for width in (1.5, 2.0)),
    Place("turn", 1.2, 14, angle_deg=135),
    Place("turn", 1.2, 14, angle_deg=90, inside_m=0.5),
    Place("gap", 0.8, 56),
]


@pytest.mark.parametrize("place", SLICE, ids=str)
def test_everybody_gets_through(place: Place) -> None:
    """Five seeds of a tight turn or gap: all arrive.

    computed
    """
    for seed in range(1, 6):
        assert locked(place, RUNNERS, seed) == 0, f"{place}, seed {seed}"


@pytest.mark.slow
@pytest.mark.parametrize("width", [0.9, 1.0])
def test_walkers_get_through_a_throat(width: float) -> None:
    """150 walkers from a full room through 0.9 and 1.0 m: all arrive.

    computed
    """
    assert locked(Place("throat", width, 150, crowd="walker"), WALKERS, 1) == 0


def test_an_aim_that_is_a_place_would_lock() -> None:
    """The table is worth something: with aims that are not lengthened, some hairpins never end.

    computed
    """
    place_for_aim = RUNNERS.told(aim_least_m=0.0)
    hairpins = [Place("turn", width, 56, angle_deg=180) for width in (1.2, 1.5, 2.0)]
    assert lock_rates({"runner": place_for_aim}, hairpins, range(1, 6)).max() > 0.0


@pytest.mark.slow
def test_nobody_faces_backward() -> None:
    """The farm race, two minutes with both sharp corner and gateway: the heading along the way there is never
    below 0 after any step.

    computed
    """
    race = field_of(read(FERRY), 1, frames=False)
    least = 1.0
    for _ in range(round(150.0 / race.step_s)):
        race.advance(1)
        least = min(least, least_on(race))
    assert least > -1e-9


def least_on(race: object) -> float:
    """The least heading along the way of all who are on the course and move."""
    bodies, ground = race.bodies, race.ground  # type: ignore[attr-defined]
    seen = bodies[(bodies["gone"] == 0) & (bodies["fixed"] == 0)]
    unit = np.array([across_m(ground, int(b.cell), float(b.x), float(b.y))[3:] for b in seen])
    return float((seen["heading_y"] * unit[:, 0] - seen["heading_x"] * unit[:, 1]).min(initial=1.0))


def main() -> None:
    """Print the table of lock rates."""
    seeds, part = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1
    whole = 0.0
    for place in list(places())[::part]:
        rate = float(lock_rates(CROWDS, [place], range(1, seeds + 1))[0])
        whole += rate
        print(f"{place}: {rate:.3f}", flush=True)
    print(f"sum of the rates: {whole:.3f}, {seeds} seeds each")


if __name__ == "__main__":
    main()
