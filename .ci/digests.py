"""Are the answers of two versions of the code the same, to the last bit?

    python .ci/digests.py write before.json     with the code as it was
    python .ci/digests.py compare before.json   with the code as it is: names what differs, exit code 1

Only the commands are used, so it works across any rearrangement of the code: every array of the
recordings of the shipped scenarios with two seeds each, and every CSV that any command writes.
"""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent.parent
FOUR = ("dual_meet", "ferry_meadow", "ostrel_common", "sallow_heath")
SEEDS = ("1", "2")
STUDIES = {
    "boxes": ["boxes", "dual_meet", "--seeds", "3"],
    "boxes_ours": ["boxes", "dual_meet", "--seeds", "2", "--ours"],
    "tactic": ["tactic", "dual_meet", "--seeds", "2", "--fresh", "5"],
    "layout": [
        "layout",
        "dual_meet",
        "--vary",
        "straight=60:120:60",
        "--seeds",
        "2",
        "--until",
        "140",
    ],
    "card": ["card", "dual_meet", "--seeds", "2"],
    "finish": ["finish", "sallow_heath", "--seeds", "1"],
    "disturb": ["disturb", "dual_meet", "--at", "140 yd", "--lasts", "10", "--seeds", "3"],
}
"""Commands of many races, small: name, words, the second one a scenario."""


def digest(data: bytes) -> str:
    """The first sixteen letters of the SHA-256."""
    return hashlib.sha256(data).hexdigest()[:16]


def run(words: list[str], folder: Path) -> None:
    """Carry out one command of the door, its files in this folder."""
    command = [sys.executable, "-m", "simrun", *words, "--out", str(folder)]
    subprocess.run(command, cwd=HERE, check=True, stdout=subprocess.DEVNULL)


def of_folder(folder: Path) -> dict[str, str]:
    """A digest for every array of the recordings and for every CSV in a folder."""
    found = {}
    for file in sorted(folder.rglob("*")):
        if file.suffix == ".csv":
            found[file.name] = digest(file.read_bytes())
        if file.suffix == ".npz":
            with np.load(file) as arrays:
                for name in sorted(arrays.files):
                    array = arrays[name]
                    what = f"{array.dtype}{array.shape}".encode()
                    found[f"{file.name}/{name}"] = digest(what + array.tobytes())
    return found


def taken() -> dict[str, str]:
    """Every digest, by command and file."""
    found: dict[str, str] = {}
    with tempfile.TemporaryDirectory() as where:
        for scenario in FOUR:
            for seed in SEEDS:
                name = f"race {scenario} {seed}"
                words = ["race", f"scenarios/{scenario}.toml", "--seed", seed, "--no-gif"]
                found |= _named(name, words, Path(where) / name)
        for name, words in STUDIES.items():
            words = [f"scenarios/{word}.toml" if word in FOUR else word for word in words]
            found |= _named(name, words, Path(where) / name)
    return found


def _named(name: str, words: list[str], folder: Path) -> dict[str, str]:
    run(words, folder)
    print(name, file=sys.stderr)
    return {f"{name}: {key}": value for key, value in of_folder(folder).items()}


def main(words: list[str]) -> int:
    """Write or compare."""
    what, file = words[0], Path(words[1])
    now = taken()
    if what == "write":
        file.write_text(json.dumps(now, indent=1) + "\n")
        return 0
    before = json.loads(file.read_text())
    differ = sorted(key for key in before.keys() | now.keys() if before.get(key) != now.get(key))
    print(f"{len(before)} digests before, {len(now)} now, {len(differ)} differ")
    print("\n".join(differ))
    return int(bool(differ))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
