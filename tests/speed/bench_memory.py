"""What do a long race and a long study keep? Run by hand: python tests/speed/bench_memory.py

A race of 301 runners over 5 km: megabytes of the recording on disk and of its arrays, and the most that
the process held. A study of 1000 short races in one process: what it holds after 100 and after all.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

import simrun  # noqa: E402
from simrun.scenario.scenario import Scenario  # noqa: E402
from simrun.trials.carry_out import carry_out  # noqa: E402
from simrun.trials.plan import Plan  # noqa: E402
from tests.helpers.worlds import SHARP_TURN, scenario_of  # noqa: E402

TARGET_MB = 60.0
RACES = 1000
SHORT_S = 30


def five_km(folder: Path) -> Scenario:
    """43 teams of 7 over 5 km: a wide line, a funnel, a turn, and a long lane."""
    text = SHARP_TURN.replace("width = 60\n", "width = 108\n").replace("boxes = 24", "boxes = 43")
    text = text.replace('name = "long lane"\nlength = 300', 'name = "long lane"\nlength = 4690')
    text = text.replace('limit = "6 min"', 'limit = "25 min"')
    text += '\n[[course.checkpoints]]\nname = "5 km"\nat = 5000\n'
    return scenario_of(text, folder)


def held_mb() -> float:
    """What this process holds now."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 1e6


def long_race(folder: Path) -> None:
    """One race over 5 km, recorded."""
    scenario = five_km(folder)
    before_mb, begin = held_mb(), time.perf_counter()
    recording = simrun.race(scenario, seed=1)
    took_s = time.perf_counter() - begin
    arrays = (recording.position_m, recording.speed_cm_s, recording.wished_cm_s)
    kept_mb = sum(array.nbytes for array in arrays) / 1e6
    file_mb = simrun.save(recording, folder / "recording.npz").stat().st_size / 1e6
    most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
    there = int((recording.crossing_s[:, -1] > 0).sum())
    print(f"{len(recording.roster)} runners over 5 km, {there} there, in {took_s:.0f} s")
    print(f"  {len(recording.times_s)} frames; last {recording.times_s[-1]:.0f} s")
    met = "met" if file_mb < TARGET_MB else "MISSED"
    print(f"  recording on disk     {file_mb:6.1f} MB, target {TARGET_MB:.0f}: {met}")
    print(f"  its frames in memory  {kept_mb:6.1f} MB")
    print(f"  the process           {before_mb:6.1f} MB before, {most_mb:.1f} MB at most")


def long_study(folder: Path) -> None:
    """A thousand short races, one after the other in this process."""
    day = simrun.read(ROOT / "scenarios" / "dual_meet.toml").changed({"clock.limit": SHORT_S})
    plan, seen = Plan({"as drawn": day}, tuple(range(RACES))), {}

    def note(share: float) -> None:
        seen[round(share * RACES)] = held_mb()

    begin = time.perf_counter()
    carry_out(plan, folder / "races.sqlite", workers=1, progress=note)
    print(f"{RACES} races of {SHORT_S} s in {time.perf_counter() - begin:.0f} s, one process holds")
    print("  " + ", ".join(f"{seen[at]:.1f} MB after {at}" for at in (1, 10, 100, 250, 500, RACES)))
    growth_kb = 1e3 * (seen[RACES] - seen[100]) / (RACES - 100)
    print(f"  from 100 on it grows by {growth_kb:.2f} kB a race")


def main() -> None:
    """Both."""
    with tempfile.TemporaryDirectory() as folder:
        long_study(Path(folder))
        long_race(Path(folder))


if __name__ == "__main__":
    main()
