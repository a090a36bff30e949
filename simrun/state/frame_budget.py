"""How much may the frames of one race hold? Told before the gun, and again where a file is read.

A frame costs 12 bytes a runner in memory and 8 in a file, so the most that is kept needs 1.4 GB to run
and stays below what is read again.

Check: tests/unit/state/test_frame_budget.py.
"""

from __future__ import annotations

import math

from simrun.base.errors import BadInput, Problem

MOST_PLACES = 120_000_000
"""Frames times runners."""

LARGEST_UNPACKED_BYTES = 2**30
ADVICE = "a longer frame_s or a shorter limit under [clock] keeps less"


def check_frames(limit_s: float, frame_s: float, step_s: float, runners: int) -> None:
    """Raises BadInput, saying what to change, where a race as long as its limit would hold too much."""
    frames = round(limit_s / frame_s) + 1
    if frames * runners <= MOST_PLACES:
        return
    longest_s = math.floor((MOST_PLACES / runners - 1) * frame_s)
    found = f"{frames} frames of {runners} runners up to the limit of {limit_s:g} s"
    widest_s = step_s * math.ceil(limit_s / step_s / (MOST_PLACES / runners - 1))
    enough = f"frame_s = {widest_s:g} or more, or a limit of {longest_s} s or less"
    allowed = f"more than a recording holds: {enough}"
    raise BadInput(Problem("clock.frame_s", found, allowed))


def too_large(unpacked_bytes: int) -> str:
    """What is wrong with a file that unpacks to so much; empty where nothing is."""
    if unpacked_bytes <= LARGEST_UNPACKED_BYTES:
        return ""
    return f"unpacks to {unpacked_bytes / 1e9:.1f} GB; at most 1 GB is read: {ADVICE}"
