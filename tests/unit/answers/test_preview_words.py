"""How the places of a walk are called."""

from __future__ import annotations

import pytest

from simrun.answers.whole.preview.words import the_place


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("400 m", "the 400 m mark"),
        ("1.5 km", "the 1.5 km mark"),
        ("half mile", "the half mile"),
        ("25 m before the hedge gap", "25 m before the hedge gap"),
        ("lap 1", "the end of lap 1"),
    ],
)
def test_a_place_is_called_as_it_is_said(name: str, said: str) -> None:
    """Read aloud: "Next: the 400 m mark in 100 m"."""
    assert the_place(name) == said
