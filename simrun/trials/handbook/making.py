"""Make the handbook's table: run the days, or go on with them, and write what they gave.

`python -m simrun.trials.handbook.making fit 900 8 FOLDER [MINUTES] [WORKERS]`: which use (fit or judge), how
many days, how many races a day, the folder of the table, after how many minutes to stop by itself, how many
processes. Called again it takes up what is missing. The races
are kept beside the folder, in FOLDER.fit.races and FOLDER.judge.races.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from simrun.base.version import VERSION
from simrun.state.engine_digest import running_engine
from simrun.trials.handbook.handbook_table import (
    day_row,
    day_rows,
    read_about,
    with_part,
    write_about,
)
from simrun.trials.handbook.races_of_days import expected_s, outcomes_of_days, plan_of, run_days
from simrun.trials.handbook.space_filling import days
from simrun.trials.workers import cores

SEED_OF, FIRST_NUMBER = {"fit": 1, "judge": 2}, {"fit": 1, "judge": 10001}
"""The two samples have seeds of their own: no day of one is a day of the other."""


def make(
    use: str,
    count: int,
    seeds: int,
    folder: Path,
    minutes: float | None = None,
    workers: int | None = None,
) -> bool:
    """Run what is missing and write the table; gives whether all of it is there."""
    sampled = days(count, SEED_OF[use])
    plan = plan_of(sampled, seeds)
    hands = workers or cores()
    _say(
        f"{len(plan)} races, about {expected_s(plan, hands) / 60:.0f} minutes on {hands} processes"
    )
    store = folder.with_name(f"{folder.name}.{use}.races")
    done = run_days(plan, store, hands, minutes, lambda share: _say(f"{share:.1%}"))
    rows: list[dict[str, Any]] = []
    ran: list[dict[str, Any]] = []
    for number, outcomes in enumerate(outcomes_of_days(plan, store), start=FIRST_NUMBER[use]):
        if len(outcomes) > 1:
            rows += day_rows(number, outcomes)
            day = sampled[number - FIRST_NUMBER[use]]
            ran.append(day_row(number, use, len(outcomes), day))
    with_part(folder, use, ran, rows)
    about = read_about(folder) | {
        "engine": running_engine(),
        "version": VERSION,
        "date": datetime.now(UTC).date().isoformat(),
    }
    about["races"] = about.get("races", {}) | {use: sum(row["races"] for row in ran)}
    write_about(folder, about)
    return done


def _say(words: str) -> None:
    sys.stderr.write(f"\r{words}   ")
    sys.stderr.flush()


def main(words: Sequence[str]) -> None:
    """Read the words above."""
    use, count, seeds, folder, *rest = words
    minutes = float(rest[0]) if rest else None
    make(
        use, int(count), int(seeds), Path(folder), minutes, int(rest[1]) if len(rest) > 1 else None
    )


if __name__ == "__main__":
    main(sys.argv[1:])
