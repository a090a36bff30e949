"""Can a colour-blind reader tell the runners apart?"""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from simrun.pictures.ink.colours import COLOURS, INKS, ink, palette

# Linear sRGB as a deuteranope sees it. Viénot, Brettel and Mollon 1999, Color Res. Appl. 24:243; memory
DEUTERANOPIA = np.array(
    [[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]]
)

LEAST_DISTANCE = 60.0
"""Out of 441: about seven times what the eye can just tell side by side (our own requirement)."""


def as_seen(colour: tuple[int, int, int]) -> np.ndarray:
    linear = (np.array(colour) / 255.0) ** 2.2
    return 255.0 * np.clip(DEUTERANOPIA @ linear, 0, 1) ** (1 / 2.2)


@pytest.mark.parametrize(
    ("one", "other"),
    list(itertools.combinations(["ours", "slowed", "other", "followed", "course", "ghost"], 2)),
)
def test_runners_differ_for_a_deuteranope(one: str, other: str) -> None:
    """Every two kinds of runner, and each against the grass, stay apart."""
    apart = np.linalg.norm(as_seen(INKS[one]) - as_seen(INKS[other]))
    assert apart > LEAST_DISTANCE, f"{one} and {other} are only {apart:.0f} apart"


def test_the_palette_is_small_and_holds_every_ink() -> None:
    """64 entries, and every ink stands in it as it is written."""
    assert palette().shape == (COLOURS, 3)
    for name, colour in INKS.items():
        assert tuple(palette()[ink(name)].tolist()) == colour
