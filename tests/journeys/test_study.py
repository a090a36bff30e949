"""Many races: side by side, killed and carried on, stopped, on threads and on a cluster."""

from __future__ import annotations

import multiprocessing
import os
import random
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from simrun.base.errors import BadInput, CannotSimulate
from simrun.base.stopped import GivenUp
from simrun.scenario.reader import read
from simrun.trials import workers as workers_module
from simrun.trials.carry_out import carry_out
from simrun.trials.plan import Plan
from simrun.trials.store import Store
from simrun.trials.workers import executor_for
from tests.helpers.processes import hear_ctrl_c
from tests.helpers.study_files import laid_down

TOP = Path(__file__).parents[2]
DUAL = str(TOP / "scenarios" / "dual_meet.toml")
SEEDS = 40

STUDY = f"""
import sys
import time
from simrun.base.errors import SimrunError
from simrun.scenario.reader import read
from simrun.trials.carry_out import carry_out
from simrun.trials.plan import Plan
day = read({DUAL!r}).changed({{"clock.limit": 30}})
plan = Plan({{"as told": day, "wide": day.changed({{"field.opening": 0.2}})}},
            tuple(range(1, int(sys.argv[2]) + 1)))
try:
    def told(share):
        print(share, flush=True)
        time.sleep(float(sys.argv[4]))
    carry_out(plan, sys.argv[1], workers=int(sys.argv[3]) or None, progress=told)
except SimrunError as error:
    print("refused:", error)
except KeyboardInterrupt:
    print("stopped")
"""


def plan_of(seeds: int) -> Plan:
    day = read(DUAL).changed({"clock.limit": 30})
    wide = day.changed({"field.opening": 0.2})
    return Plan({"as told": day, "wide": wide}, tuple(range(1, seeds + 1)))


def begun(
    path: Path, seeds: int = SEEDS, workers: int = 2, pause_s: float = 0.0
) -> subprocess.Popen[str]:
    """A study in a process group of its own, as a terminal starts it; its temporary files beside it.

    workers: 0 stands for threads. pause_s: it rests so long whenever a race is kept, so that it can be
    met at work.
    """
    words = [sys.executable, "-c", STUDY, str(path), str(seeds), str(workers), str(pause_s)]
    temporary = path.parent / "temporary"
    temporary.mkdir(exist_ok=True)
    return subprocess.Popen(
        words,
        cwd=TOP,
        env={**os.environ, "TMPDIR": str(temporary)},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
        preexec_fn=hear_ctrl_c,
    )


def press_ctrl_c(study: subprocess.Popen[str]) -> str:
    """What a terminal does: the signal goes to the study and to its workers. What was said until the end."""
    os.killpg(study.pid, signal.SIGINT)
    return study.communicate(timeout=20)[0]


def content(path: Path) -> tuple[str, int]:
    with Store(path) as store:
        return store.content_digest(), len(store.kept())


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The study carried out in one process without a break: what every other way must come to."""
    return carry_out(plan_of(SEEDS), tmp_path_factory.mktemp("whole") / "study.db", workers=1)


@pytest.mark.slow
def test_side_by_side_gives_the_same_file(whole: Path, tmp_path: Path) -> None:
    """Two processes: every race once, progress up to 1, the same bytes; again: nothing to do."""
    told: list[float] = []
    path = carry_out(plan_of(SEEDS), tmp_path / "study.db", workers=2, progress=told.append)
    assert content(path)[1] == 2 * SEEDS
    assert laid_down(path) == laid_down(whole)
    assert told == sorted(told)
    assert told[-1] == 1
    told.clear()
    carry_out(plan_of(SEEDS), path, workers=2, progress=told.append)
    assert told == []
    assert laid_down(path) == laid_down(whole)


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "workers"), [(0, 2), (1, 2), (2, 0), (3, 0)])
def test_killed_at_any_moment_and_carried_on(
    whole: Path, tmp_path: Path, seed: int, workers: int
) -> None:
    """Killed three times without warning, wherever that is, then left to end: the same file."""
    path, moment = tmp_path / "study.db", random.Random(seed)
    for _ in range(3):
        study = begun(path, workers=workers)
        time.sleep(moment.uniform(0.3, 3.5))
        study.kill()
        study.communicate()
    last = begun(path, workers=workers)
    assert last.communicate(timeout=120)[0].split()[-1:] in (["1.0"], [])
    assert content(path) == content(whole)
    assert laid_down(path) == laid_down(whole)


@pytest.mark.slow
@pytest.mark.parametrize("workers", [2, 0])
def test_ctrl_c_leaves_a_store_that_goes_on(whole: Path, tmp_path: Path, workers: int) -> None:
    """Stopped within seconds in the middle of the work; nothing is lost, nothing twice."""
    path = tmp_path / "study.db"
    study = begun(path, workers=workers, pause_s=0.1)
    assert study.stdout is not None
    for _ in range(3):
        study.stdout.readline()
    asked = time.monotonic()
    said = press_ctrl_c(study)
    assert time.monotonic() - asked < 10
    assert said.splitlines()[-1] == "stopped"
    assert "Traceback" not in said
    assert list((tmp_path / "temporary").iterdir()) == []
    kept = content(path)[1]
    assert 3 <= kept < 2 * SEEDS
    carry_out(plan_of(SEEDS), path, workers=1)
    assert laid_down(path) == laid_down(whole)


def children_of(pid: int) -> set[int]:
    """Every process below this one, from the system's own list."""
    found: set[int] = set()
    for task in Path(f"/proc/{pid}/task").glob("*/children"):
        for child in map(int, task.read_text().split()):
            found |= {child} | children_of(child)
    return found


def is_running(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def wait_until(true: object, seconds: float) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():  # type: ignore[operator]
            return True
        time.sleep(0.05)
    return False


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="needs the system's process list")
@pytest.mark.slow
def test_no_worker_outlives_a_killed_study(tmp_path: Path) -> None:
    """The study is killed without warning: its workers are gone within seconds, and their folder too."""
    study = begun(tmp_path / "study.db", seeds=400)
    assert study.stdout is not None
    for _ in range(4):
        study.stdout.readline()
    workers = children_of(study.pid)
    assert len(workers) >= 2
    study.kill()
    study.wait()
    assert wait_until(lambda: not any(map(is_running, workers)), 5)
    assert list((tmp_path / "temporary").iterdir()) == []


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="needs the system's process list")
def test_workers_leave_ctrl_c_to_the_study(whole: Path, tmp_path: Path) -> None:
    """The signal reaches the workers alone: they go on, and nobody prints where they were."""
    study = begun(tmp_path / "study.db")
    assert study.stdout is not None
    for _ in range(4):
        study.stdout.readline()
    for worker in children_of(study.pid):
        os.kill(worker, signal.SIGINT)
    said = study.communicate(timeout=60)[0]
    assert "Traceback" not in said
    assert said.split()[-1] == "1.0"
    assert laid_down(tmp_path / "study.db") == laid_down(whole)


@pytest.mark.slow
def test_a_dead_worker_has_its_races_done_again(whole: Path, tmp_path: Path) -> None:
    """One worker is killed in the middle, by somebody short of memory say: the same file."""
    killed: list[int] = []

    def kill_one(share: float) -> None:
        if share > 0.3 and not killed:
            worker = multiprocessing.active_children()[0]
            assert worker.pid is not None
            killed.append(worker.pid)
            os.kill(worker.pid, signal.SIGKILL)

    path = carry_out(plan_of(SEEDS), tmp_path / "study.db", workers=2, progress=kill_one)
    assert len(killed) == 1
    assert laid_down(path) == laid_down(whole)
    assert multiprocessing.active_children() == []


def die(*_: object) -> None:
    os._exit(1)


@pytest.mark.slow
def test_workers_that_always_die_are_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A few new starts, then one line; what was run before stays."""
    monkeypatch.setattr(workers_module, "_run_to_files", die)
    with pytest.raises(CannotSimulate, match="died 3 times in a row"):
        carry_out(plan_of(2), tmp_path / "study.db", workers=2)
    assert content(tmp_path / "study.db")[1] == 1


@pytest.mark.slow
def test_a_second_study_on_the_same_store_is_refused(tmp_path: Path) -> None:
    """One line; the first goes on."""
    path = tmp_path / "study.db"
    first = begun(path, pause_s=0.5)
    assert first.stdout is not None
    first.stdout.readline()
    second = begun(path)
    said = second.communicate(timeout=60)[0]
    assert "stopped" in press_ctrl_c(first)
    assert said.count("\n") == 1
    assert "refused:" in said
    assert "another study is writing to it" in said


@pytest.mark.slow
def test_any_executor_will_do(whole: Path, tmp_path: Path) -> None:
    """Threads, for one: the kernel lets go of the interpreter."""
    with ThreadPoolExecutor(2) as threads:
        path = carry_out(plan_of(SEEDS), tmp_path / "study.db", executor=threads)
    assert laid_down(path) == laid_down(whole)


def test_threads_are_the_default(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody says how: no process is started, more than one thread runs races, the same file."""
    seen = set[str]()
    run = workers_module.run_group

    def noted(*given: object) -> object:
        seen.add(threading.current_thread().name)
        return run(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(workers_module, "run_group", noted)
    monkeypatch.setattr(workers_module, "Pool", None)
    monkeypatch.setattr("simrun.trials.carry_out.cores", lambda: 2)
    path = carry_out(plan_of(SEEDS), tmp_path / "study.db")
    assert len(seen) == 2
    assert laid_down(path) == laid_down(whole)


def test_a_thread_ends_in_the_middle_of_a_race() -> None:
    """Whoever stops a study does not wait for the races that run just then."""
    long = read(str(TOP / "scenarios" / "ferry_meadow.toml")).changed({"clock.step_s": 0.01})
    plan = Plan({"as told": long}, (1,))
    threads = workers_module.Threads(plan, 1)
    race = threads.submit(tuple(plan.races()))
    assert wait_until(race.running, 5)
    time.sleep(0.1)
    asked = time.monotonic()
    threads.stop()
    assert time.monotonic() - asked < 5
    assert isinstance(race.exception(), GivenUp)


def test_an_error_in_one_race_keeps_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The race that cannot be run is told in one line; those done before are kept."""
    from simrun.trials import races

    run = races.stages_of
    lock = threading.Lock()

    def refuse_five(scenario: object, seed: int, *how: object) -> object:
        with lock:
            if seed == 5:
                raise CannotSimulate("too dense to place")
        return run(scenario, seed, *how)  # type: ignore[arg-type]

    monkeypatch.setattr(races, "stages_of", refuse_five)
    monkeypatch.setattr("simrun.trials.carry_out.MOST_IN_GROUP", 1)
    with pytest.raises(CannotSimulate, match="seed 5: too dense"), ThreadPoolExecutor(1) as one:
        carry_out(plan_of(8), tmp_path / "study.db", executor=one, workers=1)
    assert content(tmp_path / "study.db")[1] >= 8


@pytest.mark.slow
def test_on_a_cluster(whole: Path, tmp_path: Path) -> None:
    """A scheduler and two worker processes of the cluster engine on this machine: the same file."""
    distributed = pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    options = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": None}
    with (
        distributed.LocalCluster(host="127.0.0.1", **options) as cluster,
        executor_for(cluster.scheduler_address) as executor,
    ):
        path = carry_out(plan_of(SEEDS), tmp_path / "study.db", executor=executor, workers=2)
    assert laid_down(path) == laid_down(whole)


def test_no_cluster_there_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """An address at which nobody answers, and one that is none."""
    pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    monkeypatch.setattr(workers_module, "CONNECT_S", "1s")
    for address in ("tcp://127.0.0.1:9", "no such thing"):
        with pytest.raises(CannotSimulate, match="no cluster answers at"), executor_for(address):
            pass


def test_without_the_engine_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """How to get it stands in the one line; this machine's own processes need nothing."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BadInput, match="simrun\\[cluster\\]"), executor_for("tcp://x:1"):
        pass
    with executor_for(None) as executor:
        assert executor is None
