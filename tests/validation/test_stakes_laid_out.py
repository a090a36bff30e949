"""Does a crew that knows the ground and reads stakes.csv paint the line that was simulated?

The crew knows four flags: the two edges of the course at the start and the two of the first narrowing. All
else it takes from the text: what is sighted to, paces and tapes. The flags stand turned and shifted on a
field, so that nothing is known of the frame in which the line was computed.
"""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import LineString, Point

from simrun.answers.layout.crew.crew_drawing import laid_of
from simrun.answers.layout.crew.crew_tables import stake_table
from simrun.base.csv import write_csv
from simrun.course.route import line_through, shortest_line
from simrun.measure.stakes import stake_plan
from simrun.measure.wheel import measure_ground
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.off_axis import ASKEW, ONE_SIDED, Course, askew, one_sided

Array = NDArray[np.float64]

OSTREL = Path(__file__).parents[2] / "scenarios" / "ostrel_common.toml"
CENTIMETRE = 0.01
MIDDLE = r"in line with its two edges, ([\d.]+) m to the (left|right) of the middle between them"
PEG = (
    r"([\d.]+) m from the middle peg towards the sighting mark, then ([\d.]+) m to the (left|right)"
)

NAMES = ["ostrel", *(f"one-sided {i + 1}" for i in range(len(ONE_SIDED)))]
NAMES += [f"askew {i + 1}" for i in range(len(ASKEW))]


AIMED = [f"aimed {name}" for name in NAMES]
MOVED = [f"moved {name}" for name in [*NAMES, *AIMED]]
HALFWAY = r"on a string between .*, ([\d.]+) m to the (left|right) of halfway between them"
TURNED = r"([\d.]+) m ahead of the middle peg, go ([\d.]+) m to the (left|right) and sight"


def course_of(name: str) -> Course:
    """The shipped championship, or one of the ten; or its line on the arc that makes the ways equal; or
    shorter and moved sideways on the same ground, then to equal ways from there."""
    if name.startswith("moved "):
        plain = course_of(name.removeprefix("moved "))
        return replace(plain, day=moved(plain.day))
    if name.startswith("aimed "):
        plain = course_of(name.removeprefix("aimed "))
        gate = plain.day.strip.gates[0].name
        return replace(plain, day=plain.day.changed({"start.aim": gate}))
    kind, number = [*name.split(), "1"][:2]
    if kind == "ostrel":
        day = read(OSTREL)
        cut = next(gate.last_cut for gate in day.strip.gates if gate.kind == "throat")
        return Course(day, day.strip.left_m[cut], day.strip.right_m[cut])
    return one_sided(int(number) - 1) if kind == "one-sided" else askew(int(number) - 1)


def moved(day: Scenario) -> Scenario:
    """A line four fifths as wide, on the same ground, a twelfth of that to one side: to a millimetre."""
    start = day.start
    side = 1 if start.boxes % 3 else -1
    return day.changed(
        {
            "start.width": 0.8 * start.width_m,
            "start.box_width": 0.8 * start.box_width_m,
            "start.sideways": side * round(start.width_m / 15, 3),
        }
    )


@pytest.fixture(params=[*NAMES, *AIMED, *MOVED])
def course(request: pytest.FixtureRequest) -> Course:
    return course_of(request.param)


class Field:
    """The field on which the flags stand: turned by 1 rad and shifted from the frame of the line."""

    turn = np.array([[np.cos(1.0), np.sin(1.0)], [-np.sin(1.0), np.cos(1.0)]])
    shift_m = np.array([310.0, -45.0])

    def on_field(self, local_m: Array) -> Array:
        return np.asarray(local_m @ self.turn + self.shift_m)

    def on_course(self, field_m: Array) -> Array:
        return np.asarray((field_m - self.shift_m) @ self.turn.T)


def unit(vector: Array) -> Array:
    return np.asarray(vector / np.hypot(*vector))


def to_left(way: Array) -> Array:
    return np.array([-way[1], way[0]])


def rows_of(day: Scenario, folder: Path) -> list[dict[str, str]]:
    """stakes.csv as it is written."""
    file = write_csv(stake_table(day, stake_plan(day)), folder / "stakes.csv")
    with file.open(newline="", encoding="utf-8") as text:
        return list(csv.DictReader(text))


def mark_m(told: str, flags: Array) -> Array:
    """Where the crew sets the mark it sights to, from the middle between the two flags of the narrowing."""
    aside_m, side = re.search(MIDDLE, told).groups()  # type: ignore[union-attr]
    right = unit(flags[1] - flags[0]) * (1 if side == "right" else -1)
    return np.asarray(flags.mean(axis=0) + right * float(aside_m))


def middle_of(told: str, start: Array) -> Array:
    """Where the crew sets the middle peg: halfway between the edges, or so far along the string."""
    middle = start.mean(axis=0)
    if "In the middle of the line, halfway between" in told:
        return np.asarray(middle)
    aside, side = re.search(HALFWAY, told).groups()  # type: ignore[union-attr]
    to_right = unit(start[1] - start[0]) * (1 if side == "right" else -1)
    return np.asarray(middle + to_right * float(aside))


def laid_out_m(rows: list[dict[str, str]], start: Array, flags: Array | None) -> Array:
    """What the crew does, step by step: mark, pegs, tapes. (B + 1, 2)

    start, flags (2, 2): left and right; without flags it sights square to the string between the edges.
    """
    told = {row["point"]: row["where_it_stands"] for row in rows}
    middle, pegs = middle_of(told["middle peg"], start), dict[str, Array]()
    sight = to_left(unit(start[1] - start[0]))
    if flags is not None:
        sight = unit(mark_m(told["sighting mark"], flags) - middle)
    elif turned := re.search(TURNED, told["sighting mark"]):
        over, aside, side = turned.groups()
        way = to_left(sight) * (1 if side == "left" else -1)
        sight = unit(sight * float(over) + way * float(aside))
    for point in (name for name in told if "peg" in name and name != "middle peg"):
        ahead, aside, side = re.search(PEG, told[point]).groups()  # type: ignore[union-attr]
        way = to_left(sight) * (1 if side == "left" else -1)
        pegs[point] = middle + sight * float(ahead) + way * float(aside)
    stakes = [row for row in rows if row["point"].startswith("stake")]
    tapes = [(float(row["from_left_peg_m"]), float(row["from_right_peg_m"])) for row in stakes]
    assert np.max(tapes) <= 50.0, "no tape is longer"
    held = [(pegs[row["left_peg"]], pegs[row["right_peg"]]) for row in stakes]
    return np.array([crossed(*two, *tape, sight) for two, tape in zip(held, tapes, strict=True)])


def crossed(left: Array, right: Array, left_m: float, right_m: float, sight: Array) -> Array:
    """Two tapes crossed, at the crossing back at the line."""
    apart = float(np.hypot(*(right - left)))
    along = (left_m**2 - right_m**2 + apart**2) / (2 * apart)
    base, back = unit(right - left), -np.sqrt(left_m**2 - along**2)
    assert abs(base @ sight) < 1e-9
    return np.asarray(left + base * along + sight * back)


def extra_m(day: Scenario, stakes_m: Array) -> Array:
    """Metres further than from the best box, from halfway between two stakes: to the gate, to the finish."""
    strip = day.strip
    points = [(float(x), float(y)) for x, y in (stakes_m[:-1] + stakes_m[1:]) / 2]
    gate = strip.gates[0].first_cut
    to_gate = np.array([line_through(strip, {}, point, gate).length_m for point in points])
    to_finish = np.array([shortest_line(strip, point).length_m for point in points])
    return np.stack([to_gate - to_gate.min(), to_finish - to_finish.min()], axis=1)


def told_m(day: Scenario) -> Array:
    """What the wheel says of every box on the line as it is raced."""
    return np.array([(box.to_first_gate_m, box.to_finish_m) for box in measure_ground(day).boxes])


def laid_by_text(course: Course, folder: Path, flags_m: Array | None, change: str = "") -> Array:
    """The stakes in the frame of the course, laid out on the field from the file alone."""
    field, day = Field(), course.day
    cut = int(np.abs(day.strip.station_m).argmin())
    start = np.stack([day.strip.left_m[cut], day.strip.right_m[cut]])
    flags = None if flags_m is None else field.on_field(flags_m)
    rows = rows_of(day, folder)
    if change:
        for row in rows:
            row["where_it_stands"] = re.sub(MIDDLE, change, row["where_it_stands"])
    return field.on_course(laid_out_m(rows, field.on_field(start), flags))


def test_the_crew_lays_the_line_that_is_raced(course: Course, tmp_path: Path) -> None:
    """The same extra metres for every box, to the first gate and to the finish, to a centimetre."""
    flags = np.stack([course.left_m, course.right_m])
    laid = laid_by_text(course, tmp_path, flags)
    apart = np.abs(extra_m(course.day, laid) - told_m(course.day))
    assert apart.max() < CENTIMETRE


def by_string_m(rows: list[dict[str, str]], ends: Array) -> Array:
    """The other way: a string from the first stake to the last, and every stake so far along it and back."""
    along = unit(ends[1] - ends[0])
    stakes = [row for row in rows if row["point"].startswith("stake")]
    told = [(float(row["along_string_m"]), float(row["behind_string_m"])) for row in stakes]
    return np.array([ends[0] + along * far - to_left(along) * back for far, back in told])


def test_by_a_string_and_offsets_it_is_the_same_line(course: Course, tmp_path: Path) -> None:
    """Only the end stakes by two tapes, the others off the string between them: extra metres to a centimetre
    too, and no stake further than two from where it is painted, what the end stakes are off by among it."""
    flags = np.stack([course.left_m, course.right_m])
    ends = laid_by_text(course, tmp_path, flags)[[0, -1]]
    laid = by_string_m(rows_of(course.day, tmp_path), ends)
    laid[-1] = ends[1]
    boxes = course.day.start_line.boxes
    painted = np.array([*(box.left_m for box in boxes), boxes[-1].right_m])
    assert np.hypot(*(laid - painted).T).max() < 2 * CENTIMETRE
    apart = np.abs(extra_m(course.day, laid) - told_m(course.day))
    assert apart.max() < CENTIMETRE


EDGE = r"([\d.]+) m to the left and ([\d.]+) m to the right to the course's edges"


def test_the_text_alone_has_all_that_the_crew_s_sheet_shows(course: Course, tmp_path: Path) -> None:
    """Recall line, crossing and both edges of the narrowing are found from peg and mark by words and tape.

    They lie so far ahead and end on the two edges of the course; gun and lane are told by stake and end.
    """
    keys = {"recall": 34.5, "crossing": 21.25, "ambulance": "left", "gun": "right"}
    day = course.day.changed({f"start.{key}": value for key, value in keys.items()})
    flags = np.stack([course.left_m, course.right_m])
    told = {row["point"]: row["where_it_stands"] for row in rows_of(day, tmp_path)}
    middle = course.day.start_line.spec.sideways_m * np.array([0.0, 1.0])
    sight = unit(mark_m(told["sighting mark"], flags) - middle)
    shown = laid_of(day, stake_plan(day))
    for name, away in shown.across_m.items():
        ahead = float(re.match(r"([\d.]+) m from the middle peg", told[name]).group(1))  # type: ignore[union-attr]
        aside = re.search(EDGE, told[name]).groups()  # type: ignore[union-attr]
        assert ahead == away == keys["recall" if name == "recall line" else "crossing"]
        for metres, way, edge in zip(
            aside, (1, -1), (day.strip.left_m, day.strip.right_m), strict=True
        ):
            end = middle + sight * ahead + to_left(sight) * way * float(metres)
            assert LineString(edge).distance(Point(end)) < 2 * CENTIMETRE
    gate = next(g for g in day.strip.gates if g.kind == "throat").name
    for side, flag in zip(("left", "right"), flags, strict=True):
        ahead, aside, way = re.search(PEG, told[f"{gate}, {side} edge"]).groups()  # type: ignore[union-attr]
        found = sight * float(ahead) + to_left(sight) * float(aside) * (1 if way == "left" else -1)
        np.testing.assert_allclose(middle + found, flag, atol=2 * CENTIMETRE)
    assert told["gun"].endswith(f"stake {day.start.boxes + 1}.")
    assert told["ambulance lane"] == "Beside the left end of the line, kept free."


def test_square_to_the_string_is_the_same_line(course: Course, tmp_path: Path) -> None:
    """Where no mark can stand: what the text offers in its place lays the same boxes."""
    laid = laid_by_text(course, tmp_path, None)
    apart = np.abs(extra_m(course.day, laid) - told_m(course.day))
    assert apart.max() < CENTIMETRE


def test_the_flags_are_those_of_the_text(course: Course, tmp_path: Path) -> None:
    """Width and distance are as told: a crew can tell that its flags are the right ones."""
    flags = np.stack([course.left_m, course.right_m])
    told = rows_of(course.day, tmp_path)[1]["where_it_stands"]
    away, wide = re.search(r", (\d+) m away, where it is ([\d.]+) m wide", told).groups()  # type: ignore[union-attr]
    assert float(wide) == pytest.approx(np.hypot(*(flags[0] - flags[1])), abs=CENTIMETRE)
    middle = np.array([0.0, course.day.start_line.spec.sideways_m])
    to_mark = float(np.hypot(*(mark_m(told, flags) - middle)))
    assert float(away) == pytest.approx(to_mark, abs=0.5 + CENTIMETRE)


@pytest.mark.parametrize("name", NAMES)
def test_sighting_to_the_middle_lays_another_line(name: str, tmp_path: Path) -> None:
    """The middle of the narrowing in place of the mark: no course of these hides it."""
    course = course_of(name)
    flags = np.stack([course.left_m, course.right_m])
    middle = "in line with its two edges, 0.00 m to the left of the middle between them"
    laid = laid_by_text(course, tmp_path, flags, middle)
    apart = np.abs(extra_m(course.day, laid) - told_m(course.day))
    assert apart.max() > 10 * CENTIMETRE
