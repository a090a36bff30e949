"""An hour of spoilt files for every reader, some minutes at a time, counted in a table that is kept.

Run by hand, as often as there is time: python -m tests.fuzz.hours, or with the names of readers for those
alone. The reader that has had least goes next, with another seed; what it was given is added to `hours.csv`
beside this file every few seconds, so that a stop loses nothing. Seconds are the processor's: on a busy
machine an hour of the clock may be a tenth of one. A file that breaks a reader is kept in
outputs/fuzz and is a failure in the table until it is mended and the reader begun again (its row deleted).
"""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path

from simrun.base.writing import write_text

TABLE = Path(__file__).with_name("hours.csv")
FUZZ = Path(__file__).with_name("fuzz.py")
WANTED_S = 3600
A_TURN_MINUTES = 5


@dataclass(frozen=True)
class Had:
    """What a reader was given so far, in so many turns: files tried, how many of them were read."""

    reader: str
    seconds: int = 0
    files: int = 0
    read: int = 0
    longest_s: float = 0.0
    failures: int = 0
    turns: int = 0

    def and_more(self, told: dict[str, float], failed: bool, turns: int) -> Had:
        """With what a turn told of itself."""
        return replace(
            self,
            seconds=self.seconds + round(told["seconds"]),
            files=self.files + int(told["files"]),
            read=self.read + int(told["read"]),
            longest_s=max(self.longest_s, told["longest_s"]),
            failures=self.failures + failed,
            turns=self.turns + turns,
        )


NOTHING: dict[str, float] = {"seconds": 0.0, "files": 0, "read": 0, "longest_s": 0.0}


def kept(table: Path) -> dict[str, Had]:
    """The table, by reader."""
    if not table.exists():
        return {}
    kinds = {field.name: type(field.default) for field in fields(Had) if field.name != "reader"}
    with table.open(encoding="utf-8") as text:
        rows = [
            {name: kinds.get(name, str)(value) for name, value in row.items()}
            for row in csv.DictReader(text)
        ]
    return {str(row["reader"]): Had(**row) for row in rows}  # type: ignore[arg-type]


def keep(table: Path, had: Had) -> None:
    """The table with this row in place of the reader's old one."""
    rows = kept(table) | {had.reader: had}
    text = io.StringIO()
    writer = csv.DictWriter(text, [field.name for field in fields(Had)], lineterminator="\n")
    writer.writeheader()
    writer.writerows(asdict(rows[name]) for name in sorted(rows))
    write_text(table, text.getvalue())


def a_turn(had: Had, minutes: float) -> Iterator[Had]:
    """The reader's row as it grows during a turn, last with whether it failed."""
    words = [
        sys.executable,
        str(FUZZ),
        had.reader,
        f"--minutes={minutes}",
        f"--seed={had.turns + 1}",
    ]
    told = NOTHING
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=sys.stderr, text=True) as run:
        assert run.stdout is not None
        for line in run.stdout:
            if line.startswith("{"):
                told = json.loads(line)
                yield had.and_more(told, failed=False, turns=0)
    yield had.and_more(told, failed=run.returncode != 0, turns=1)


def main() -> None:
    """Turns until every reader has had its hour; who failed is left alone."""
    from tests.fuzz.readers import READERS

    wanted = sys.argv[1:] or sorted(READERS)
    while True:
        rows = [kept(TABLE).get(name, Had(name)) for name in wanted]
        left = [had for had in rows if had.seconds < WANTED_S and not had.failures]
        if not left:
            return
        for had in a_turn(min(left, key=lambda had: had.seconds), A_TURN_MINUTES):
            keep(TABLE, had)


if __name__ == "__main__":
    main()
