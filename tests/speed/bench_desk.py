"""How long does the desk take for a step of a drag, to the handbook's word and to raced figures? By hand."""

from __future__ import annotations

import contextlib
import statistics
import sys
import time
from pathlib import Path

TOP = Path(__file__).parents[2]
sys.path.insert(0, str(TOP))

from simrun.base.errors import BadInput  # noqa: E402
from simrun.desk.desk_hands import Hands  # noqa: E402

DAYS = ("dual_meet", "brindle_fen", "ferry_meadow", "sallow_heath", "ostrel_common")
DRAGS = 15
LONGEST_S = 60.0


def drag_ms(hands: Hands, name: str, key: str) -> list[float]:
    """One drag in small steps, each as the page asks for it: milliseconds of the processor."""
    file = f"{name}.toml"
    day = hands.day({"file": file})
    if key not in day["limits"] and key != "throat":
        return []
    if key == "throat" and not day["throat"]:
        return []
    low, high = day["limits"][key]
    named = {"throat_number": day["throat"]["number"]} if key == "throat" else {}
    ground = key in ("straight", "throat")
    found = []
    for step in range(DRAGS):
        value = low + (high - low) * (0.1 + 0.02 * step)
        begun = time.thread_time()
        with contextlib.suppress(BadInput):  # a lap that no longer closes is told, as soon
            hands.tried({"file": file, key: value, "ground": ground, **named})
        found.append(1000 * (time.thread_time() - begun))
    return found


def first_ms(hands: Hands, name: str) -> list[float]:
    """The handbook's word on a line while it is turned: milliseconds of the processor."""
    found = []
    for step in range(DRAGS):
        begun = time.thread_time()
        hands.first({"file": f"{name}.toml", "tilt": 0.1 * step})
        found.append(1000 * (time.thread_time() - begun))
    return found


def estimate_s(hands: Hands, name: str) -> tuple[float, float]:
    """From the end of a drag to the first raced figures, and to those of eight races."""
    begun = time.perf_counter()
    number = hands.estimate({"file": f"{name}.toml"})["number"]
    first, eight = 0.0, float("nan")
    while (passed := time.perf_counter() - begun) < LONGEST_S:
        told = hands.estimated({})
        if told.get("number") == number and told.get("races", 0) >= 2 and not first:
            first = passed
        if told.get("races", 0) >= 8 or told["state"] == "failed":
            eight = passed
            break
        time.sleep(0.01)
    hands.estimates.drop()  # as the next drag does: what is measured then is not measured beside races
    return first, eight


def main() -> None:
    """A line a race day."""
    hands = Hands(TOP / "scenarios")
    estimate_s(hands, "dual_meet")
    for name in DAYS:
        told = []
        for key in ("tilt", "bow", "straight", "throat"):
            found = drag_ms(hands, name, key)
            if found:
                told.append(f"{key} {statistics.median(found):.0f} ms (longest {max(found):.0f})")
        at_once = first_ms(hands, name)
        told.append(f"handbook {statistics.median(at_once):.0f} ms (longest {max(at_once):.0f})")
        first, eight = estimate_s(hands, name)
        sys.stdout.write(
            f"{name}: {', '.join(told)}; raced {first:.1f} s, of 8 races {eight:.1f} s\n"
        )
    hands.close()


if __name__ == "__main__":
    main()
