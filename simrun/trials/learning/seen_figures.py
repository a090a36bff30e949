"""Which figures of a race say what was seen? The same of a simulated race, with the errors of who looks.

A sighting is turned into a few figures; a simulated race gives the same ones as somebody with a phone or a
mat would have written them: with errors of timing and counting, of as many runners as were timed, of a
field that may be a little faster or slower than the one on paper. Openings, paces and places of the people
are drawn with the race. So a figure of ours and one of theirs differ by nothing but the inputs and chance.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from simrun.trials.learning.seen_races import START_MAT, Watched
from simrun.trials.learning.sightings import (
    ABREAST,
    GAP,
    RATE,
    SECTION,
    SPLITS,
    STARTS,
    THIRDS,
    Sighting,
)
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

MAT_ERROR_S = 0.1
"""A mat reads a tag somewhere on it: assumed, one standard deviation."""

STEPS_S = (1.0, 0.1)
"""A list in whole seconds, or in tenths, is held against races that are written so too."""

PHONE_ERROR_S = 0.04
"""A frame of a phone's film is 1/30 s; both ends of a gap are read off one."""

RATE_ERROR_SHARE = 0.03
ABREAST_ERROR = 0.5
MISTAKEN_SHARE = 0.05
"""So many of a third are counted to the one beside it."""

FIELD_SHARE = 0.02
"""Last year's people may be so much faster or slower than those on paper: one standard deviation."""

ABREAST_S = 0.25
FILE_M, LONGEST_GAP_S = 0.6, 3.0
"""Behind somebody: within so many metres to the side, and no later than this."""

SPLIT_SHARES = (0.1, 0.25, 0.5, 0.75, 0.9)
SECTION_SHARES = (0.1, 0.5, 0.9)
GAP_SHARES = (0.25, 0.5)

ERRORS_SEED = 20
"""The errors of who looks are drawn from here, and by the number of the race."""


def figure_names(sighting: Sighting) -> tuple[str, ...]:
    """What are the figures of a sighting called, in their order?"""
    spread = tuple(f"{100 * share:.0f} %" for share in SPLIT_SHARES)
    return {
        SPLITS: spread,
        STARTS: spread,
        SECTION: tuple(f"{100 * share:.0f} %" for share in SECTION_SHARES),
        RATE: ("a minute",),
        ABREAST: ("abreast",),
        GAP: tuple(f"{100 * share:.0f} %" for share in GAP_SHARES),
        THIRDS: ("inside", "middle", "outside"),
    }[sighting.kind]


def figures_seen(sighting: Sighting) -> Array:
    """The figures of what was seen."""
    values = np.array(sighting.values, dtype=float)
    if sighting.kind == THIRDS:
        return np.asarray(values / values.sum())
    return _summed(sighting.kind, values)


def _summed(kind: str, values: Array) -> Array:
    """Times by shares of the field, or the mean of what was tried a few times; nan for nobody's."""
    shares = {SPLITS: SPLIT_SHARES, STARTS: SPLIT_SHARES, SECTION: SECTION_SHARES, GAP: GAP_SHARES}
    if kind not in shares:
        return np.array([values.mean()])
    if not len(values):
        return np.full(len(shares[kind]), np.nan)
    return np.asarray(np.quantile(values, shares[kind]))


def figures_of(
    watched: Watched, race: Outcome, sightings: Sequence[Sighting], number: int
) -> list[Array]:
    """The figures of these sightings in one race, with the errors of who looks, a list entry a sighting.

    number: of the race, for its errors: who was timed and how fast the field is, is one thing for all.
    """
    errors = np.random.default_rng([ERRORS_SEED, number])
    timed = errors.permutation(len(race.crossing_s))
    pace = float(np.exp(FIELD_SHARE * errors.standard_normal()))
    return [
        _OF_KIND[each.kind](
            watched, race, each, np.random.default_rng([*_key(each), number]), timed, pace
        )
        for each in sightings
    ]


def _key(sighting: Sighting) -> tuple[int, int]:
    """What the errors of a sighting are drawn by: its name, so that another sighting moves them not."""
    return ERRORS_SEED + 1, int.from_bytes(sighting.name.encode()[-8:], "little") % 2**31


def _some(values: Array, seen: Sighting, race: Outcome, timed: NDArray[np.int64]) -> Array:
    """The times of as many as were timed, the same runners at every mark; of a list, those that it holds.

    A list shorter than the field holds its first finishers: read as any of them, following looked looser than
    it was. Check: tests/unit/trials/test_seen_figures.py.
    """
    end = race.crossing_s[:, -1]
    place = np.argsort(np.argsort(np.where(np.isfinite(end), end, np.inf), kind="stable"))
    held = timed[place[timed] < seen.listed] if seen.listed else timed
    ordered = values[held]
    return ordered[np.isfinite(ordered)][: seen.count]


def _as_written(took: Array, seen: Sighting, error_s: float, errors: np.random.Generator) -> Array:
    """Times with the error of a mat, rounded as those that were seen are."""
    times = took + error_s * errors.standard_normal(len(took))
    written = np.array(seen.values)
    for step in STEPS_S:
        if len(written) and np.allclose(written / step, np.round(written / step), atol=1e-6):
            return np.asarray(np.round(times / step) * step)
    return np.asarray(times)


def _splits(
    watched: Watched,
    race: Outcome,
    seen: Sighting,
    errors: np.random.Generator,
    timed: NDArray[np.int64],
    pace: float,
) -> Array:
    begin = 0.0 if len(seen.place) == 1 else race.crossing_s[:, watched.mark(seen.place[0])]
    took = (race.crossing_s[:, watched.mark(seen.place[-1])] - begin) * pace
    times = _as_written(took, seen, MAT_ERROR_S * len(seen.place) ** 0.5, errors)
    return _summed(seen.kind, _some(times, seen, race, timed))


def _starts(
    watched: Watched,
    race: Outcome,
    seen: Sighting,
    errors: np.random.Generator,
    timed: NDArray[np.int64],
    pace: float,
) -> Array:
    took = race.crossing_s[:, watched.mark(START_MAT)]
    times = _as_written(took, seen, MAT_ERROR_S, errors)
    return _summed(seen.kind, _some(times, seen, race, timed))


def _rate(
    watched: Watched, race: Outcome, seen: Sighting, errors: np.random.Generator, *_: object
) -> Array:
    passed = _passed(watched, race, seen)[0]
    first, last = np.quantile(passed, (0.25, 0.75)) if len(passed) > 3 else (np.nan, np.nan)
    rate = 60.0 * 0.5 * len(passed) / max(last - first, 1e-3)
    error = RATE_ERROR_SHARE / np.sqrt(seen.count) * errors.standard_normal()
    return np.array([rate * (1.0 + error)])


def _abreast(
    watched: Watched, race: Outcome, seen: Sighting, errors: np.random.Generator, *_: object
) -> Array:
    passed = _passed(watched, race, seen)[0]
    until = np.searchsorted(passed, passed + ABREAST_S, side="right")
    most = float((until - np.arange(len(passed))).max()) if len(passed) else np.nan
    error = ABREAST_ERROR / np.sqrt(seen.count) * errors.standard_normal()
    return np.array([most + error])


def _gaps(
    watched: Watched, race: Outcome, seen: Sighting, errors: np.random.Generator, *_: object
) -> Array:
    passed, across = _passed(watched, race, seen)
    gaps = pair_gaps_s(passed, across * watched.width_m[watched.mark(seen.place[0])])
    some = errors.permutation(gaps)[: seen.count]
    return _summed(GAP, some + PHONE_ERROR_S * errors.standard_normal(len(some)))


def pair_gaps_s(passed_s: Array, across_m: Array) -> Array:
    """How long after each does the next in the same file come? passed_s in order.

    The next within FILE_M to the side and LONGEST_GAP_S; of who has none nothing is told.
    Check: tests/unit/trials/test_seen_figures.py.
    """
    found = []
    for i, (at, where) in enumerate(zip(passed_s, across_m, strict=True)):
        near = np.abs(across_m[i + 1 :] - where) <= FILE_M
        later = passed_s[i + 1 :][near]
        if len(later) and later[0] - at <= LONGEST_GAP_S:
            found.append(later[0] - at)
    return np.array(found)


def _thirds(
    watched: Watched, race: Outcome, seen: Sighting, errors: np.random.Generator, *rest: object
) -> Array:
    _, across = _passed(watched, race, seen)
    off = across if watched.is_left_inside(seen.place[0]) else 1.0 - across
    third = np.clip((3 * off).astype(int), 0, 2)
    third = errors.permutation(third)[: seen.count]
    wrong = errors.random(len(third)) < MISTAKEN_SHARE
    beside = np.where(third == 1, 2 * errors.integers(0, 2, len(third)), 1)
    third = np.where(wrong, beside, third)
    return np.asarray(np.bincount(third, minlength=3) / max(1, len(third)), dtype=float)


def _passed(watched: Watched, race: Outcome, seen: Sighting) -> tuple[Array, Array]:
    """When everybody passed the mark, the first first, and where across."""
    at = watched.mark(seen.place[0])
    assert race.across is not None
    there = np.isfinite(race.crossing_s[:, at])
    passed, across = race.crossing_s[there, at], race.across[there, at]
    order = np.argsort(passed, kind="stable")
    return passed[order], across[order].astype(float)


_OF_KIND: dict[str, Callable[..., Array]] = {
    SPLITS: _splits,
    SECTION: _splits,
    STARTS: _starts,
    RATE: _rate,
    ABREAST: _abreast,
    GAP: _gaps,
    THIRDS: _thirds,
}
