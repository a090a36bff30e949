"""The benchmarks run: whatever they measure, they measure today's kernel. No time is judged here."""

from __future__ import annotations

import shutil

import pytest

from tests.speed import bench_kernel, bench_scale, profile_kernel
from tests.speed.crowds import DENSITIES, crowd
from tests.speed.rival import Rival


@pytest.mark.slow
def test_every_stage_and_every_rival_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred runners, once each; the walks find the pairs that the tree finds, or it stops there."""
    monkeypatch.setattr(bench_scale, "ROUNDS_S", 0.0)
    race = crowd(100, DENSITIES["racing"])
    for work in profile_kernel.stages(race).values():
        work()
    if shutil.which("cc") is None:
        pytest.skip("no C compiler here, so no hard floor")
    found = bench_scale.row("racing", 100)
    assert set(bench_scale.WORKS) <= set(found)
    assert all(found[name] > 0 for name in bench_scale.WORKS)


def test_the_rival_follows() -> None:
    """Two on a line, the one behind faster: he comes no nearer than body and gap, and both move on."""
    assert bench_kernel.RUNNERS == 210
    columns = {"x": [0.0, 3.0], "y": [0.0, 0.0], "speed": [5.0, 3.0], "wished_m_s": [5.0, 3.0]}
    rival = Rival(columns | {"heading_x": [1.0, 1.0], "heading_y": [0.0, 0.0]})
    for _ in range(400):
        rival.step(0.05)
    assert rival.x[1] == pytest.approx(3.0 + 3.0 * 20.0)
    assert 0.7 < rival.x[1] - rival.x[0] < 3.0
