"""Whatever stands on the course is run around: nobody stands before it for good."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.engine.run import Race, field_of, recording_of
from tests.helpers import ostrel_common

TOP = Path(__file__).parents[2]
AT_M = 200.0


def race_with(
    folder: Path, monkeypatch: pytest.MonkeyPatch, wide_m: float, left_m: float, deep_m: float = 2.0
) -> Race:
    """The shipped common with a shed of this size on it instead of the ring of stakes; run to 400 m."""
    middle = np.array(ostrel_common.beside(AT_M, left_m))
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]])
    shed = middle + corners * np.array([deep_m / 2, wide_m / 2])
    monkeypatch.setattr(ostrel_common, "ring", lambda station_m, aside: shed)
    (folder / "ostrel_common.geojson").write_text(ostrel_common.ostrel_common(), encoding="utf-8")
    shutil.copy(TOP / "scenarios" / "ostrel_common.toml", folder)
    race = field_of(simrun.read(folder / "ostrel_common.toml"), 1, frames=False)
    while np.isnan(race.tape.crossing_s[:, 0]).any() and race.t_s < 180.0:
        race.advance(100)
    return race


@pytest.mark.parametrize("wide_m", [1.0, 4.0, 10.0, 20.0])
def test_everybody_gets_past(
    wide_m: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """224 runners, a shed in the middle of their way: all are at 400 m, nobody in it, nobody in another.

    computed
    """
    race = race_with(tmp_path, monkeypatch, wide_m, left_m=2.0)
    assert race.scenario.strip.checkpoints[0].name == "400 m"
    assert np.isfinite(race.tape.crossing_s[:, 0]).all()
    assert race.tape.overlap[0] < 0.05


def test_a_shed_costs_about_the_way_round_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """10 m wide and 200 m on: somebody headed for its middle runs 0.3 m further, less than 0.1 s.

    The field may lose more in the throngs at its corners, but not the seconds of somebody who first sees it
    from six metres. One race against another: within two standard errors of the runners' differences.

    computed
    """
    small = race_with(tmp_path, monkeypatch, 0.6, left_m=30.0).tape.crossing_s[:, 0]
    wide = race_with(tmp_path, monkeypatch, 10.0, left_m=2.0).tape.crossing_s[:, 0]
    later = wide - small
    error = float(later.std(ddof=1)) / np.sqrt(len(later))
    assert later.mean() + 2 * error > 0.0
    assert later.mean() - 2 * error < 3.0
    assert np.percentile(later, 90) < 6.0


@pytest.mark.slow
def test_the_way_round_is_part_of_the_course_not_traffic(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Alone, who headed for the shed goes round its corner, 6.2 m aside at most on two legs of 150 m each:
    0.26 m, 0.07 s at 4 m/s; who passes it anyway loses nothing. The field's traffic grows by less than 0.5 s.

    computed
    """
    alone, traffic = [], []
    for number, wide_m in enumerate((0.6, 10.0)):
        folder = tmp_path / str(number)
        folder.mkdir()
        race = race_with(folder, monkeypatch, wide_m, left_m=2.0)
        recording = recording_of(race, 1)
        alone.append(recording.alone_s[:, 0])
        traffic.append((recording.crossing_s - recording.alone_s)[:, 0].mean())
    later = alone[1] - alone[0]
    assert (later > -0.005).all()
    assert 0.05 < (later > 0.005).mean() < 0.5
    assert later.max() < 0.07
    assert abs(traffic[1] - traffic[0]) < 0.5
