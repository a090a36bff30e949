"""The coach's own pictures and clips, made fit for the page: small, with nothing in them but what is seen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from simrun.base.errors import BadInput, Problem, notice
from simrun.pages.walk import Shot
from simrun.pictures.walk.clips import LONGEST_S, can_read, moving, still
from simrun.pictures.walk.photographs import photograph
from simrun.scenario.named_files import attachment_bytes, attachment_path
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema_places import PlaceTable

PHOTO, CLIP = "photo", "clip"

Pictures = Mapping[tuple[str | float, str], Shot]
"""By where the place is, as it is written, and whether it is a photo or a clip; without any words."""

MOST_PICTURES_BYTES, MOST_PICTURE_BYTES = 4_500_000, 420_000
"""All pictures of a page together, and one: the page stays below 8 MB."""

MOVING_COUNTS = 2
"""A film takes as much room as so many pictures, its first picture included."""

LARGEST_PICTURE_BYTES = 40_000_000

Named = tuple[int, str, str]
"""A picture that the scenario names: the number of the place, photo or clip, the file."""


def looked_at(day: Scenario, beside: Path) -> Pictures:
    """Every picture and clip that the scenario names, small, by its place.

    Where films cannot be read, a place with a photo goes without its clip, and says so.
    beside: the folder in which they lie. Raises BadInput with a line for each that is missing or no picture.
    Check: tests/journeys/test_preview_pictures.py.
    """
    named = list(_readable(day.places))
    most = room_bytes([_counts(day.places[number], kind) for number, kind, _ in named])
    found: dict[tuple[str | float, str], Shot] = {}
    problems: list[Problem] = []
    for number, kind, name in named:
        place, key = day.places[number], f"places.{number + 1}.{kind}"
        try:
            if kind == PHOTO:
                data = attachment_bytes(beside, name, LARGEST_PICTURE_BYTES, key)
                found[place.at, kind] = Shot(photograph(data, most, key), "")
            else:
                found[place.at, kind] = _clip(place, attachment_path(beside, name, key), most, key)
        except BadInput as wrong:
            problems += wrong.problems
    if problems:
        raise BadInput(problems).in_file(day.file)
    return found


def room_bytes(counts: Sequence[int]) -> int:
    """How large may one picture be, where each of them counts as so many?"""
    return min(MOST_PICTURE_BYTES, MOST_PICTURES_BYTES // max(1, sum(counts)))


def is_moving(place: PlaceTable) -> bool:
    """Is its clip shown moving? Where it is told from when to when, and that is no longer than a look."""
    if place.clip is None or place.clip_to_s is None:
        return False
    return 0 < place.clip_to_s - (place.clip_from_s or 0.0) <= LONGEST_S


def _readable(places: Sequence[PlaceTable]) -> Iterator[Named]:
    """What is named, without the clips beside a photo where no film can be read."""
    for number, kind, name in _named(places):
        if kind == CLIP and places[number].photo is not None and not can_read():
            notice(f'{name} is left out, its photo stands alone: pip install "simrun[video]"')
        else:
            yield number, kind, name


def _named(places: Sequence[PlaceTable]) -> Iterator[Named]:
    for number, place in enumerate(places):
        for kind, name in ((PHOTO, place.photo), (CLIP, place.clip)):
            if name is not None:
                yield number, kind, name


def _counts(place: PlaceTable, kind: str) -> int:
    return MOVING_COUNTS if kind == CLIP and is_moving(place) else 1


def _clip(place: PlaceTable, path: Path, most: int, key: str) -> Shot:
    """The seconds that count, or a still of the first of them."""
    begin = place.clip_from_s or 0.0
    if not is_moving(place):
        return Shot(still(path, begin, most, key), "")
    first = still(path, begin, most // 2, key)
    assert place.clip_to_s is not None
    film = moving(path, begin, place.clip_to_s, MOVING_COUNTS * most - len(first), key)
    return Shot(first, "", film=film)
