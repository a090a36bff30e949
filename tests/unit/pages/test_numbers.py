"""How marks are called inside a sentence."""

from __future__ import annotations

import pytest

from simrun.pages.numbers import the_mark


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("hedge gap", "the hedge gap"),
        ("lap 1", "the end of lap 1"),
        ("boardwalk, lap 2", "the boardwalk on lap 2"),
        ("Brook Bend", "Brook Bend"),
        ("the old oak", "the old oak"),
    ],
)
def test_a_mark_is_called_as_it_is_said(name: str, said: str) -> None:
    """A mark that is called after a lap stands where the lap is done: nobody is "at lap 1"."""
    assert the_mark(name) == said
