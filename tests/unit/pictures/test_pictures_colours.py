"""Can a colour-blind reader tell apart what colours stand for, in film, page, charts and maps?"""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import numpy as np
import pytest
from matplotlib import colormaps
from numpy.typing import NDArray

import simrun
from simrun.pictures.charts.chart import COLOUR_MAP
from simrun.pictures.ink.colours import COLOURS, INKS, PART_INKS, ink, palette

Array = NDArray[np.float64]

SIGHTS = {
    "usual sight": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}  # fmt: skip
"""Linear sRGB as it is seen, each at its full strength.

Machado, Oliveira and Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15:1291; memory, agreeing with several
public tables.
"""

XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""IEC 61966-2-1; memory."""

LEAST_CONTRAST = 3.0
"""What parts of a picture need against what they lie on.

Web Content Accessibility Guidelines 2.1, criterion 1.4.11; memory.
"""

LEAST_APART = 20.0
"""In CIE 1976 L*a*b*, where about 2.3 can just be told side by side (our own requirement)."""

PACKAGE = Path(simrun.__file__).parent
LOOK = (PACKAGE / "pictures" / "replay" / "web" / "look.js").read_text("utf-8")
REPLAY_CSS = (PACKAGE / "pictures" / "replay" / "web" / "replay.css").read_text("utf-8")
DESK_CSS = (PACKAGE / "desk" / "web" / "desk.css").read_text("utf-8")
WALK_CSS = (PACKAGE / "pages" / "templates" / "walk.css").read_text("utf-8")


def rgb(text: str) -> tuple[int, int, int]:
    """A colour of six letters."""
    red, green, blue = bytes.fromhex(text.removeprefix("#"))
    return red, green, blue


def listed(name: str) -> list[tuple[int, int, int]]:
    """The colours of a list of the page."""
    found = re.search(rf"const {name} = \[(.+?)\]", LOOK)
    assert found
    return [rgb(text) for text in re.findall("#[0-9a-f]{6}", found[1])]


def by_name(text: str, pattern: str) -> dict[str, tuple[int, int, int]]:
    """Colours by the name before them."""
    return {name: rgb(colour) for name, colour in re.findall(pattern + "(#[0-9a-f]{6})", text)}


PAGE_INKS = by_name(LOOK.split("};")[0], r"(\w+): \"")
PAGE_LINES = by_name(re.findall(r"LINE_FILLS = \{.+?\}", LOOK)[0], r"(\w+): \"")
DESK = by_name(DESK_CSS, r"--(\w+): ")
WALK = {
    "ground": rgb(re.findall(r"\.ground \{ fill: (#\w+)", WALK_CSS)[0]),
    "way": rgb(re.findall(r"\.way \{ stroke: (#\w+)", WALK_CSS)[0]),
    "people": rgb(re.findall(r"\.people circle \{ fill: (#\w+)", WALK_CSS)[0]),
    "ours": rgb(re.findall(r"circle\.ours \{ fill: (#\w+)", WALK_CSS)[0]),
    "marked": rgb(re.findall(r"\.edge\.marked \{ stroke: (#\w+)", WALK_CSS)[0]),
    "barrier": rgb(re.findall(r"\.edge\.barrier \{ stroke: (#\w+)", WALK_CSS)[0]),
}


def of_inks(*names: str) -> dict[str, tuple[int, int, int]]:
    return {name: INKS[name] for name in names}


def of_teams(first: int) -> dict[str, tuple[int, int, int]]:
    """Those of the first eight teams whose runners have one shape, and ours."""
    fills = listed("TEAM_FILLS")
    return {f"team {k}": fills[k] for k in range(first, len(fills), 3)} | of_inks("ours", "course")


# Film, ribbon and page alike. A filled disc is somebody who loses nothing, very much, or one of ours.
GROUPS = {
    "discs": of_inks("ours", "other", "losing_most", "course"),
    "rings": of_inks("losing", "slowed", "losing_most", "course", "ground"),
    "who loses and who does not": of_inks("other", "losing", "slowed", "losing_most"),
    "ours": of_inks("ours", "losing", "slowed", "losing_most", "followed", "other_plan"),
    "the other plan": of_inks("other_plan", "course", "ground", "ours", "other"),
    "parts of the loss": {part: INKS[name] for part, name in PART_INKS.items()} | of_inks("paper"),
    "parts on the page": by_name(REPLAY_CSS, r"data-part=\"(\w+)\"\] \{ background: "),
    "lines at the first turn": PAGE_LINES | of_inks("course"),
    **{f"teams of shape {k}": of_teams(k) for k in range(3)},
    "edges": of_inks("barrier", "marked", "course"),
    "map of a place": WALK | of_inks("course"),
    "map at the desk": {name: DESK[name] for name in ("ours", "stake", "wall", "warm", "course")},
    "boxes at the desk": {name: DESK[name] for name in ("ours", "tooth", "course", "ground")},
}  # fmt: skip

BY_ANOTHER_SIGN = {
    ("losing", "followed"): "a ring, and the middle within it with paper between",
    ("way", "ours"): "a dotted line and numbered discs",
    ("way", "marked"): "round dots and long dashes",
    ("people", "marked"): "discs and a dashed line",
}
"""Pairs that nobody needs colours for."""


def light_of(colour: tuple[int, int, int], sight: str) -> Array:
    """Linear sRGB as it is seen."""
    part = np.array(colour) / 255.0
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return np.clip(SIGHTS[sight] @ linear, 0.0, 1.0)


def lab(colour: tuple[int, int, int], sight: str = "usual sight") -> Array:
    """CIE 1976 L*a*b* of a colour as it is seen (definition; memory)."""
    share = XYZ @ light_of(colour, sight) / XYZ.sum(axis=1)
    f = np.where(share > (6 / 29) ** 3, np.cbrt(share), share / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def contrast(
    one: tuple[int, int, int], other: tuple[int, int, int], sight: str = "usual sight"
) -> float:
    """The ratio of two relative luminances (Web Content Accessibility Guidelines 2.1; memory)."""
    light = [float(XYZ[1] @ light_of(colour, sight)) + 0.05 for colour in (one, other)]
    return max(light) / min(light)


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("group", GROUPS)
def test_what_colours_stand_for_is_told_apart(group: str, sight: str) -> None:
    """Every two colours of a group, by whoever looks."""
    assert len(GROUPS[group]) >= 3
    for (one, first), (other, second) in itertools.combinations(GROUPS[group].items(), 2):
        if (one, other) in BY_ANOTHER_SIGN or {one, other} == {"course", "ground"}:
            continue
        apart = np.linalg.norm(lab(first, sight) - lab(second, sight))
        assert apart >= LEAST_APART, f"{one} and {other} are only {apart:.0f} apart"


def test_the_simulation_is_what_it_should_be() -> None:
    """Greys stay grey; an orange and an olive come close without red or green cones, a blue and a teal
    without blue ones; and white lies a hundred from black."""
    for sight in SIGHTS:
        np.testing.assert_allclose(SIGHTS[sight].sum(axis=1), 1.0, rtol=0, atol=1e-5)
    assert np.linalg.norm(lab((255, 255, 255)) - lab((0, 0, 0))) == pytest.approx(100, abs=0.1)
    pairs = {
        "deuteranopia": ((178, 96, 0), (120, 128, 0)),
        "tritanopia": ((0, 122, 160), (0, 128, 110)),
    }
    for sight, (one, other) in pairs.items():
        usual = np.linalg.norm(lab(one) - lab(other))
        assert np.linalg.norm(lab(one, sight) - lab(other, sight)) < 0.45 * usual


def test_one_ink_is_one_colour_in_film_and_page() -> None:
    """What the page calls by the same name is drawn alike, and so is who loses how fast."""
    same = {
        name: name for name in ("ground", "course", "paper", "text", "muted", "barrier", "marked")
    }
    same |= {
        "ours": "ours",
        "followed": "followed",
        "other": "other",
        "plan": "other_plan",
        "open": "line",
    }
    for page, film in same.items():
        assert PAGE_INKS[page] == INKS[film], page
    losing = [INKS[name] for name in ("other", "losing", "slowed", "losing_most")]
    assert listed("LOSING") == losing
    levels = re.findall(
        r"data-level=\"\d\"\] td:first-child \{ border-left-color: (#\w+)", REPLAY_CSS
    )
    assert [rgb(text) for text in levels] == losing[1:]
    parts = by_name(REPLAY_CSS, r"data-part=\"(\w+)\"\] \{ background: ")
    assert parts == {part: INKS[name] for part, name in PART_INKS.items()}


@pytest.mark.parametrize("sight", SIGHTS)
def test_a_scale_grows_lighter_all_the_way(sight: str) -> None:
    """Charts, the course card, and the page's colours of speed and loss: more is lighter, to everybody."""
    steps = colormaps[COLOUR_MAP](np.linspace(0, 1, 12))[:, :3]
    charts = [lab(tuple(np.round(255 * step).astype(int)), sight)[0] for step in steps]
    page = [lab(colour, sight)[0] for colour in listed("RAMP")]
    for light in (charts, page):
        assert np.diff(light).min() > 2.3
        assert light[-1] - light[0] > 60


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("under", ["ground", "course"])
def test_ours_stand_out_against_the_ground_to_everybody(under: str, sight: str) -> None:
    """Three to one."""
    assert contrast(INKS["ours"], INKS[under], sight) >= LEAST_CONTRAST


@pytest.mark.parametrize("other", ["other", "losing", "slowed", "losing_most", "followed"])
def test_ours_stand_out_against_everybody(other: str) -> None:
    """Three to one, whether they lose time or not."""
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21)
    assert contrast(INKS["ours"], INKS[other]) >= LEAST_CONTRAST


def test_the_palette_is_small_and_holds_every_ink() -> None:
    """64 entries, and every ink stands in it as it is written."""
    assert palette().shape == (COLOURS, 3)
    for name, colour in INKS.items():
        assert tuple(palette()[ink(name)].tolist()) == colour
