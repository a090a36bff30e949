"""Who is left out of the means, and which engine ran the races, in one line each for a page."""

from __future__ import annotations

from simrun.engine.batch.together import GPU
from simrun.measure.left_out import STANDS_S, LeftOut

MOST_TOLD = 5
"""So many of those who stood are told one by one."""


def engine_words(engine: str) -> str:
    """Which engine ran the races, where it was a graphics card; else nothing."""
    if engine != GPU:
        return ""
    return (
        "These races were run on a graphics card: the same laws, but a single race is not, to the last "
        "digit, that of the processor."
    )


def left_out_words(found: LeftOut) -> str:
    """One line for a page: how many are left out and why; empty where everybody came and nobody stood."""
    if not found.missing and not found.stood:
        return ""
    lost = sum(not one.arrived for one in found.stood)
    of = f"{found.runners} runners" + (f" in {found.races} races" if found.races > 1 else "")
    parts = []
    if found.missing:
        late = found.missing - lost
        parts.append(
            f"Left out of the averages at the last mark: {found.missing} of {of} did not reach it "
            f"({lost} stood still, {late} were still running when time ran out)."
        )
    if found.stood:
        parts.append(_stood_words(found))
    return " ".join(parts)


def _stood_words(found: LeftOut) -> str:
    told = [f"{s.who} at {s.at_m:.0f} m, {s.seconds:.0f} s" for s in found.stood[:MOST_TOLD]]
    more = len(found.stood) - len(told)
    rest = f" and {more} more" if more > 0 else ""
    count = len(found.stood)
    return (
        f"{count} did not move for {STANDS_S:.0f} s or longer though nobody is down: "
        f"{'; '.join(told)}{rest}. Runners do not do that: distrust this place."
    )
