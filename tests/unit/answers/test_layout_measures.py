"""Do fairness, the draw's share and the worst pair say what was put in?"""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy import stats

from simrun.answers.layout.fair.between import between_boxes, jackknifed, root
from simrun.answers.layout.fair.fairness import drawn_share, fairer_by_s, unfairness_s
from simrun.answers.layout.fair.layout_sample import LayoutSample, sample_of
from simrun.answers.layout.varied import layout_of
from simrun.measure.crowd import CrowdFigures, as_array
from simrun.scenario.reader import read
from simrun.trials.races import packed, race_outcome, unpacked
from tests.helpers.layouts import crowds

SCENARIOS = Path(__file__).parents[3] / "scenarios"
BOXES, EACH = 10, 7


def sample(
    extra_s: np.ndarray,
    noise_s: float,
    seeds: int,
    seed: int,
    strength: np.ndarray | None = None,
) -> LayoutSample:
    """Boxes that cost `extra_s` (B,) each, beside what a race and a runner bring.

    strength (S / 2,): how much more or less of it at every point of the inputs, where they are drawn.
    """
    rng = np.random.default_rng(seed)
    box = np.tile(np.repeat(np.arange(1, BOXES + 1), EACH), (seeds, 1))
    points = None if strength is None else np.repeat(np.arange(seeds // 2), 2)
    times = np.ones(seeds) if strength is None else np.repeat(strength, 2)
    lost = (
        3
        + times[:, None] * extra_s[box - 1]
        + rng.normal(0, noise_s, box.shape)
        + rng.normal(0, 5, (seeds, 1))
    )
    place = lost.argsort(axis=1).argsort(axis=1) + 1.0
    marks = SimpleNamespace(strip=SimpleNamespace(checkpoints=(SimpleNamespace(name="here"),)))
    day: Any = marks
    return LayoutSample(
        day, box, lost[:, :, None], place[:, :, None], crowds(np.zeros(seeds)), points
    )


def test_fairness_finds_the_spread_that_was_put_in() -> None:
    """Boxes 1 s apart in the standard deviation, runners 2 s: found within 5 % in the mean of 60 studies."""
    extra = np.linspace(-1, 1, BOXES)
    extra /= extra.std(ddof=1)
    variances = [
        between_boxes(s.by_box(s.lost_s[:, :, 0]))
        for s in (sample(extra, 2.0, 8, k) for k in range(60))
    ]
    error = np.std(variances, ddof=1) / np.sqrt(60)
    assert np.mean(variances) == pytest.approx(1.0, abs=3 * error)
    assert error < 0.05


def test_boxes_that_do_not_matter_come_out_at_nought() -> None:
    """The plain spread of means would be 0.27 s; what chance put there is taken away."""
    nothing = np.zeros(BOXES)
    found = [
        between_boxes(s.by_box(s.lost_s[:, :, 0]))
        for s in (sample(nothing, 2.0, 8, k) for k in range(80))
    ]
    assert abs(np.mean(found)) < 3 * np.std(found, ddof=1) / np.sqrt(80)
    plain = [
        s.by_box(s.lost_s[:, :, 0]).mean(axis=0).std(ddof=1) for s in (sample(nothing, 2.0, 8, 1),)
    ]
    assert plain[0] > 0.15


def test_intervals_hold_the_truth_about_as_often_as_they_say() -> None:
    """Of 200 studies of 12 races at least 85 % hold the variance that was put in (a jackknife of 95 %)."""
    extra = np.linspace(-1, 1, BOXES)
    extra /= extra.std(ddof=1)
    held = 0
    for k in range(200):
        s = sample(extra, 2.0, 12, 1000 + k)
        found = jackknifed(between_boxes, s.by_box(s.lost_s[:, :, 0]))
        held += found.low <= 1.0 <= found.high
    assert held >= 170


def test_the_draws_share_of_places() -> None:
    """Nothing where boxes are alike, nearly all where nothing else differs, half by a known ratio."""
    assert drawn_share(sample(np.zeros(BOXES), 2.0, 20, 1), "here").mean < 0.02
    all_of_it = np.arange(BOXES, dtype=float)
    assert drawn_share(sample(all_of_it * 100, 1.0, 5, 1), "here").mean > 0.97
    half = drawn_share(sample(all_of_it / all_of_it.std(), 1.0, 20, 1), "here")
    assert half.mean == pytest.approx(0.5, abs=0.08)


def test_a_fairer_layout_is_fairer_by_the_difference() -> None:
    """Paired: 2 s apart against 1 s apart."""
    extra = np.linspace(-1, 1, BOXES)
    extra /= extra.std(ddof=1)
    first, second = sample(2 * extra, 1.0, 20, 1), sample(extra, 1.0, 20, 2)
    gain = fairer_by_s(first, second, "here")
    assert gain.low < 1.0 < gain.high
    assert gain.low > 0.5
    assert unfairness_s(first, "here").mean == pytest.approx(2.0, abs=0.3)


def test_the_whole_range_holds_the_spread_at_unknown_inputs() -> None:
    """Boxes 1 s apart, from 0.4 to 1.6 s by the inputs: chance alone holds it far too seldom."""
    rng = np.random.default_rng(2)
    extra = np.linspace(-1, 1, BOXES)
    extra /= extra.std(ddof=1)
    held = []
    for k in range(150):
        found = unfairness_s(sample(extra, 1.0, 20, k, 0.4 + 1.2 * rng.random(10)), "here")
        truth = 0.4 + 1.2 * rng.random()
        held.append([e.low <= truth <= e.high for e in (found, found.by_chance)])
    whole, alone = np.mean(held, axis=0)
    assert whole > 0.95 - 4 * np.sqrt(0.95 * 0.05 / 150)
    assert alone < 0.6


def test_fixed_inputs_leave_the_interval_as_it_was() -> None:
    """The placebo: a pseudo-value's t interval is the jackknife's own formula."""
    rows = np.random.default_rng(3).standard_normal((8, 5))
    found = jackknifed(between_boxes, rows)
    without = np.array([between_boxes(np.delete(rows, i, axis=0)) for i in range(8)])
    error = np.sqrt(7 / 8 * ((without - without.mean()) ** 2).sum())
    assert found.high - found.mean == pytest.approx(stats.t.ppf(0.975, 7) * error)
    assert found.by_chance.low == found.low


def test_races_of_one_point_are_not_independent() -> None:
    """Inputs that move boxes about, but no box on average: what they leave in the means is chance, too."""
    rng = np.random.default_rng(5)
    found = [
        between_boxes(
            np.repeat(rng.standard_normal((10, BOXES)), 2, axis=0), np.repeat(np.arange(10), 2)
        )
        for _ in range(300)
    ]
    assert np.mean(found) == pytest.approx(0.0, abs=4 * np.std(found) / np.sqrt(300))


def test_below_nothing_is_nothing() -> None:
    """A variance that chance made smaller than nought is no spread."""
    found = root(jackknifed(lambda rows, _: -1.0 + 0 * rows.sum(), np.zeros((5, 2))))
    assert (found.mean, found.low, found.high) == (0, 0, 0)


def test_places_count_from_the_own_waves_gun() -> None:
    """The same race with even boxes started 100 s later: the same places, where nobody meets."""
    day = layout_of(read(SCENARIOS / "dual_meet.toml"), {"waves": 2, "wave-gap": 100}, 100)
    crowd = CrowdFigures(*range(9))
    wait = day.start.wave_wait_s(np.array([1, 2, 1, 2]))
    crossing = (np.array([10.0, 11.0, 12.0, 13.0]) + wait)[:, None]
    outcome: Any = SimpleNamespace(
        box=np.array([1, 2, 1, 2]), crossing_s=crossing, best_s=crossing - 1, crowd=crowd
    )
    assert sample_of(day, [outcome]).place[0, :, 0].tolist() == [1, 2, 3, 4]


def test_crowd_figures_are_kept_behind_the_times() -> None:
    """What is packed comes out again; without a crowd the bytes are as before; a cut blob is refused."""
    from dataclasses import replace

    from simrun.base.errors import BadRecording

    day = read(SCENARIOS / "dual_meet.toml").changed({"clock.limit": 5})
    outcome = race_outcome(day, 1)
    places = np.arange(12.0).reshape(3, 4)
    crowd = CrowdFigures(0.5, 1.5, 0.5, 2.5, 100.0, -3.0, 20.0, np.nan, 60.0, places)
    plain, more = packed(outcome), packed(replace(outcome, crowd=crowd))
    assert more.startswith(plain)
    assert unpacked(plain).crowd is None
    found = unpacked(more).crowd
    assert found is not None
    np.testing.assert_array_equal(as_array(found), as_array(crowd))
    np.testing.assert_array_equal(unpacked(more).crossing_s, outcome.crossing_s)
    for cut in (more[:-8], more[:-3], more + b"12345678"):
        with pytest.raises(BadRecording):
            unpacked(cut)


def test_a_crowds_races_are_kept_apart_from_plain_ones() -> None:
    """The same layout raced for boxes has other alone-runs: another digest, and the plain one as it was."""
    from simrun.trials.plan import Plan, digest_of

    day = read(SCENARIOS / "dual_meet.toml")
    plain, crowd = Plan({"a": day}, (1,)), Plan({"a": day}, (1,), crowd=True)
    assert plain.digests["a"] == digest_of(day)
    assert plain.digests["a"] != crowd.digests["a"]
