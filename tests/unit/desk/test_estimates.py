"""The live estimate says what the same races say anywhere else; a job is one at a time and can be stopped."""

from __future__ import annotations

import sqlite3
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from simrun.answers.kind import Result
from simrun.answers.layout.fair.fairness import unfairness_s
from simrun.answers.layout.fair.layout_sample import mean_of
from simrun.answers.layout.layout_sweep import race_layout
from simrun.answers.layout.varied import layout_of
from simrun.desk.work import estimates as module
from simrun.desk.work.desk_jobs import Busy, Job, Jobs, set_aside, told_to
from simrun.desk.work.estimates import ROUNDS, Estimates, until_m
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.in_text.written_line import LineAsked, with_line
from simrun.scenario.reader import read
from simrun.trials.races import crowd_outcome, line_outcome
from simrun.trials.store import Store

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"


def done_with(estimates: Estimates, races: int) -> dict[str, object]:
    """What is told once so many races are in it."""
    begun = time.monotonic()
    while (told := estimates.view()).get("races", 0) < races:
        assert told["state"] != "failed", told
        assert time.monotonic() - begun < 120
        time.sleep(0.02)
    return told


@pytest.mark.slow
def test_the_estimate_is_that_of_the_layout_study(tmp_path: Path) -> None:
    """The same seeds, the same figures, to the last digit shown; only the last question is answered."""
    day, estimates = read(DUAL), Estimates()
    first = estimates.begin(day)
    wider = with_line(day, LineAsked(tilt_deg=8.0))
    second = estimates.begin(wider)
    estimates.drop(first)
    told = done_with(estimates, ROUNDS[1])
    estimates.close()
    assert (told["number"], second) == (second, first + 1)
    races = int(told["races"])  # type: ignore[call-overload]
    seeds = tuple(range(1, races + 1))
    arm = with_inputs_as(wider, True)
    found = race_layout(arm, {}, seeds, tmp_path / "a.db", until_m=until_m(wider), workers=1)
    spread = unfairness_s(found, str(told["at"]))
    assert told["spread_s"] == [round(v, 3) for v in (spread.mean, spread.low, spread.high)]
    assert told["density"] == mean_of(found, "density_per_m2")


@pytest.mark.parametrize("racing", ["off", "on"])
def test_a_race_of_the_estimate_is_a_race_of_the_study(racing: str) -> None:
    """What it leaves out is nan; all that it tells is that of the whole race, bit for bit."""
    day = with_inputs_as(read(DUAL).changed({"field.racing": racing}), True)
    laid = layout_of(day, {}, until_m(day))
    whole, told = crowd_outcome(laid, 3), line_outcome(laid, 3)
    for name in ("box", "row", "crossing_s", "best_s", "place", "stood_s"):
        np.testing.assert_array_equal(getattr(told, name), getattr(whole, name), err_msg=name)
    assert whole.crowd is not None
    assert told.crowd is not None
    for name in ("slowed_share", "slow_s", "density_per_m2", "flow_per_s_m", "strung_out_s"):
        np.testing.assert_equal(getattr(told.crowd, name), getattr(whole.crowd, name), name)
    assert np.isnan(told.alone_s).all()
    assert np.isnan(told.crowd.queue_s)


def test_a_race_ends_where_it_is_when_another_layout_is_asked_about(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Not at its end: the next estimate would wait for it."""
    asked, ended = threading.Event(), threading.Event()

    def endless(laid: object, seed: int, progress: Callable[[float], None]) -> None:
        asked.set()
        try:
            while True:
                progress(0.5)
        finally:
            ended.set()

    monkeypatch.setattr(module, "line_outcome", endless)
    estimates = Estimates()
    estimates.begin(read(DUAL))
    assert asked.wait(10)
    estimates.drop()
    assert ended.wait(10)
    estimates.close()


def test_races_of_another_engine_are_set_aside_and_others_stay(tmp_path: Path) -> None:
    """At the desk nobody can choose another file: the old one is kept under another name."""
    old, present = tmp_path / "brief_races.db", tmp_path / "sheet_races.db"
    for path in (old, present):
        Store(path, writing=True).close()
    with sqlite3.connect(old) as base:
        base.execute("UPDATE about SET value = 'another' WHERE key = 'engine'")
    set_aside(tmp_path)
    assert sorted(p.name for p in tmp_path.glob("*.db")) == [
        "brief_races_before.db",
        "sheet_races.db",
    ]


def test_a_job_is_one_at_a_time_and_ends_when_it_is_stopped() -> None:
    """The second is refused while the first runs; stop ends that at its next word of progress."""
    jobs, running = Jobs(), threading.Event()

    def work(job: Job) -> Sequence[Result]:
        told = told_to(job)
        while True:
            told(0.25)
            running.set()
            time.sleep(0.01)

    jobs.begin("answer", "day.toml", work)
    assert running.wait(10)
    with pytest.raises(Busy):
        jobs.begin("sheet", "day.toml", work)
    jobs.stop()
    jobs.close()
    assert jobs.job is not None
    assert (jobs.job.state, jobs.job.share) == ("stopped", 0.25)
    assert jobs.job.told
