"""Are reactions later than the shortest, and skewed?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.runners.reaction import draw_reaction_s, shortest_reaction_s, sound_delay_s
from simrun.runners.streams import stream
from simrun.sources import figure

pytestmark = pytest.mark.oracle


@given(st.integers(0, 2**63), st.sampled_from(["men", "women"]))
def test_nobody_reacts_before_the_shortest_reaction(seed: int, body: str) -> None:
    drawn = draw_reaction_s(body, 300, stream(seed, "reactions"))
    assert drawn.min() > shortest_reaction_s(body)
    assert np.all(np.isfinite(drawn))


def test_reactions_have_the_assumed_median_and_a_tail_to_the_right() -> None:
    drawn = draw_reaction_s("men", 100_000, stream(2, "reactions")) - shortest_reaction_s("men")
    spread = figure("start.reaction_spread").value
    assert np.mean(drawn) > np.median(drawn)
    logs = np.log(drawn / figure("start.reaction_excess_s").value)
    assert abs(np.mean(logs)) < 4.0 * spread / np.sqrt(100_000)
    assert abs(np.std(logs) - spread) < 4.0 * spread / np.sqrt(200_000)


def test_more_runners_leave_the_first_ones_as_they_were() -> None:
    few = draw_reaction_s("men", 50, stream(4, "reactions"))
    assert np.array_equal(draw_reaction_s("men", 90, stream(4, "reactions"))[:50], few)


def test_sound_takes_no_time_to_the_one_beside_the_gun() -> None:
    assert np.array_equal(sound_delay_s(np.array([0.0, 343.0])), [0.0, 1.0])


def test_an_unknown_body_is_refused() -> None:
    with pytest.raises(BadInput, match="body: 'horse'"):
        draw_reaction_s("horse", 1, stream(1, "reactions"))
