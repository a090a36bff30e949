"""Rows, small worlds, shares of variance and the page: does each say what it claims?"""

from __future__ import annotations

import base64
import re
from dataclasses import replace

import numpy as np
import pytest

from simrun.answers.evidence.check_kinds import Check, against, mean_and_reach, ordering
from simrun.answers.evidence.checks import GROUPS, group
from simrun.answers.evidence.experiments.arena import block_m, crowd_of, side_by_side
from simrun.answers.evidence.experiments.corner import Flip
from simrun.answers.evidence.experiments.flow import FlowWidth, closed_corridor, steady_flow_per_s
from simrun.answers.evidence.experiments.sensitivity import Sensitivity, outcomes
from simrun.answers.evidence.page import page_of
from simrun.answers.evidence.sections import Shown
from simrun.answers.evidence.words import cause_words, missed_rows, number_words, varied_words
from simrun.pages.cautions import CAUTION
from simrun.pages.frame import html_of
from simrun.pages.page import Figure
from simrun.pages.sure_words import GROUP_WORDS
from simrun.sources import figure
from simrun.sources.assumed import DECIDES, assumed_inputs
from simrun.trials.hanging.total_effects import Effect


def row(**changes: object) -> Check:
    made = Check("flow", "B", 1.9, 1.7, 2.5, "1/s/m", "A <b>source</b>. (seen)", note="how & where")
    return replace(made, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changes", "met"),
    [
        ({}, True),
        ({"measured": 1.7}, True),
        ({"measured": 1.699}, False),
        ({"measured": 2.501}, False),
        ({"measured": float("nan")}, False),
        ({"reach": 0.5}, True),
        ({"strength": "C", "reach": 0.19}, True),
        ({"strength": "C", "reach": 0.21}, False),
        ({"strength": "C", "reach": 0.65}, False),
    ],
)
def test_met_is_within_the_band_and_for_a_sign_the_whole_interval(
    changes: dict[str, object], met: bool
) -> None:
    """Bands include their ends; a sign needs its whole interval on the right side."""
    assert row(**changes).met is met


def test_a_row_says_value_band_and_source() -> None:
    """What a failing test prints."""
    assert str(row(measured=1.2)) == (
        "MISSED (B) flow: 1.2 1/s/m against 1.7 to 2.5 1/s/m; A <b>source</b>. (seen)"
    )


def test_an_ordering_needs_its_interval() -> None:
    """Same mean, different scatter: only the sure one is met, and the wrong sign never."""
    sure, unsure = np.array([0.9, 1.0, 1.1] * 4), np.array([-5.0, 1.0, 7.0] * 4)
    assert ordering("", sure, "s", "").met
    assert not ordering("", unsure, "s", "").met
    assert not ordering("", -sure, "s", "").met


def test_the_interval_is_that_of_student() -> None:
    """Ten values of standard deviation 1: 2.262 / sqrt(10) (table of t, 9 degrees of freedom, 97.5 %)."""
    values = np.array([-1.0, 1.0] * 5) * np.sqrt(0.9) + 4.0
    assert mean_and_reach(values) == pytest.approx((4.0, 2.262 / np.sqrt(10)), rel=1e-3)


def test_every_row_against_a_figure_has_a_check_as_its_figure() -> None:
    """A figure that the model uses is never held against itself."""
    import inspect

    from simrun.answers.evidence import check_rows

    keys = set(re.findall(r'"(crowd\.[a-z0-9_]+)"', inspect.getsource(check_rows)))
    assert len(keys) > 15
    assert {figure(key).role for key in keys} == {"check"}


def test_the_band_of_a_figure_is_taken_as_it_stands() -> None:
    """Nothing widens it on the way."""
    key = figure("crowd.runners_flow_per_s_m")
    made = against(key.key, 2.0, "B")
    assert (made.low, made.high, made.unit) == (1.70, 2.53, "1/s/m")
    assert "Peckover" in made.source


def test_groups_have_names_of_their_own() -> None:
    """A group is found by its name."""
    assert len({each.name for each in GROUPS}) == len(GROUPS)
    assert group("closed forms").judge(None)[0].met


@pytest.mark.parametrize(("density", "length", "width"), [(0.5, 24.0, 4.0), (4.0, 24.0, 4.0)])
def test_a_block_has_its_density_and_lies_within_its_ground(
    density: float, length: float, width: float
) -> None:
    """So many people on so much ground, nobody outside, and nobody much inside another."""
    places = block_m(density, length, width, np.random.default_rng(1))
    assert len(places) == round(density * length * width)
    assert places[:, 0].min() > 0
    assert places[:, 0].max() < length
    assert np.abs(places[:, 1]).max() < width / 2
    away = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    assert away[~np.eye(len(places), dtype=bool)].min() > 0.3


def test_alone_in_the_closed_corridor_everybody_goes_as_wished() -> None:
    """One person in 20 m2, going round more than twice: the copies disturb nobody."""
    crowd = replace(crowd_of("runner", 4.0), spread_m_s=0.0)
    found = closed_corridor(crowd, [0.05], settle_s=12.0, measured_s=10.0)
    assert found.speed_m_s[0] == pytest.approx(4.0, rel=1e-3)


def test_steady_flow_is_that_between_the_fifths() -> None:
    """Two a second in the middle, whatever the first and the last do; nothing where many stay away."""
    times = np.concatenate([np.full(20, -50.0), np.arange(60) / 2.0, np.full(20, 500.0)])
    assert steady_flow_per_s(times) == pytest.approx(2.0)
    times[:30] = np.nan
    assert steady_flow_per_s(times) == 0.0


def test_flow_a_metre() -> None:
    """Flow over width, and R2 of a straight line."""
    found = FlowWidth(np.array([1.0, 2.0, 4.0]), np.array([2.0, 4.0, 8.0]))
    assert found.flow_per_s_m == pytest.approx([2.0, 2.0, 2.0])
    assert found.straightness == pytest.approx(1.0)


def test_where_the_answer_flips() -> None:
    """Between -1 at 40 % and +1 at 60 % it flips at 50 %; a field that never changes sign has no flip."""
    difference = np.array([[[-2.0, -2.0], [-1.0, -1.0], [1.0, 1.0]], [[-1.0] * 2] * 3])
    found = Flip(np.array([210, 70]), np.array([0.2, 0.4, 0.6]), difference)
    assert found.flips_at(0) == pytest.approx(0.5)
    assert np.isnan(found.flips_at(1))


def test_results_stay_in_order_though_several_run_at_a_time() -> None:
    """Whoever is ready first does not come first."""
    import time

    def slow(seconds: float) -> float:
        time.sleep(seconds)
        return seconds

    assert side_by_side(slow, [0.05, 0.0, 0.02]) == [0.05, 0.0, 0.02]


def test_every_assumed_setting_is_varied() -> None:
    """No assumed figure of a runner is forgotten."""
    from simrun.sources import figures

    assert {f.key for f in figures("runner.") if f.kind == "assumed"} <= set(DECIDES)
    assert {"line.inside_share", "line.pull", "gap.price_per_m"} <= set(DECIDES)


def test_the_races_at_a_point_follow_its_inputs() -> None:
    """More room sideways costs the outermost boxes more."""
    middle = {key: figure.value for key, figure in assumed_inputs().items()}
    found = outcomes(middle, 1)
    wide = outcomes({**middle, "runner.sway_m": 0.1, "runner.sway_per_speed_s": 0.08}, 1)
    assert wide[2] > found[2]


@pytest.mark.parametrize("numbers", [(0.7, 0.2, 0.1), (0.2, 1.4, 0.3)])
def test_the_page_names_what_an_answer_hangs_on(numbers: tuple[float, ...]) -> None:
    """The largest three groups in words, in their order, shares above the whole told as the whole."""
    names = sorted(zip(numbers, ("room", "inside", "gaps"), strict=True), reverse=True)
    effects = [Effect(name, share, share, share / 2, 2 * share) for share, name in names]
    shares = np.array([[0.4], [0.6], [0.8]])
    point, outcome = np.repeat(shares, len(DECIDES), axis=1), np.ones((3, 3))
    said = varied_words(Sensitivity(point, outcome, (effects,) * 3, 1))
    first = f"Inside or outside hangs on {GROUP_WORDS[names[0][1]]} ("
    assert any(words.startswith(first) for words in said)
    assert not any(" 140 %" in words or " 280 %" in words for words in said)


def page(rows: list[Check]) -> str:
    part = Shown("Part <i>", ("Words & more.",), rows, (Figure(b"png", "a"),))
    return html_of(page_of([part], quick=True))


def test_the_page_says_met_and_missed_in_words() -> None:
    """Not by colour only; the verdict is the headline, and misses come first, with their cause."""
    text = page([row(), row(name="slow", measured=1.0, cause="too wide")])
    said = "The model meets 1 of the 2 figures that it is held against and misses 1."
    assert f"<h1>{said}</h1>" in text
    assert text.count('<td class="left">met</td>') == 1
    assert text.count('<td class="left">missed (cause 1)</td>') == 1
    assert text.count('<tr class="missed">') == 1
    assert text.index("Cause 1: Too wide.") < text.index("<details>")
    assert text.index("slow") < text.index("<details>")


def test_a_miss_without_a_known_cause_is_a_miss_all_the_same() -> None:
    """It stands among the misses, and no cause is made up."""
    text = page([row(), row(name="slow", measured=1.0)])
    assert '<td class="left">missed</td>' in text
    assert "What in the model causes it" not in text


def test_every_cause_is_said_once_and_numbered() -> None:
    """Three misses, two causes."""
    rows = [row(measured=1.0, cause=cause) for cause in ("one", "other", "one")]
    assert cause_words(rows) == ("Cause 1: One.", "Cause 2: Other.")
    assert [cells[-1] for cells in missed_rows(rows)[1:]] == ["1", "2", "1"]


@pytest.mark.parametrize(
    ("measured", "reach", "said"),
    [
        (20.0, 0.0, "20 s"),
        (0.0123, 0.0, "0.0123 s"),
        (0.9968, 0.0, "0.9968 s"),
        (1.66, 0.0, "1.660 s"),
        (-2.718, 0.614, "-2.72 ± 0.61 s"),
    ],
)
def test_a_number_is_said_to_the_digits_that_decide(
    measured: float, reach: float, said: str
) -> None:
    assert number_words(row(measured=measured, reach=reach, unit="s")) == said


def test_the_page_needs_nothing_else_and_escapes_what_it_is_given() -> None:
    """No address to load from; what looks like HTML in a text stays text."""
    text = page([row()])
    assert not re.search(r'(?:src|href)="(?!data:)', text)
    assert "url(" not in text
    assert "&lt;b&gt;source&lt;/b&gt;" in text
    assert "how &amp; where" in text
    assert "Part &lt;i&gt;" in text
    assert base64.b64encode(b"png").decode() in text


def test_the_page_carries_the_standing_caution() -> None:
    """And never the word that nobody may promise."""
    text = page([row()])
    assert CAUTION in text
    assert not re.search(r"\bsafe\b", text)


def test_a_page_without_misses_lists_none() -> None:
    """No empty list of misses."""
    text = page([row()])
    assert "What is missed" not in text
    assert "The model meets every figure that it is held against, 1 of 1." in text
