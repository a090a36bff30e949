"""Half an hour of spoilt files for one reader, guided by what they reach in it.

Run by hand: python tests/fuzz/fuzz.py gpx --minutes 30; `hours.py` runs all of them in turns and counts.
Tells every few seconds, as a line of JSON, what was tried.

Stops at the first file that is neither read nor refused in plain lines, that takes longer than 20 s of the
processor (or 10 minutes of the clock, on however busy a machine), or with which the process holds more than
2 GB; the file is kept. Half of the changes know the format, half are libFuzzer's own.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path
from random import Random

import atheris

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

COMPILED = [
    ".".join(file.relative_to(ROOT).with_suffix("").parts)
    for file in sorted(ROOT.glob("simrun/**/*.py"))
    if "simrun.base.compiled import" in file.read_text(encoding="utf-8")
]
"""Not watched: numba cannot read code that was changed to count where it goes."""
with atheris.instrument_imports(include=["simrun", "tomllib"], exclude=COMPILED):
    from tests.fuzz.readers import READERS, outcome

HANG_S, STUCK_S = 20.0, 600
TELL_S = 5
MOST_MB = 2048
LONGEST_BYTES = 200_000


def main() -> None:
    """Begin; libFuzzer ends the process."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("reader", choices=sorted(READERS))
    asked.add_argument("--minutes", type=float, default=30)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument(
        "--kept",
        type=Path,
        default=Path("outputs") / "fuzz",
        help="where a file that broke it is kept",
    )
    words = asked.parse_args()
    reader, folder = READERS[words.reader], Path(tempfile.mkdtemp())
    corpus, work = folder / "corpus", folder / "work"
    corpus.mkdir(), work.mkdir(), words.kept.mkdir(parents=True, exist_ok=True)
    good = reader.good(work)
    for number, data in enumerate(good):
        assert outcome(reader, work, data) == "", "a good file was refused"
        (corpus / str(number)).write_bytes(data)
    told = {"seconds": 0.0, "files": 0, "read": 0, "longest_s": 0.0}
    first, next_line = time.process_time(), [0.0]

    def one(data: bytes) -> None:
        begin = time.process_time()
        told["files"] += 1
        told["read"] += outcome(reader, work, data) == ""
        took = time.process_time() - begin
        told["longest_s"] = round(max(told["longest_s"], took), 2)
        told["seconds"] = round(time.process_time() - first, 1)
        if time.monotonic() > next_line[0]:
            next_line[0] = time.monotonic() + TELL_S
            print(json.dumps(told), flush=True)
        assert took < HANG_S, f"{took:.1f} s of the processor for one file"

    def changed(data: bytes, most: int, seed: int) -> bytes:
        rng = Random(seed)
        if rng.random() < 0.5:
            return atheris.Mutate(data, most)
        return reader.spoil(data if rng.random() < 0.5 else rng.choice(good), rng)[:most]

    options = [
        f"-max_total_time={round(60 * words.minutes)}",
        f"-timeout={STUCK_S}",
        f"-rss_limit_mb={MOST_MB}",
        f"-max_len={LONGEST_BYTES}",
        f"-seed={words.seed}",
        f"-artifact_prefix={words.kept / words.reader}-",
        "-print_final_stats=1",
        "-verbosity=0",
    ]
    atheris.Setup([sys.argv[0], *options, str(corpus)], one, custom_mutator=changed)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
