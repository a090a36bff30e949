"""Are invented names enough, different, and the same again?"""

from __future__ import annotations

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.runners.names import FAMILY, GIVEN, MOST, invented_names
from simrun.runners.streams import stream


def test_there_are_names_for_the_largest_entry_list_and_no_two_alike() -> None:
    names = invented_names(3000, stream(1, "names"))
    assert len(set(names)) == 3000
    assert len(set(GIVEN)) * len(set(FAMILY)) == MOST


def test_more_names_keep_those_before() -> None:
    assert invented_names(20, stream(1, "names"))[:7] == invented_names(7, stream(1, "names"))


def test_other_seeds_meet_other_people() -> None:
    assert invented_names(7, stream(1, "names")) != invented_names(7, stream(2, "names"))


def test_every_name_can_be_read_aloud() -> None:
    for name in invented_names(500, stream(3, "names")):
        given, family = name.split(" ")
        assert given.istitle()
        assert family.istitle()
        assert len(name) <= 20


@pytest.mark.parametrize("count", [-1, MOST + 1])
def test_more_than_there_are_is_refused(count: int) -> None:
    with pytest.raises(BadInput, match=f"runners: {count}; 0 to {MOST}"):
        invented_names(count, np.random.default_rng(1))
