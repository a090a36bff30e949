"""Which mistakes planted in the headline figures does no oracle test see? mutmut plants them, one at a time.

    python .ci/mutants.py                    all of them, two minutes on two cores
    python .ci/mutants.py --slice            those of places, time lost and points, for .ci/run
    python .ci/mutants.py --table            all, and tests/oracle/survivors.csv written anew

Works on a copy of the checkout. Only tests marked `oracle` may kill; a survivor that does not stand in
tests/oracle/survivors.csv with its reason is told, and the exit code is 1.
"""

from __future__ import annotations

import ast
import csv
import difflib
import re
import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

TOP = Path(__file__).parents[1]
TABLE = TOP / "tests" / "oracle" / "survivors.csv"
COPIED = ("simrun", "shared", "scenarios", "tests", "pyproject.toml", "README.md")
FIGURES = (
    *("simrun.measure.loss.*", "simrun.measure.scoring.*", "simrun.trials.statistics.*"),
    *("simrun.base.units.*", "simrun.runners.reaction.*", "simrun.runners.endurance.*"),
    *(
        "simrun.runners.ability.*",
        "simrun.engine.alone.xǁAloneRunsǁ_told*",
        "simrun.engine.run.x_alone_runs*",
    ),
    *("simrun.engine.run.x_best_box*", "simrun.engine.run.x_from_box*"),
)
"""Not the rest of the alone-runs: threads, tracks for pictures, and what stands in where none were run."""

SLICE = (
    *("simrun.measure.loss.x_places*", "simrun.measure.loss.x_clear_places*"),
    *("simrun.measure.scoring.x_team_scores*", "simrun.measure.scoring.x__team_places*"),
    *("simrun.engine.run.x_from_box*", "simrun.runners.reaction.x_draw_reaction_s*"),
)
REFUSALS = ("scoring.x__rule__", "ability.x__unknown__", "ability.x__check_normal__")
"""What only words a refusal is no figure."""

UNDECIDED = "not looked at yet"


def main() -> int:
    names = SLICE if "--slice" in sys.argv else FIGURES
    with TemporaryDirectory() as folder:
        place = Path(folder)
        for name in COPIED:
            whole = (TOP / name).is_dir()
            (shutil.copytree if whole else shutil.copy)(TOP / name, place / name)
        run = [sys.executable, "-m", "mutmut", "run", "--max-children", "2", *names]
        subprocess.run(run, cwd=place, check=True, stdout=subprocess.DEVNULL)
        results = [sys.executable, "-m", "mutmut", "results", "--all", "true"]
        told = subprocess.run(results, cwd=place, check=True, capture_output=True, text=True).stdout
        wanted = re.compile("|".join(map(_pattern, names)))
        found = dict(line.strip().split(": ") for line in told.splitlines() if ": " in line)
        found = {
            name: what
            for name, what in found.items()
            if wanted.match(name) and not any(each in name for each in REFUSALS)
        }
        if idle := [name for name in names if not re.compile(_pattern(name)).search(told)]:
            print(f"no mutant goes by the name of {', '.join(idle)}: was something renamed?")
            return 2
        alive = [name for name, what in found.items() if what in ("survived", "no tests")]
        changes = {_change(place / "mutants", name) for name in alive}
    known = _known()
    print(f"{len(found)} mutants, {len(found) - len(alive)} killed, {len(alive)} survive")
    if "--table" in sys.argv:
        _write({change: known.get(change, UNDECIDED) for change in changes})
    fresh = sorted(changes - known.keys())
    for function, was, now in fresh:
        print(f"no oracle test sees this in {function}:\n  - {was}\n  + {now}")
    return int(bool(fresh))


def _pattern(name: str) -> str:
    return name.replace(".", r"\.").replace("*", ".*")


def _change(mutants: Path, name: str) -> tuple[str, str, str]:
    """The function, its line as it was and as it is in the mutant."""
    module, function = name.rsplit(".", 1)
    lines = (mutants / module.replace(".", "/")).with_suffix(".py").read_text("utf-8").splitlines()
    bodies = {
        node.name: lines[node.lineno - 1 : node.end_lineno]
        for node in ast.walk(ast.parse("\n".join(lines)))
        if isinstance(node, ast.FunctionDef)
    }
    stem = function.rpartition("__mutmut_")[0]
    both = [
        [re.sub(re.escape(stem) + r"__mutmut_\w+", stem, line) for line in bodies[each]]
        for each in (f"{stem}__mutmut_orig", function)
    ]
    diff = [line for line in difflib.unified_diff(*both, n=0, lineterm="") if line[0] in "+-"][2:]
    was, now = ("".join(line[1:].strip() for line in diff if line[0] == sign) for sign in "-+")
    return f"{module}.{stem.removeprefix('x_')}", was, now


def _known() -> dict[tuple[str, str, str], str]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {
            (row["function"], row["was"], row["now"]): row["reason"] for row in csv.DictReader(file)
        }


def _write(reasons: dict[tuple[str, str, str], str]) -> None:
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["function", "was", "now", "reason"])
        table.writerows(sorted((*change, reason) for change, reason in reasons.items()))


if __name__ == "__main__":
    sys.exit(main())
