"""What did people see? Their lists, read and held against the places of the race day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.list_rows import Row, plain_name, rows_of, shortened
from simrun.runners.results import Results, time_s
from simrun.scenario.named_files import file_words, read_list
from simrun.scenario.tables.values import LONGEST_NAME
from simrun.trials.learning.lesson import Source
from simrun.trials.learning.seen_races import APEX, START_MAT, Watched
from simrun.trials.learning.sightings import (
    ABREAST,
    FEWEST,
    GAP,
    MOST,
    RATE,
    SECTION,
    SPLITS,
    STARTS,
    THIRDS,
    Sighting,
)

INSIDE, MIDDLE, OUTSIDE = THIRD_WORDS = ("inside", "middle", "outside")
WHAT = {
    "a minute": RATE,
    "runners a minute": RATE,
    "abreast": ABREAST,
    "gap": GAP,
    **dict.fromkeys(THIRD_WORDS, THIRDS),
}
COLUMNS = ("what", "at", "seen")
GUN, NET = ("gun", "gun time"), ("net", "net time", "chip", "chip time")

LARGEST = {RATE: 3000.0, ABREAST: 200.0, GAP: 30.0, THIRDS: 5000.0}


def split_source(watched: Watched, results: Results, file: str) -> Source:
    """Last year's splits at the marks of this day, and the sections between them. Raises BadInput."""
    by_name = {name.casefold(): times for name, times in results.splits.items()}
    end = watched.day.strip.checkpoints[-1]
    if end.station_m > watched.day.strip.length_m - 1.0:
        by_name[end.name.casefold()] = results.time_s
    marks = [name for name in watched.marks if name.casefold() in by_name]
    times = {name: by_name[name.casefold()] for name in marks}
    timed = [m for m in marks if np.isfinite(times[m]).sum() >= FEWEST[SPLITS]]
    if not timed:
        raise BadInput(_no_splits(watched, results, file))
    # Who has no finish time may have been timed on the way all the same.
    listed = len(results.time_s)
    found = [Sighting(SPLITS, (mark,), _known(times[mark]), listed) for mark in timed]
    for first, last in pairwise(timed):
        took = _known(times[last] - times[first])
        if len(took) >= FEWEST[SECTION]:
            found.append(Sighting(SECTION, (first, last), took, listed))
    return Source("splits", tuple(found))


def _known(times: np.ndarray) -> tuple[float, ...]:
    return tuple(map(float, times[np.isfinite(times)][: MOST[SPLITS]]))


def _no_splits(watched: Watched, results: Results, file: str) -> Problem:
    told = ", ".join(repr(shortened(name)) for name in results.splits) or "none"
    names = ", ".join(mark.name for mark in watched.day.strip.checkpoints if APEX not in mark.name)
    first = next(iter(results.splits), "")
    near = nearest_word(first[:LONGEST_NAME], list(watched.marks))
    allowed = f"{FEWEST[SPLITS]} times or more in a column named as a mark of this day: {names}"
    return Problem("splits", told, allowed, near, file)


def count_sources(watched: Watched, path: str) -> list[Source]:
    """What was counted, a source a kind and place, in the order of the list. Raises BadInput."""
    place = Path(path)
    file = file_words(place)
    rows = list(rows_of(read_list(place), file, COLUMNS))
    at = _columns(rows, {name: (name,) for name in COLUMNS}, file)
    seen: dict[tuple[str, str], list[tuple[str, float]]] = {}
    problems: list[Problem] = []
    for row in rows[1:]:
        try:
            what, mark, value = _count(watched, row, at)
            seen.setdefault((WHAT[what], mark), []).append((what, value))
        except BadInput as wrong:
            problems += wrong.in_file(file).problems
    problems += [] if problems else _too_few(seen, file)
    if problems:
        raise BadInput(problems)
    sightings = [
        Sighting(kind, (mark,), _values(kind, told)) for (kind, mark), told in seen.items()
    ]
    return [Source(each.name, (each,)) for each in sightings]


def _columns(rows: Sequence[Row], wanted: Mapping[str, Sequence[str]], file: str) -> dict[str, int]:
    """Which column holds what? Raises BadInput naming the first that is missing."""
    head = [plain_name(cell) for cell in rows[0][1]] if rows else []
    found = {}
    for name, words in wanted.items():
        places = [at for at, cell in enumerate(head) if cell in words]
        if len(places) != 1:
            told = ", ".join(repr(shortened(cell)) for cell in head[:8]) or "no columns"
            raise BadInput(Problem(f"column {name}", told, f"one column {name}", "", file))
        found[name] = places[0]
    return found


def _count(watched: Watched, row: Row, at: Mapping[str, int]) -> tuple[str, str, float]:
    line, cells = row
    what, where, seen = (cells[at[name]] if at[name] < len(cells) else "" for name in COLUMNS)
    word = plain_name(what)
    if word not in WHAT:
        allowed = "one of " + ", ".join(WHAT)
        near = nearest_word(word[:LONGEST_NAME], list(WHAT))
        raise BadInput(Problem(f"line {line}, column what", repr(shortened(what)), allowed, near))
    return word, _mark(watched, WHAT[word], where, line), _number(WHAT[word], seen, line)


def _mark(watched: Watched, kind: str, where: str, line: int) -> str:
    """The mark of a place: the apex of a corner for thirds, else the mark of that name."""
    if kind == THIRDS:
        known = {name.removesuffix(APEX): name for name in watched.corners}
    else:
        known = {name: name for name in watched.marks if name != START_MAT and APEX not in name}
    found = {name.casefold(): mark for name, mark in known.items()}.get(where.casefold())
    if found is None:
        sort = "a named turn" if kind == THIRDS else "a named place"
        allowed = f"{sort} before the last mark: " + (", ".join(known) or "there is none")
        near = nearest_word(where[:LONGEST_NAME], list(known))
        raise BadInput(Problem(f"line {line}, column at", repr(shortened(where)), allowed, near))
    return found


def _number(kind: str, text: str, line: int) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = -1.0
    least = 0.0 if kind in (THIRDS, GAP) else 1.0
    if not least <= value <= LARGEST[kind] or (kind == THIRDS and value != round(value)):
        sort = "a whole number" if kind == THIRDS else "a number"
        allowed = f"{sort} from {least:g} to {LARGEST[kind]:g}"
        raise BadInput(Problem(f"line {line}, column seen", repr(shortened(text)), allowed))
    return value


def _too_few(
    seen: Mapping[tuple[str, str], Sequence[tuple[str, float]]], file: str
) -> Iterator[Problem]:
    if not seen:
        yield Problem("file", "nothing counted", "a line a count: what, at, seen", "", file)
    for (kind, mark), told in seen.items():
        words = [word for word, _ in told]
        if kind == THIRDS and sorted(words) != sorted(THIRD_WORDS):
            found = ", ".join(words)
            allowed = f"one count each of {', '.join(THIRD_WORDS)}"
            yield Problem(mark.removesuffix(APEX), found, allowed, "", file)
        elif kind == THIRDS and sum(value for _, value in told) < 10:
            yield Problem(mark.removesuffix(APEX), "fewer than 10 counted", "10 or more", "", file)
        elif not FEWEST[kind] <= len(told) <= MOST[kind]:
            allowed = f"{FEWEST[kind]} to {MOST[kind]} of them"
            yield Problem(f"{kind} at {mark}", f"{len(told)} lines", allowed, "", file)


def _values(kind: str, told: Sequence[tuple[str, float]]) -> tuple[float, ...]:
    if kind == THIRDS:
        by_word = dict(told)
        return tuple(by_word[word] for word in THIRD_WORDS)
    return tuple(value for _, value in told)


def start_source(path: str) -> Source:
    """Seconds from the gun to the start mat, out of gun and net times. Raises BadInput."""
    place = Path(path)
    file = file_words(place)
    rows = list(rows_of(read_list(place), file, (*GUN, *NET)))
    at = _columns(rows, {"gun": GUN, "net": NET}, file)
    waits = [_wait_s(row, at, file) for row in rows[1:]]
    known = tuple(wait for wait in waits if not np.isnan(wait))
    if not FEWEST[STARTS] <= len(known) <= MOST[STARTS]:
        allowed = f"{FEWEST[STARTS]} to {MOST[STARTS]} runners with both times"
        raise BadInput(Problem("starts", f"{len(known)} runners", allowed, "", file))
    return Source("starts", (Sighting(STARTS, (START_MAT,), known),))


def _wait_s(row: Row, at: Mapping[str, int], file: str) -> float:
    line, cells = row
    times = []
    for name, column in at.items():
        text = cells[column] if column < len(cells) else ""
        try:
            times.append(time_s(text))
        except ValueError:
            allowed = 'a time such as "18:20.5", or DNF'
            found = repr(shortened(text))
            raise BadInput(
                Problem(f"line {line}, column {name}", found, allowed, "", file)
            ) from None
    gun, net = times
    if gun < net:
        found = f"gun {gun:g} s, net {net:g} s"
        raise BadInput(Problem(f"line {line}", found, "a net time is no longer", "", file))
    return gun - net
