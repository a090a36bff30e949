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

RUNNERS = ["ours", "other", "losing", "slowed", "losing_most"]

LEAST_CONTRAST = 3.0
"""What parts of a picture need against what they lie on.

Web Content Accessibility Guidelines 2.1, criterion 1.4.11; memory.
"""

LEAST_DISTANCE = 60.0
"""Out of 441: about seven times what the eye can just tell side by side (our own requirement)."""


def as_seen(colour: tuple[int, int, int]) -> np.ndarray:
    linear = (np.array(colour) / 255.0) ** 2.2
    return 255.0 * np.clip(DEUTERANOPIA @ linear, 0, 1) ** (1 / 2.2)


@pytest.mark.parametrize(
    ("one", "other"),
    list(itertools.combinations([*RUNNERS, "followed", "course", "other_plan"], 2)),
)
def test_runners_differ_for_a_deuteranope(one: str, other: str) -> None:
    """Every two kinds of runner, and each against the grass, stay apart."""
    apart = np.linalg.norm(as_seen(INKS[one]) - as_seen(INKS[other]))
    assert apart > LEAST_DISTANCE, f"{one} and {other} are only {apart:.0f} apart"


def contrast(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
    """The ratio of two relative luminances (Web Content Accessibility Guidelines 2.1; memory)."""
    light = []
    for colour in (one, other):
        part = np.array(colour) / 255.0
        linear = np.where(part <= 0.03928, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
        light.append(float(linear @ [0.2126, 0.7152, 0.0722]) + 0.05)
    return max(light) / min(light)


@pytest.mark.parametrize("other", [*RUNNERS[1:], "ground", "course", "followed"])
def test_ours_stand_out_against_everybody_and_the_ground(other: str) -> None:
    """Three to one, whether they lose time or not."""
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21)
    assert contrast(INKS["ours"], INKS[other]) >= LEAST_CONTRAST


def test_the_palette_is_small_and_holds_every_ink() -> None:
    """64 entries, and every ink stands in it as it is written."""
    assert palette().shape == (COLOURS, 3)
    for name, colour in INKS.items():
        assert tuple(palette()[ink(name)].tolist()) == colour
