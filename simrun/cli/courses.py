"""The commands about a course: course (a track becomes a scenario), card (the course card)."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from simrun.cli.parsing import add_common_words, add_study_words, count_of, length_of
from simrun.cli.telling import print_json, print_written, racing


def add_course(commands: Any) -> None:
    """The words of `simrun course`."""
    course = commands.add_parser(
        "course",
        help="a track from a watch or a map becomes a scenario to be completed",
        description="Reads GPX, KML or GeoJSON and writes a scenario, its drawing and a picture of "
        "it. Widths cannot be measured by a watch: they are assumed and marked, to be filled in.",
    )
    course.add_argument("file", help="a .gpx, .kml or .geojson file")
    course.add_argument("--width", type=length_of, metavar="W", help='one width, such as "6 m"')
    course.add_argument(
        "--part", default="", metavar="N", help="which line of the file, or all where they join"
    )
    course.add_argument(
        "--from", dest="from_m", type=length_of, default=0.0, metavar="M", help="where it begins"
    )
    course.add_argument("--to", dest="to_m", type=length_of, metavar="M", help="where it ends")
    add_common_words(course)
    course.set_defaults(carry_out=do_course)


def add_card(commands: Any) -> None:
    """The words of `simrun card`."""
    card = commands.add_parser(
        "card",
        help="the course card: map, hill, where passing is possible, what to do where",
        description="Runs a few races and writes card.html and card.pdf, one printable page.",
    )
    card.add_argument("file", help="the scenario, a .toml file")
    card.add_argument("--seeds", type=count_of, default=5, help="how many races (default 5)")
    card.add_argument("--paper", choices=("a4", "letter"), help="default: letter for us units")
    add_study_words(card)
    add_common_words(card)
    card.set_defaults(carry_out=do_card)


def do_course(asked: argparse.Namespace) -> None:
    """Carry out `simrun course`."""
    from simrun.answers.course.run import new_course
    from simrun.base.units import length_text
    from simrun.pictures.charts.course_map import write_picture

    folder = asked.out or Path("outputs") / Path(asked.file).stem
    span_m = (asked.from_m, asked.to_m)
    how = {"width_m": asked.width, "units": asked.units or "metric"}
    found = new_course(asked.file, folder, part=asked.part, span_m=span_m, **how)
    units = found.scenario.units
    picture = write_picture(found.scenario, units, found.files[-1].with_suffix(".png"))
    written = [*found.files, picture]
    if asked.json:
        length = found.scenario.strip.length_m
        print_json({"length_m": length, "told": list(found.told)}, written)
        return
    print(f"{found.scenario.name}: {length_text(found.scenario.strip.length_m, units)}")
    print("\n".join(found.told))
    print(
        "A watch or a map cannot measure widths: they are assumed, and marked in the scenario. "
        "How wide are the start, the narrowings, the paths and the turns?"
    )
    print_written(written)


def do_card(asked: argparse.Namespace) -> None:
    """Carry out `simrun card`."""
    import simrun
    from simrun.answers.card.run import write_card
    from simrun.trials.workers import executor_for

    scenario = simrun.read(asked.file)
    folder = asked.out or Path("outputs") / Path(asked.file).stem
    units = asked.units or scenario.units
    page = asked.paper or ("letter" if units == "us" else "a4")
    with racing("races") as told, executor_for(asked.cluster, asked.workers) as executor:
        how = {"workers": asked.workers, "progress": told, "executor": executor}
        written, table = write_card(scenario, folder, asked.seeds, (units, page), **how)
    if asked.json:
        stretches = json.loads(table.to_json(orient="records"))
        print_json({"scenario": scenario.name, "stretches": stretches}, written)
    else:
        print_written(written)
