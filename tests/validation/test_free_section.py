"""Where nothing queues, what does passing cost?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simrun.answers.evidence.checks import RUNNERS
from simrun.answers.evidence.experiments.arena import (
    block_m,
    crowd_race,
    ground,
    straight,
    wishes_m_s,
)

WIDE_M, LONG_M, DENSITY = 12.0, 100.0, 0.15


def test_passing_on_a_free_straight_costs_two_per_cent_at_most() -> None:
    """12 m wide, 0.15 runners per m2 under way, speeds spread by 6 %, own places kept, 200 m: the mean time
    against the same people alone, three seeds.

    A deterministic queue loses nothing there; the 2 % assumed; computed
    """
    crowd = replace(RUNNERS, spread_m_s=0.06 * RUNNERS.wished_m_s)
    scenario = ground([straight(340.0, WIDE_M)], [330.0], 200.0)
    lost = []
    for seed in (1, 2, 3):
        stand = block_m(DENSITY, LONG_M, WIDE_M - 1.0, np.random.default_rng(seed))
        stand[:, 0] += 10.0
        times = []
        for alone in (False, True):
            race = crowd_race(scenario, crowd, stand, pull=0.0, alone=alone)
            race.bodies["cruise_m_s"] = race.bodies["speed"] = wishes_m_s(crowd, len(stand), seed)
            race.bodies["off"] = 1
            times.append(race.run().tape.crossing_s[:, 0])
        assert np.isfinite(times).all()
        lost.append(times[0].mean() / times[1].mean() - 1.0)
    assert 0.0 < np.mean(lost) < 0.02, f"{np.mean(lost):.4f}"
