"""The course inspection: figures by hand, sayings with their source, and no approval anywhere."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simrun.answers.check.inspection import (
    Inspection,
    _first_hard_object,
    inspect,
    narrow_stretches,
)
from simrun.answers.check.words import inspection_text
from simrun.measure.wheel import measure_ground
from simrun.pictures.map.signs import signs
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.sources.guidance import Guidance, guidance, guidance_about

FERRY = read(Path(__file__).parents[3] / "scenarios" / "ferry_meadow.toml")


def inspected(scenario: Scenario) -> Inspection:
    return inspect(scenario, measure_ground(scenario))


@pytest.fixture(scope="module")
def found() -> Inspection:
    return inspected(FERRY)


def value(found: Inspection, what: str) -> float:
    return next(finding.value for finding in found.findings if finding.what == what)


def test_figures_by_hand(found: Inspection) -> None:
    """120 + 50 m to the throat, 230 m more to the corner; 12 m of 60; 60 m for 24 teams; three on 2.5 m.

    computed
    """
    assert value(found, "first narrowing") == pytest.approx(170, abs=0.1)
    assert value(found, "first turn") == pytest.approx(400, abs=0.1)
    assert value(found, "throat against the line") == pytest.approx(20.0)
    assert value(found, "start line per team") == 2.5
    assert value(found, "front line per front-row runner") == pytest.approx(2.5 / 3)
    assert value(found, "narrowest") == 2.0
    assert value(found, "front row") == 3


def test_a_wider_gateway_is_no_longer_narrow(found: Inspection) -> None:
    """The list of narrow stretches names what is below 5 m, on every lap, and nothing else."""
    names = [name for name, *_ in found.narrow]
    assert names == ["gateway", "boardwalk"] * 2
    wide = FERRY.changed({"course.pieces.gateway.width": 6})
    assert [name for name, *_ in narrow_stretches(wide.strip)] == ["boardwalk"] * 2
    name, first, last, width = found.narrow[1]
    assert (name, width) == ("boardwalk", 2.0)
    assert last - first == pytest.approx(60, abs=1.5)


def test_lengths_grow_with_the_distance_off_the_edge(found: Inspection) -> None:
    """0.30 m is the measured line itself; on a course of left turns further off is longer.

    Each 90 degree turn adds (pi / 2) d at most. computed
    """
    lengths = [metres for _, metres in found.lengths_m]
    assert lengths[0] == pytest.approx(FERRY.strip.length_m, abs=1e-6)
    at_15, at_20, at_61 = lengths[1:]
    assert at_15 < at_20 < lengths[0] < at_61
    turns = sum(gate.kind == "turn" for gate in FERRY.strip.gates)
    assert at_61 - lengths[0] <= turns * math.pi / 2 * 0.31 + 0.05


def test_an_obstacle_in_the_straight_is_the_first_hard_object() -> None:
    """Nearer than the first wall, and by its name; a course without any says so."""
    scenario = read(Path(__file__).parents[3] / "scenarios" / "ostrel_common.toml")
    hard = next(f for f in inspected(scenario).findings if f.what == "hard object")
    assert hard.value < measure_ground(scenario).length_m
    lane = FERRY.changed({"course.pieces.barn corner.left": "marked"})
    first = next(f for f in inspected(lane).findings if f.what == "hard object")
    assert first.value > 480


def test_of_two_obstacles_each_has_its_own_place_and_name() -> None:
    """The nearer one is told, whichever was drawn first, and each name stands at its own on the map."""
    strip = read(Path(__file__).parents[3] / "scenarios" / "ostrel_common.toml").strip
    (ring,) = strip.obstacles
    shed = replace(ring, name="shed", hull_m=ring.hull_m + np.array([-100.0, 5.0]))
    for both in ((ring, shed), (shed, ring)):
        drawn = replace(strip, obstacles=both)
        assert _first_hard_object(drawn)[0] == "shed"
        at = {sign.text: sign.place_m for sign in signs(drawn, "metric")}
        assert np.hypot(*(at["tree ring"] - at["shed"])) == pytest.approx(math.hypot(100, 5))


@pytest.mark.parametrize(
    ("at_m", "stands"), [(50.0, "below"), (100.0, "within"), (150.0, "within"), (151.0, "above")]
)
def test_where_a_value_stands(at_m: float, stands: str) -> None:
    said = Guidance("first turn", 100, 150, "m", "", "", "seen", "", "", "")
    assert said.stands(at_m) == stands


def test_every_saying_is_held_against_a_figure_and_has_its_source(found: Inspection) -> None:
    """No saying is lost on the way, each is printed with whose it is, and nothing is called approved."""
    measured = {finding.what for finding in found.findings}
    assert {said.measure for said in guidance()} <= measured
    page = " ".join(inspection_text(found, "metric").split())
    for said in guidance():
        assert all((said.who, said.title, said.place))
        assert said.year == "undated" or said.year.isdecimal()
        assert f"({' '.join(said.source.split())})" in page
    for word in ("safe", "approved", "compliant", "passes"):
        assert word not in page.replace("approve)", "")
    assert "could not be read" in page


def test_yards_for_those_who_want_them(found: Inspection) -> None:
    page = inspection_text(found, "us")
    assert "437 yd barn corner" in page
    assert "6.6 ft wide" in page
    assert max(map(len, page.splitlines())) <= 100


def test_guidance_is_about_something() -> None:
    assert len(guidance_about("first turn")) >= 4
    assert guidance_about("the moon") == ()
