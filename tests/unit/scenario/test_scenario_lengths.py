"""Lengths and times as people write them."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.scenario.tables.lengths import Length, Time, length_m, time_s
from simrun.scenario.tables.values import RefusedError, plain_number

LENGTHS = [
    (400, 400.0),
    (0.5, 0.5),
    ("60 m", 60.0),
    ("60m", 60.0),
    ("  1 km ", 1000.0),
    ("1.5 kilometres", 1500.0),
    ("150 yd", 137.16),
    ("150 yards", 137.16),
    ("0.5 mi", 804.672),
    ("1 Mile", 1609.344),
    ("30 ft", 9.144),
    ("12 in", 0.3048),
    ("-2 m", -2.0),
    (".5 m", 0.5),
]


@pytest.mark.parametrize(("written", "metres"), LENGTHS)
def test_a_length_in_metres(written: object, metres: float) -> None:
    """International yard 0.9144 m, mile 1609.344 m: exact by definition (1959 agreement)."""
    assert length_m(written) == pytest.approx(metres, rel=1e-12)


BITS = [
    ("3 ft", 0.9143999999999999),
    ("12.5 Feet", 3.8099999999999996),
    ("20 yd", 18.288),
    ("0.1 yard", 0.09144000000000001),
    ("26.2 miles", 42164.8128),
    ("7.1 inches", 0.18033999999999997),
    ("7.1 cm", 0.071),
    ("7 mm", 0.007),
    ("5.1 KM", 5100.0),
]


@pytest.mark.parametrize(("written", "metres"), BITS)
def test_a_length_to_the_last_bit(written: str, metres: float) -> None:
    """A bit less in a length makes another race after a minute: recordings must stay what they were."""
    assert length_m(written) == metres


TIMES = [
    (90, 90.0),
    (0.05, 0.05),
    ("90 s", 90.0),
    ("12 min", 720.0),
    ("2 h", 7200.0),
    ("18:20", 1100.0),
    ("18:20.5", 1100.5),
    ("1:05:00", 3900.0),
    ("75:00", 4500.0),
]


@pytest.mark.parametrize(("written", "seconds"), TIMES)
def test_a_time_in_seconds(written: object, seconds: float) -> None:
    """Minutes and seconds, hours, minutes and seconds."""
    assert time_s(written) == pytest.approx(seconds, rel=1e-12)


NO_NUMBERS = [True, None, [], {}, math.nan, math.inf, 10**400, -(10**400), 1e300, "nan", "", " "]
NO_LENGTHS = [*NO_NUMBERS, "m", "1e3 m", "5 5 m", "0,5 km", "inf m", "1_000 m", "9" * 50 + " m"]
NO_LENGTHS += ["150", "3 kg", "2 m**2", "1 m + 1 m", "__import__", "\u0665 m", "5 light_year"]
NO_TIMES = [*NO_NUMBERS, "18:60", "1:5:00", "1:60:00", "18:2", ":20", "12 m", "18.20 o'clock"]


@pytest.mark.parametrize("written", NO_LENGTHS, ids=lambda value: repr(value)[:20])
def test_no_length(written: object) -> None:
    """Refused in one line that says what is allowed."""
    with pytest.raises(RefusedError) as caught:
        length_m(written)
    assert "150 yd" in caught.value.allowed
    assert caught.value.found.isprintable()


@pytest.mark.parametrize("written", NO_TIMES, ids=lambda value: repr(value)[:20])
def test_no_time(written: object) -> None:
    """Refused in one line that says what is allowed."""
    with pytest.raises(RefusedError) as caught:
        time_s(written)
    assert "18:20" in caught.value.allowed


@pytest.mark.parametrize("written", [math.nan, math.inf, -math.inf, True, 10**400, "1"])
def test_a_plain_number_is_finite(written: object) -> None:
    """Whatever range is asked for afterwards."""
    with pytest.raises(RefusedError):
        plain_number(written)


def test_the_nearest_unit_is_named() -> None:
    """A slip in the unit."""
    with pytest.raises(RefusedError) as caught:
        length_m("3 mils")
    assert caught.value.nearest == "miles"


@pytest.mark.parametrize(("check", "low", "high"), [(Length, 0.6, 3.0), (Time, 60.0, 7200.0)])
def test_both_ends_are_allowed_and_nothing_beyond(
    check: type[Length] | type[Time], low: float, high: float
) -> None:
    """The range is closed."""
    within = check(low, high)
    assert within(low) == low
    assert within(high) == high
    for beyond in (math.nextafter(low, -1), math.nextafter(high, 1e9)):
        with pytest.raises(RefusedError):
            within(beyond)


@given(st.one_of(st.text(), st.floats(), st.integers(), st.booleans(), st.none(), st.binary()))
def test_anything_is_read_or_refused(written: object) -> None:
    """Nothing but a finite number or RefusedError comes out."""
    for meaning in (length_m, time_s):
        try:
            number = meaning(written)
        except RefusedError:
            continue
        assert math.isfinite(number)


def test_the_room_is_quick_to_enter() -> None:
    """No heavy library is loaded by importing the room, nor by reading metres."""
    code = (
        "import sys, simrun.scenario.tables.lengths as s; s.length_m('60 m'); s.length_m('1 km');"
        "heavy = {'pandas', 'shapely', 'pyproj', 'numba', 'scipy', 'matplotlib', 'mesa'};"
        "sys.exit(', '.join(heavy & set(sys.modules)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
