"""What a user waits for, in another state of the code and in this one, side by side in one run.

    git worktree add ../before COMMIT
    python tests/speed/bench_before_after.py ../before
    python tests/speed/bench_before_after.py ../before --rounds 3 --only check

Each command is carried out in turn by a copy of the old tree and one of the new, in processes of their own,
with the same scenarios (those of the old tree), a compiled cache of its own each, and byte code as an
installation has it. The least of the rounds is told, since whatever else the machine does only adds; on a
busy machine only the seconds of the processor can be read, and ratios of one line.
"""

from __future__ import annotations

import argparse
import compileall
import datetime
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
KERNEL = """
from tests.speed import bench_scale
bench_scale.ROUNDS_S = 2.0
found = bench_scale.row("racing", 300)
print(found["kernel"], found["hard_floor"])
"""
"""Nanoseconds a runner and step, and of the C pass that only touches everybody near."""


PARTS = ("simrun", "shared", "scenarios", "tests", ".ci")
OTHER_CODE = shutil.ignore_patterns("__pycache__", "ahead")


class Took(NamedTuple):
    """Seconds of the clock and of the processor, and the most memory in MB."""

    clock_s: float
    processor_s: float
    memory_mb: float


class Case(NamedTuple):
    """What is asked. first_line: until the sentence stands there, not until the end. cold: nothing compiled
    is kept. ahead: the engine came with the package, where that state of the code can bring it."""

    name: str
    words: tuple[str, ...]
    first_line: bool = False
    cold: bool = False
    ahead: bool = False


RACE = ("race", "ferry_meadow", "--quiet")
DUAL = ("race", "dual_meet", "--quiet")
VARY = ("--vary", "straight=90:150:60", "--seeds", "4", "--until", "140")
CASES = (
    Case("`race`, farm race, to the sentence", RACE, first_line=True),
    Case("`race`, farm race, to the GIF", RACE),
    Case("cold `race`, dual meet, from a checkout", DUAL, cold=True),
    Case("cold `race`, dual meet, from a released wheel", DUAL, cold=True, ahead=True),
    Case("`boxes`, dual meet, 10 seeds", ("boxes", "dual_meet", "--seeds", "10", "--quiet")),
    Case("`tactic`, dual meet", ("tactic", "dual_meet", "--seeds", "2", "--fresh", "5", "--quiet")),
    Case("`layout`, dual meet, a straight more", ("layout", "dual_meet", *VARY, "--quiet")),
    Case("`check`, entry list's day", ("check", "brindle_fen", "--quiet")),
    *(
        Case(
            f"64 races, dual meet, {n} worker{'s' * (n > 1)}",
            ("boxes", "dual_meet", "--seeds", "64", "--workers", str(n), "--quiet"),
        )
        for n in (1, 2)
    ),
    Case("64 races, dual meet, all cores", ("boxes", "dual_meet", "--seeds", "64", "--quiet")),
)


class State:
    """One state of the code, with a cache and a folder for what it writes."""

    def __init__(self, tree: Path, scenarios: Path, place: Path) -> None:
        self.tree, self.scenarios, self.place = place / "tree", scenarios, place
        self.kept = place / "kept"
        for name in PARTS:
            shutil.copytree(tree / name, self.tree / name, ignore=OTHER_CODE)
        compileall.compile_dir(self.tree / "simrun", quiet=1)
        self.took(Case("all that is compiled, kept", DUAL))

    def took(self, case: Case) -> Took | None:
        """Carry it out; None where this state does not know the command."""
        tree = self.with_engine() if case.ahead else self.tree
        kept = self.place / "cold" if case.cold else self.kept
        for folder in (self.place / "cold", self.place / "out"):
            shutil.rmtree(folder, ignore_errors=True)
        kind, day, *rest = case.words
        words = ["-m", "simrun", kind, f"{self.scenarios / day}.toml", *rest]
        words += [] if kind == "check" else ["--out", str(self.place / "out")]
        return timed(words, tree, self.environment(tree, kept), case.first_line)

    def environment(self, tree: Path, kept: Path) -> dict[str, str]:
        """This state's modules, and a folder for what it compiles."""
        return os.environ | {"PYTHONPATH": str(tree), "XDG_CACHE_HOME": str(kept)}

    def with_engine(self) -> Path:
        """A copy of the tree that brings its engine compiled, as a release of it does; where none does, the
        tree itself."""
        maker, copy = self.tree / ".ci" / "ahead.py", self.place / "released"
        if not maker.exists():
            return self.tree
        if not copy.exists():
            shutil.copytree(self.tree, copy)
            subprocess.run([sys.executable, maker, copy], check=True, stdout=subprocess.DEVNULL)
        return copy

    def kernel(self) -> tuple[float, float] | None:
        """Nanoseconds of the kernel, and of the hard floor, where this state has both."""
        environment = self.environment(self.tree, self.kept)
        words = [sys.executable, "-c", KERNEL]
        done = subprocess.run(words, cwd=self.tree, env=environment, capture_output=True, text=True)
        if done.returncode:
            return None
        step_ns, floor_ns = map(float, done.stdout.split()[-2:])
        return step_ns, floor_ns


def timed(
    words: list[str], tree: Path, environment: dict[str, str], first_line: bool
) -> Took | None:
    """Seconds until the end, or until something is said, of a Python process; None where it fails."""
    begin = time.perf_counter()
    quiet = subprocess.DEVNULL
    run = subprocess.Popen(
        [sys.executable, *words], cwd=tree, env=environment, stdout=subprocess.PIPE, stderr=quiet
    )
    assert run.stdout is not None
    run.stdout.readline()
    said_s, said_processor_s = time.perf_counter() - begin, processor_s(run.pid)
    run.stdout.read()
    _, status, used = os.wait4(run.pid, 0)
    run.returncode = os.waitstatus_to_exitcode(status)
    if run.returncode:
        return None
    memory_mb = used.ru_maxrss / 1024
    if first_line:
        return Took(said_s, said_processor_s, memory_mb)
    return Took(time.perf_counter() - begin, used.ru_utime + used.ru_stime, memory_mb)


def processor_s(process: int) -> float:
    """Seconds of the processor that a process has used so far (Linux)."""
    told = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")


def least(found: list[Took | None]) -> Took | None:
    """The least of each."""
    kept = [one for one in found if one is not None]
    return Took(*map(min, zip(*kept, strict=True))) if kept else None


def cell(took: Took | None) -> str:
    """The three figures of one state."""
    if took is None:
        return "- | - | -"
    return f"{took.clock_s:.2f} | {took.processor_s:.2f} | {took.memory_mb:.0f}"


def row(case: Case, old: State, new: State, rounds: int) -> str:
    """One line of the table: the two states in turn, and how much less of the processor the new one takes."""
    found: dict[State, list[Took | None]] = {old: [], new: []}
    for state in (old, new) * rounds:
        found[state].append(state.took(case))
    before, after = least(found[old]), least(found[new])
    ratio = f"{before.processor_s / after.processor_s:.1f}" if before and after else "-"
    return f"| {case.name} | {cell(before)} | {cell(after)} | {ratio} |"


def main() -> None:
    """Print the table, a line as soon as it is known."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("before", type=Path, help="a tree with another state of the code")
    asked.add_argument("--rounds", type=int, default=3)
    asked.add_argument("--only", default="", help="cases whose name holds this")
    words = asked.parse_args()
    with tempfile.TemporaryDirectory() as place:
        before = words.before.resolve()
        make: Callable[[Path, str], State] = partial(_state, Path(place), before / "scenarios")
        old, new = make(before, "old"), make(ROOT, "new")
        load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
        print(f"{datetime.date.today()}, {os.cpu_count()} cores, load {load} at the beginning\n")
        print("| | before: s | of the processor | MB | after: s | of the processor | MB | ratio |")
        print("|---|---|---|---|---|---|---|---|")
        for case in CASES:
            if words.only in case.name:
                print(row(case, old, new, words.rounds), flush=True)
        if words.only in "kernel":
            for name, state in (("before", old), ("after", new)):
                print(f"\nkernel {name}, racing, 300 runners (ns, hard floor): {state.kernel()}")
        print(f"\nload at the end: {', '.join(f'{one:.1f}' for one in os.getloadavg())}")


def _state(place: Path, scenarios: Path, tree: Path, name: str) -> State:
    (place / name).mkdir()
    return State(tree, scenarios, place / name)


if __name__ == "__main__":
    main()
