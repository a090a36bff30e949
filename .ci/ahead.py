"""Compile the engine ahead, for every machine of the baseline, into a package that is to be released.

    python .ci/ahead.py PLACE    an unpacked sdist; needs what simrun needs

The first race of everybody who installs it on this system, with this Python and this compiler, compiles
nothing; elsewhere it compiles as ever. The bits are the same (`.ci/release` looks).
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path


def made_ahead(place: Path) -> Path:
    """Race in processes that compile for the baseline alone; what they keep goes into the package."""
    from simrun.base.code.made_ahead import AHEAD, BASELINE

    with tempfile.TemporaryDirectory() as kept:
        chosen = {"NUMBA_CPU_NAME": BASELINE, "NUMBA_CPU_FEATURES": "", "XDG_CACHE_HOME": kept}
        environment = {**os.environ, **chosen, "PYTHONPATH": str(place)}
        race = ["-m", "simrun", "race", "scenarios/dual_meet.toml", "--to", "20", "--out", kept]
        for words in ([__file__, str(place), "races"], race):
            subprocess.run(
                [sys.executable, *words],
                cwd=place,
                env=environment,
                stdout=subprocess.DEVNULL,
                check=True,
            )
        (made,) = Path(kept, "simrun").iterdir()
        return Path(shutil.copytree(made, AHEAD / made.name, dirs_exist_ok=True))


def races(place: Path) -> None:
    """All that races, drawn courses and a behaviour of one's own call for; the pictures are the command's."""
    import simrun

    for file in sorted(place.glob("scenarios/*.toml")):
        day = simrun.read(file).changed({"clock.limit": 1})
        for racing in ("off", "on"):
            simrun.race(day.changed({"field.racing": racing}), seed=1)
    simrun.race(day, seed=1, behaviour=simrun.Behaviour(wish=as_wished))


def as_wished(wished_m_s: float) -> float:
    """A behaviour that changes nothing."""
    return wished_m_s


if __name__ == "__main__":
    top = Path(sys.argv[1]).resolve()
    sys.path.insert(0, str(top))
    if sys.argv[2:] == ["races"]:
        races(top)
    else:
        folder = made_ahead(top)
        sizes = [path.stat().st_size for path in folder.rglob("*") if path.is_file()]
        print(f"made ahead, {folder.name}: {len(sizes)} files, {sum(sizes) // 1024} KiB")
