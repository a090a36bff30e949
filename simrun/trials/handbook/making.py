"""Make the handbook's table: run the days, or go on with them, and write what they gave.

`python -m simrun.trials.handbook.making fit 9000 8 FOLDER`: which use (fit or judge), how many days, how
many races a day, the folder of the table. `--engine gpu` or `cpu` (by itself a card where there is one),
`--minutes 9` stops by itself after so long, `--workers 2` so many processes. Called again it takes up what is
missing. What is done stands beside the folder, in FOLDER.fit.days and FOLDER.judge.days.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from simrun.base.errors import BadInput, Problem, SimrunError
from simrun.engine.batch.together import ENGINES, GPU
from simrun.engine.batch.which_engine import engine_for
from simrun.trials.handbook.handbook_table import (
    check_alike,
    day_row,
    read_about,
    with_part,
    write_about,
)
from simrun.trials.handbook.races_of_days import KeptDays, expected_s, run_days
from simrun.trials.handbook.sampled_day import SampledDay
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
    engine: str | None = None,
) -> bool:
    """Run what is missing and write the table; gives whether all of it is there.

    engine: gpu or cpu; by itself a card where there is one and the study is large. Raises BadInput,
    BadRecording, CannotWrite, CannotSimulate.
    """
    told = engine_for(engine, count * seeds)
    hands = workers or (cores() + cores() // 2 if told == GPU else cores())
    kept = KeptDays(folder.with_name(f"{folder.name}.{use}.days"), seeds, told)
    made_by = {key: str(kept.head[key]) for key in ("engine", "on", "version")}
    check_alike(folder, use, made_by)
    sampled = days(count, SEED_OF[use])
    numbered = list(enumerate(sampled, start=1))
    left = [day for day in numbered if day[0] not in {found["day"] for found in kept.days()}]
    if left:
        wanted = expected_s(left, seeds, hands, told) / 60
        _say(
            f"{len(left) * seeds} races, engine {told}, {hands} processes: about {wanted:.0f} minutes\n"
        )
    done = run_days(numbered, kept, hands, minutes, lambda share: _say(f"{share:.1%}"))
    write_part(folder, use, kept, sampled)
    about = read_about(folder)
    races = about.get("races", {}) | {use: seeds * sum(1 for _ in kept.days())}
    date = datetime.now(UTC).date().isoformat()
    write_about(folder, {**made_by, "date": date, "races": races})
    return done


def write_part(folder: Path, use: str, kept: KeptDays, sampled: Sequence[SampledDay]) -> None:
    """What is kept, as the table's part of this use, in the order of the days."""
    before, races = FIRST_NUMBER[use] - 1, kept.head["races"]
    rows: list[dict[str, Any]] = []
    ran: list[dict[str, Any]] = []
    for found in sorted(kept.days(), key=lambda one: int(one["day"])):
        number = before + int(found["day"])
        rows += [row | {"day": number} for row in found["rows"]]
        ran.append(day_row(number, use, races, sampled[found["day"] - 1], found["lost_s"]))
    with_part(folder, use, ran, rows)


def _say(words: str) -> None:
    sys.stderr.write(f"\r{words}   ")
    sys.stderr.flush()


NAMED: dict[str, Callable[[str], Any]] = {"engine": str, "minutes": float, "workers": int}


def read_words(words: Sequence[str]) -> dict[str, Any]:
    """What `make` is told by the words of the command. Raises BadInput."""
    plain, named, left = [], {}, iter(words)
    for word in left:
        if not word.startswith("--"):
            plain.append(word)
            continue
        if word[2:] not in NAMED:
            raise BadInput(Problem("making", word, "--" + ", --".join(NAMED)))
        named[word[2:]] = next(left, "")
    allowed = "fit or judge, days, races a day, folder"
    if len(plain) != 4 or plain[0] not in SEED_OF:
        raise BadInput(Problem("making", " ".join(words) or "nothing", allowed))
    if named.get("engine", GPU) not in ENGINES:
        raise BadInput(Problem("--engine", named["engine"], " or ".join(ENGINES)))
    try:
        told = {key: NAMED[key](value) for key, value in named.items()}
        of_days = {"count": int(plain[1]), "seeds": int(plain[2])}
    except ValueError:
        raise BadInput(Problem("making", " ".join(words), f"{allowed}, in numbers")) from None
    return told | of_days | {"use": plain[0], "folder": Path(plain[3])}


def main(words: Sequence[str]) -> int:
    """Read the words above; 2 where they are wrong or it cannot be done."""
    try:
        make(**read_words(words))
    except SimrunError as wrong:
        sys.stderr.write(f"{wrong}\n")
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
