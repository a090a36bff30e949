"""The commands about many races: boxes, tactic, finish, evidence. Heavy imports wait."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import Any

from simrun.cli.parsing import (
    add_common_words,
    add_study_words,
    count_of,
    fresh_count,
    length_of,
    whole_number,
)
from simrun.cli.telling import print_json, print_written, racing


def add_boxes(commands: Any) -> None:
    """The words of `simrun boxes`."""
    boxes = commands.add_parser(
        "boxes",
        help="many races: what does every box cost, with ranges",
        description="Runs the scenario with many seeds and writes boxes.html, boxes.csv, a chart by "
        "box and a map of the line. Stopped and called again, it goes on where it was.",
    )
    boxes.add_argument("file", help="the scenario, a .toml file")
    boxes.add_argument("--seeds", type=count_of, default=20, help="how many races (default 20)")
    boxes.add_argument(
        "--ours", action="store_true", help="our team in every box on every line: many more races"
    )
    boxes.add_argument(
        "--until", type=float, metavar="M", help="stop at the last mark before M metres"
    )
    boxes.add_argument(
        "--clear", action="store_true", help="stop as soon as our box's cost is clear"
    )
    add_study_words(boxes)
    add_common_words(boxes)
    boxes.set_defaults(carry_out=do_boxes)


def add_tactic(commands: Any) -> None:
    """The words of `simrun tactic`."""
    tactic = commands.add_parser(
        "tactic",
        help="many races: how hard to go out, which line, who stands in front",
        description="Tries openings, lines and front rows for one team and writes tactic.html, "
        "tactic.csv, payoff.png, and the team's page as team.html, team_a4.pdf and team_letter.pdf. "
        "Stopped and called again, it goes on where it was.",
    )
    tactic.add_argument("file", help="the scenario, a .toml file")
    tactic.add_argument("--team", metavar="NAME", help="whose plan (default: our team)")
    tactic.add_argument(
        "--seeds", type=count_of, default=12, help="races a plan is chosen with (default 12)"
    )
    tactic.add_argument(
        "--fresh",
        type=fresh_count,
        default=40,
        help="most fresh races it is checked with (default 40)",
    )
    tactic.add_argument(
        "--story",
        action="store_true",
        help="also record one usual race of the best and of the worst plan, for replay --beside",
    )
    tactic.add_argument(
        "--trials",
        type=whole_number,
        default=0,
        help="plans to search, every turn by itself (default 0)",
    )
    tactic.add_argument(
        "--until",
        type=float,
        default=1000.0,
        metavar="M",
        help="stop at the last mark before M metres (default 1000)",
    )
    add_study_words(tactic)
    add_common_words(tactic)
    tactic.set_defaults(carry_out=do_tactic)


def add_layout(commands: Any) -> None:
    """The words of `simrun layout`."""
    layout = commands.add_parser(
        "layout",
        help="many races: which start layout is fair, and where do its stakes go",
        description="Races the layout as it is and every layout asked for with the same people, and "
        "writes layout.html, layout.csv, stakes.csv and maps. Stopped and called again, it goes on.",
    )
    layout.add_argument("file", help="the scenario, a .toml file")
    layout.add_argument(
        "--vary",
        action="append",
        default=[],
        metavar="NAME=FROM:TO:STEP",
        help="width, straight, throat, box-width, front-row, arc, teams, waves, wave-gap or spread; "
        "also NAME=A,B,C; the first two named become the map's axes",
    )
    layout.add_argument("--seeds", type=count_of, default=20, help="races a layout (default 20)")
    layout.add_argument(
        "--search", type=count_of, default=0, metavar="N", help="try N layouts within the ranges"
    )
    layout.add_argument(
        "--until", type=float, default=1000.0, metavar="M", help="end the races here (default 1000)"
    )
    add_study_words(layout)
    add_common_words(layout)
    layout.set_defaults(carry_out=do_layout)


def add_finish(commands: Any) -> None:
    """The words of `simrun finish`."""
    finish = commands.add_parser(
        "finish",
        help="many races to the finish: team scores and places, with ranges",
        description="Runs the scenario with many seeds to its finish and prints team scores and our places "
        "with ranges. Stopped and called again, it goes on where it was.",
    )
    finish.add_argument("file", help="the scenario, a .toml file")
    finish.add_argument("--seeds", type=count_of, default=20, help="how many races (default 20)")
    finish.add_argument(
        "--results", metavar="CSV", help="last year's results, to be held beside ours"
    )
    add_study_words(finish)
    add_common_words(finish)
    finish.set_defaults(carry_out=do_finish)


def add_disturb(commands: Any) -> None:
    """The words of `simrun disturb`."""
    disturb = commands.add_parser(
        "disturb",
        help="somebody is down at a point for some seconds: who is held up, and for how long",
        description="Runs the same people with and without somebody down, and writes disturbance.html, "
        "disturbance.png and disturbance.csv. It says nothing about whether anybody falls.",
    )
    disturb.add_argument("file", help="the scenario, a .toml file")
    disturb.add_argument(
        "--at",
        type=length_of,
        required=True,
        metavar="M",
        help='how far along: metres, or text such as "150 yd"',
    )
    disturb.add_argument(
        "--across", default="middle", choices=("left", "middle", "right"), help="where across"
    )
    disturb.add_argument(
        "--lasts", type=float, default=20.0, metavar="S", help="for so many seconds (default 20)"
    )
    disturb.add_argument(
        "--since", type=float, metavar="S", help="from so many seconds on (default: mid-field)"
    )
    disturb.add_argument("--seeds", type=count_of, default=10, help="how many races (default 10)")
    add_common_words(disturb)
    disturb.set_defaults(carry_out=do_disturb)


def add_evidence(commands: Any) -> None:
    """The words of `simrun evidence`."""
    evidence = commands.add_parser(
        "evidence",
        help="hold the model against published figures and write the report card",
        description="Runs the experiments and writes evidence.html: per check what was measured, "
        "the band, the source, met or missed.",
    )
    evidence.add_argument("--quick", action="store_true", help="fewer races, no sensitivity")
    add_common_words(evidence)
    evidence.set_defaults(carry_out=do_evidence)


def do_boxes(asked: argparse.Namespace) -> None:
    """Carry out `simrun boxes`."""
    import simrun
    from simrun.answers.boxes.run import run_boxes
    from simrun.trials.workers import executor_for

    scenario = simrun.read(asked.file)
    folder = asked.out or Path("outputs") / Path(asked.file).stem
    seeds = tuple(range(1, asked.seeds + 1))
    with racing("races") as told, executor_for(asked.cluster, asked.workers) as executor:
        written = run_boxes(
            scenario,
            folder,
            seeds,
            asked.workers,
            told,
            ours=asked.ours,
            until_m=asked.until,
            clear=asked.clear,
            executor=executor,
        )
    if asked.json:
        print_json({"scenario": scenario.name, "races": asked.seeds}, written)
    else:
        print_written(written)


def do_tactic(asked: argparse.Namespace) -> None:
    """Carry out `simrun tactic`."""
    import simrun
    from simrun.answers.tactic.run import Budget, run_tactic
    from simrun.trials.stopping import doubling
    from simrun.trials.workers import executor_for

    scenario = simrun.read(asked.file)
    folder = asked.out or Path("outputs") / Path(asked.file).stem
    budget = Budget(asked.seeds, doubling(asked.fresh), asked.trials)
    with racing("races") as told, executor_for(asked.cluster, asked.workers) as executor:
        plan, written = run_tactic(
            scenario,
            folder,
            asked.team,
            budget,
            told,
            until_m=asked.until,
            workers=asked.workers,
            story=asked.story,
            executor=executor,
        )
    if asked.json:
        print_json({"scenario": scenario.name, "plan": plan}, written)
    else:
        print(plan)
        print_written(written)


def do_layout(asked: argparse.Namespace) -> None:
    """Carry out `simrun layout`."""
    import simrun
    from simrun.answers.layout.knobs import ranges_of
    from simrun.answers.layout.run import run_layout
    from simrun.trials.workers import executor_for

    scenario, ranges = simrun.read(asked.file), ranges_of(asked.vary)
    folder = asked.out or Path("outputs") / Path(asked.file).stem
    seeds = tuple(range(1, asked.seeds + 1))
    with racing("layouts") as told, executor_for(asked.cluster, asked.workers) as executor:
        written = run_layout(
            scenario,
            folder,
            ranges,
            seeds,
            told,
            until_m=asked.until,
            tries=asked.search,
            units=asked.units,
            workers=asked.workers,
            executor=executor,
        )
    if asked.json:
        print_json({"scenario": scenario.name, "races": asked.seeds}, written)
    else:
        print_written(written)


def do_finish(asked: argparse.Namespace) -> None:
    """Carry out `simrun finish`."""
    import simrun
    from simrun.answers.finish.run import run_finish
    from simrun.scenario.named_files import read_results
    from simrun.trials.workers import executor_for

    scenario = simrun.read(asked.file)
    folder = asked.out or Path("outputs") / Path(asked.file).stem
    results = read_results(asked.results) if asked.results else None
    seeds = range(1, asked.seeds + 1)
    with racing("races") as told, executor_for(asked.cluster, asked.workers) as executor:
        how = {"workers": asked.workers, "progress": told, "executor": executor}
        page, written = run_finish(scenario, folder, seeds, results, **how)
    if asked.json:
        print_json({"scenario": scenario.name, "races": asked.seeds}, written)
        return
    print(page)
    print_written(written)


def do_disturb(asked: argparse.Namespace) -> None:
    """Carry out `simrun disturb`."""
    from dataclasses import asdict

    import simrun
    from simrun.answers.disturb.page import CAUTION, disturbance_words, write_disturbance
    from simrun.answers.disturb.run import SIDES, disturb, figures_of
    from simrun.base.writing import ready_folder
    from simrun.engine.down import Down

    scenario = simrun.read(asked.file)
    since = math.nan if asked.since is None else asked.since
    down = Down(asked.at, SIDES[asked.across], since, asked.lasts)
    folder = ready_folder(asked.out or Path("outputs") / Path(asked.file).stem)
    with racing("races") as told:
        held = disturb(scenario, down, tuple(range(1, asked.seeds + 1)), told)
    units = asked.units or scenario.units
    written = write_disturbance(held, scenario, folder, units)
    if asked.json:
        print_json({"scenario": scenario.name, "figures": asdict(figures_of(held))}, written)
        return
    print("\n".join([*disturbance_words(held, units), "", CAUTION]))
    print_written(written)


def do_evidence(asked: argparse.Namespace) -> None:
    """Carry out `simrun evidence`."""
    from simrun.answers.evidence.run import run_evidence

    with racing("evidence") as told:
        page = run_evidence(asked.out or Path("outputs") / "evidence", asked.quick, told)
    if asked.json:
        print_json({}, [page])
    else:
        print_written([page])
