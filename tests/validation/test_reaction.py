"""Do runners hear the gun and react no sooner than people can?"""

from __future__ import annotations

import numpy as np
import pytest

from simrun.runners.reaction import draw_reaction_s, shortest_reaction_s, sound_delay_s
from simrun.runners.streams import stream
from simrun.sources import figure

pytestmark = pytest.mark.oracle


@pytest.mark.parametrize(("body", "floor_s"), [("men", 0.109), ("women", 0.121)])
def test_nobody_reacts_sooner_than_people_can(body: str, floor_s: float) -> None:
    """Of 100,000 runners nobody moves before the shortest genuine reaction, and some near it.

    Source: start-block studies, shortest genuine reactions 0.109 s (men) and 0.121 s (women); seen.
    """
    drawn = draw_reaction_s(body, 100_000, stream(2026, "reactions"))
    assert shortest_reaction_s(body) == floor_s
    assert drawn.min() >= floor_s
    assert drawn.min() < floor_s + 0.05


def test_the_far_end_of_a_50_m_line_hears_the_gun_later() -> None:
    """Gun at one end of a 50 m line: 50 / 343 = 0.146 s to the other.

    Source: speed of sound 343 m/s at 20 degrees C, memory; delay computed.
    """
    delay_s = sound_delay_s(np.linspace(0.0, 50.0, 26))
    entry = figure("start.sound_50_m_s")
    assert entry.holds(float(delay_s[-1])), entry.against(float(delay_s[-1]))
    assert delay_s[0] == 0.0
    assert np.all(np.diff(delay_s) > 0.0)
