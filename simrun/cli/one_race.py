"""The commands about one race: race, check, replay. Heavy imports wait until a command is known."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simrun.cli.parsing import add_common_words, add_picture_words, whole_number
from simrun.cli.telling import bar, print_json, print_written, racing, records


def add_race(commands: Any) -> None:
    """The words of `simrun race`."""
    race = commands.add_parser(
        "race",
        help="run one race: tables, recording and moving picture",
        description="Runs one race of the scenario and writes loss.csv, boxes.csv, lines.csv, "
        "boxes_lines.csv, recording.npz and race.gif.",
    )
    race.add_argument("file", help="the scenario, a .toml file")
    race.add_argument(
        "--seed", type=whole_number, default=1, help="which people and chances (default 1)"
    )
    race.add_argument("--no-gif", action="store_true", help="leave the moving picture out")
    add_picture_words(race)
    add_common_words(race)
    race.set_defaults(carry_out=do_race)


def add_check(commands: Any) -> None:
    """The words of `simrun check`."""
    check = commands.add_parser(
        "check",
        help="course inspection: what it measures, beside what books and guidance say",
        description="Reads and checks the scenario and prints lengths of the lines, extra metres "
        "of every box, widths and distances, each beside rule-book and guidance figures with their source. "
        "Runs nothing, writes nothing, approves nothing.",
    )
    check.add_argument("files", nargs="+", metavar="file", help="scenarios, .toml files")
    add_common_words(check)
    check.set_defaults(carry_out=do_check)


def add_replay(commands: Any) -> None:
    """The words of `simrun replay`."""
    replay = commands.add_parser(
        "replay",
        help="show a recorded race again, or two side by side",
        description="Writes a moving picture, a film or a sheet of six moments from a recording: "
        "other seconds, another runner followed, another race beside it.",
    )
    replay.add_argument("file", help="a recording.npz that `simrun race` wrote")
    replay.add_argument(
        "--page",
        action="store_true",
        help="write replay.html, a page to play, follow and ride along",
    )
    replay.add_argument(
        "--beside", metavar="FILE", help="a recording of the same people with another plan"
    )
    replay.add_argument(
        "--film",
        action="append",
        default=[],
        metavar="KINDS",
        help="gif, mp4, sheet, with commas between them (default gif)",
    )
    add_picture_words(replay)
    add_common_words(replay)
    replay.set_defaults(carry_out=do_replay)


def do_race(asked: argparse.Namespace) -> None:
    """Carry out `simrun race`."""
    import simrun
    from simrun.answers.race.finish_words import finish_page
    from simrun.base.writing import ready_folder, written_together
    from simrun.pages.text import race_page

    scenario = simrun.read(asked.file)
    folder = ready_folder(asked.out or Path("outputs") / Path(asked.file).stem)
    with racing("race") as told:
        recording = simrun.race(scenario, asked.seed, progress=told)
    with written_together(folder) as beside:
        # The picture first: a wrong --follow or --from is found before the rest is made.
        picture, notes = ([], []) if asked.no_gif else draw(recording, asked, beside)
        files, tables = write_tables(recording, beside)
        files += [simrun.save(recording, beside / "recording.npz"), *picture]
    written = [folder / file.name for file in files]
    if asked.json:
        figures = {"scenario": scenario.name, "seed": asked.seed, "notes": notes}
        print_json({**figures, **records(tables)}, written)
        return
    print(race_page(recording, tables["boxes"], tables["lines"]))
    if "finish" in tables:
        named = (tables[name] for name in ("finish", "teams", "carried"))
        print("\n" + finish_page(recording, *named))
    print_written(written, notes)


def do_check(asked: argparse.Namespace) -> None:
    """Carry out `simrun check`."""
    from dataclasses import asdict

    import simrun
    from simrun.measure.inspection import inspect, inspection_text
    from simrun.measure.wheel import measure_ground
    from simrun.pages.text import ground_page

    scenarios = [simrun.read(file) for file in asked.files]
    reports = [measure_ground(scenario) for scenario in scenarios]
    inspections = [inspect(*both) for both in zip(scenarios, reports, strict=True)]
    if asked.json:
        figures = [
            asdict(report) | asdict(found)
            for report, found in zip(reports, inspections, strict=True)
        ]
        print(json.dumps(figures[0] if len(figures) == 1 else figures, ensure_ascii=False))
        return
    pages = []
    for scenario, report, found in zip(scenarios, reports, inspections, strict=True):
        units = asked.units or scenario.units
        pages.append(ground_page(report, units, inspection_text(found, units)))
    print("\n\n".join(pages))


def do_replay(asked: argparse.Namespace) -> None:
    """Carry out `simrun replay`."""
    import simrun
    from simrun.pictures.film.films import kinds_of

    kinds = kinds_of(asked.film)
    recording = simrun.load(asked.file)
    beside = simrun.load(asked.beside) if asked.beside else None
    folder = asked.out or Path(asked.file).resolve().parent
    written: list[Path] = []
    notes: list[str] = []
    if asked.page:
        written.append(draw_page(recording, beside, asked, folder))
    if asked.film or not asked.page:
        films, notes = draw(recording, asked, folder, beside, kinds)
        written += films
    if asked.json:
        figures = {"scenario": recording.scenario.name, "seed": recording.seed, "notes": notes}
        print_json(figures, written)
    else:
        print_written(written, notes)


def write_tables(recording: Any, folder: Path) -> tuple[list[Path], dict[str, Any]]:
    """Every table of one race, as files and as frames by name."""
    from simrun.base.csv import write_csv
    from simrun.measure.finish import carried, finish_table, reaches_finish, team_table
    from simrun.measure.loss import summary, time_lost

    loss = time_lost(recording)
    tables = {
        "loss": loss,
        "boxes": summary(loss, ["box"]),
        "lines": summary(loss, ["line"]),
        "boxes_lines": summary(loss, ["box", "line"]),
    }
    if reaches_finish(recording.strip):
        finish = finish_table(recording)
        tables |= {"finish": finish, "teams": team_table(recording), "carried": carried(finish)}
    written = [write_csv(table, folder / f"{name}.csv") for name, table in tables.items()]
    return written, tables


def draw(
    recording: Any,
    asked: argparse.Namespace,
    folder: Path,
    beside: Any = None,
    kinds: Sequence[str] = ("gif",),
) -> tuple[list[Path], list[str]]:
    """The films that were asked for, and what is to be said about them."""
    from simrun.pictures.film.films import Told, write_films
    from simrun.pictures.ink.view import View

    view = View(
        from_s=asked.from_s,
        to_s=asked.to_s,
        speed=asked.speed,
        units=asked.units,
        pauses=not asked.no_pauses,
        inset=asked.inset,
        with_inset=not asked.no_inset,
    )
    with bar("picture") as told:
        return write_films(Told(recording, beside, asked.follow, view), folder, kinds, told)


def draw_page(recording: Any, beside: Any, asked: argparse.Namespace, folder: Path) -> Path:
    """The page that replays a race."""
    from simrun.pages.text import LEFT_OUT
    from simrun.pictures.replay.replay_page import write_page

    whom: dict[str, Any] = {"other": beside, "follow": asked.follow, "units": asked.units}
    return write_page(recording, folder / "replay.html", note=LEFT_OUT, **whom)
