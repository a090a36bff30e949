"""What does a GeoJSON text draw? Its features, checked, still in degrees (RFC 7946, WGS84)."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NoReturn

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word

Array = NDArray[np.float64]

LARGEST_TEXT = 20_000_000
MOST_POINTS = 100_000
LONGEST_NAME = 80
HEIGHT_RANGE_M = (-500.0, 9000.0)

SHAPES = ("LineString", "Point", "Polygon")
EDGES = ("left", "right", "centre")
EDGE_KINDS = ("barrier", "marked", "open")
POINT_KINDS = ("landmark", "checkpoint", "turn")
POLYGON_KINDS = ("obstacle",)

ORDER_HINT = "GeoJSON wants longitude, latitude"


@dataclass(frozen=True)
class Feature:
    """One drawn thing.

    label: how an error names it; shape: one of SHAPES; degree (P, 2): longitude, latitude;
    height_m (P,): nan where none is given; edge: one of EDGES, or empty; kind: what the drawing
    calls it, or empty; width: as written, None if absent.
    """

    label: str
    shape: str
    degree: Array
    height_m: Array
    name: str = ""
    edge: str = ""
    kind: str = ""
    width: object = None


def refuse(key: str, found: str, allowed: str, nearest: str = "") -> NoReturn:
    """Raise BadInput in one clear line; the reader of the drawing adds the file's name."""
    raise BadInput(Problem(key, found, allowed, nearest))


def read_features(text: str) -> tuple[Feature, ...]:
    """Which features does this text draw? Raises BadInput for whatever is not GeoJSON of ours.

    Accepts a FeatureCollection, one Feature, or one bare geometry.
    Check: tests/unit/course/test_drawn.py, tests/properties/test_drawn_roundtrip.py (random JSON).
    """
    features, points = [], 0
    for number, raw in enumerate(raw_features(parsed(text)), start=1):
        features.append(_feature(number, raw))
        points += len(features[-1].degree)
        if points > MOST_POINTS:
            refuse("features", f"more than {MOST_POINTS} points", f"at most {MOST_POINTS} points")
    if not features:
        refuse("features", "nothing is drawn", "a left and a right edge, or a centre line")
    return tuple(features)


def shown(value: object) -> str:
    """A found value as an error shows it: short, on one line."""
    text = ascii(value) if not isinstance(value, str) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def parsed(text: str) -> object:
    if len(text) > LARGEST_TEXT:
        refuse("text", f"{len(text) / 1e6:.0f} MB", f"at most {LARGEST_TEXT / 1e6:.0f} MB")
    try:
        return json.loads(text, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        refuse("text", f"not JSON at {where} ({error.msg})", "a GeoJSON text")
    except RecursionError:
        refuse("text", "brackets nested too deeply", "a GeoJSON text")
    except ValueError:
        refuse("text", "a number with too many digits", "plain decimal numbers")


def _no_constant(word: str) -> NoReturn:
    refuse("text", f"the number {word}", "every number is finite")


def raw_features(data: object) -> Iterator[dict[str, Any]]:
    kind = data.get("type") if isinstance(data, dict) else None
    if not isinstance(data, dict) or not isinstance(kind, str):
        refuse("text", f"not GeoJSON ({shown(data)})", "a FeatureCollection of features")
    if kind in SHAPES:
        yield {"type": "Feature", "properties": {}, "geometry": data}
    elif kind == "Feature":
        yield data
    elif kind == "FeatureCollection" and isinstance(data.get("features"), list):
        yield from data["features"]
    else:
        allowed = ("FeatureCollection", "Feature", *SHAPES)
        found = f"type {shown(kind)}" if kind != "FeatureCollection" else "no list of features"
        refuse("text", found, f"one of {', '.join(allowed)}", _nearest(kind, allowed))


def _feature(number: int, raw: object) -> Feature:
    label = f"feature {number}"
    if not isinstance(raw, dict) or raw.get("type") != "Feature":
        refuse(label, f"not a Feature ({shown(raw)})", "an object of type Feature")
    words = raw.get("properties")
    words = {} if words is None else words
    if not isinstance(words, dict):
        refuse(label, f"properties are {shown(words)}", "an object or null")
    name = _name(label, words)
    label = f"{label} {name!r}" if name else label
    shape, degree, height = _geometry(label, raw.get("geometry"))
    edge = _word(label, words, "edge", EDGES) if shape == "LineString" else ""
    label = f"{label} ({edge} edge)" if edge in ("left", "right") else label
    kind = _word(label, words, "kind", EDGE_KINDS if edge else _kinds(shape))
    if not name and (shape != "LineString" or kind == "turn"):
        refuse(label, f"a {shape} without a name", "properties.name says what stands there")
    return Feature(label, shape, degree, height, name, edge, kind, words.get("width"))


def _kinds(shape: str) -> tuple[str, ...]:
    kinds = {"Point": POINT_KINDS, "Polygon": POLYGON_KINDS}
    return kinds.get(shape, (*EDGE_KINDS, "turn"))


def _name(label: str, words: dict[str, Any]) -> str:
    name = words.get("name", "")
    name = "" if name is None else name
    if not isinstance(name, str) or len(name) > LONGEST_NAME or not name.isprintable():
        allowed = f"one line of at most {LONGEST_NAME} letters"
        refuse(f"{label}: properties.name", shown(name), allowed)
    return name.strip()


def _word(label: str, words: dict[str, Any], key: str, allowed: tuple[str, ...]) -> str:
    word = words.get(key)
    if word is None:
        return ""
    if word not in allowed:
        nearest = _nearest(word, allowed)
        refuse(f"{label}: properties.{key}", shown(word), f"one of {', '.join(allowed)}", nearest)
    return str(word)


def _geometry(label: str, raw: object) -> tuple[str, Array, Array]:
    shape = raw.get("type") if isinstance(raw, dict) else None
    if not isinstance(raw, dict) or not isinstance(shape, str) or shape not in SHAPES:
        nearest = _nearest(shape, SHAPES)
        found = "no geometry" if raw is None else f"geometry {shown(shape or raw)}"
        refuse(label, found, f"one of {', '.join(SHAPES)}", nearest)
    rows = raw.get("coordinates")
    if shape == "Point":
        rows = [rows]
    elif shape == "Polygon":
        rows = rows[0] if isinstance(rows, list) and rows else None
    if not isinstance(rows, list):
        refuse(label, f"coordinates are {shown(rows)}", "lists of longitude, latitude")
    least = {"LineString": 2, "Point": 1, "Polygon": 4}[shape]
    if len(rows) < least:
        refuse(label, f"{len(rows)} points", f"a {shape} has at least {least}")
    points = np.array([position(label, row) for row in rows])
    if shape == "Polygon" and (points[0, :2] != points[-1, :2]).any():
        refuse(label, "the outline is not closed", "the last point repeats the first")
    return shape, points[:, :2], points[:, 2]


def position(label: str, row: object) -> tuple[float, float, float]:
    if not isinstance(row, list) or not 2 <= len(row) <= 4 or not all(map(_is_number, row)):
        refuse(
            label, f"a point {shown(row)}", "longitude, latitude and perhaps a height, in numbers"
        )
    longitude, latitude = row[0], row[1]
    if not (abs(longitude) <= 180 and abs(latitude) <= 90):
        swapped = abs(longitude) <= 90 and abs(latitude) <= 180
        looks = f"; looks like latitude, longitude: {ORDER_HINT}" if swapped else ""
        allowed = f"longitude -180 to 180, latitude -90 to 90{looks}"
        refuse(label, f"a point at {shown(row[:2])}", allowed)
    if len(row) > 2 and not HEIGHT_RANGE_M[0] <= row[2] <= HEIGHT_RANGE_M[1]:
        allowed = f"{HEIGHT_RANGE_M[0]:g} to {HEIGHT_RANGE_M[1]:g} m"
        refuse(label, f"a height of {shown(row[2])}", allowed)
    return float(longitude), float(latitude), float(row[2]) if len(row) > 2 else math.nan


def _nearest(word: object, allowed: tuple[str, ...]) -> str:
    short = isinstance(word, str) and len(word) <= LONGEST_NAME
    return nearest_word(str(word), allowed) if short else ""


def _is_number(value: object) -> bool:
    """Numbers only: true and false are not, nor is 1e999, which JSON reads as infinite."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return isinstance(value, int) or math.isfinite(value)
