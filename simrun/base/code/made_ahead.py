"""What of the engine came with the package, compiled ahead for every machine of a kind?

A released package may bring the folder that a first race would fill (`.ci/ahead.py` makes it): the same
files, under the same digest of every source, the compiler and its assembler, but compiled for a baseline
that nearly every machine is. Where anything differs, the folder has another name, and the engine is compiled
as ever. Not one bit of a race differs between the baseline and a machine's own instructions: nothing lets
the compiler join a product and a sum, nor change the order of sums.

Check: tests/unit/base/test_made_ahead.py; `.ci/release` races the wheel with it and without.
"""

from __future__ import annotations

from pathlib import Path

import llvmlite.binding

BASELINE = "x86-64-v2"
"""The kind of machine: what has been built since about 2009. Other processors find no code that fits."""

NEEDED = ("cx16", "popcnt", "sse3", "ssse3", "sse4.1", "sse4.2")
"""What a processor must be able to do for it (System V ABI, AMD64 supplement, section 3.1.1)."""

AHEAD = Path(__file__).parent / "ahead"


def folder_ahead(digest: str) -> Path | None:
    """The folder that was made of sources of this digest, if this machine can run what is in it."""
    folder = AHEAD / digest
    return folder if folder.is_dir() and runs_baseline() else None


def runs_baseline() -> bool:
    """Can this processor do all that the baseline has?"""
    has = llvmlite.binding.get_host_cpu_features()
    return all(has.get(what, False) for what in NEEDED)
