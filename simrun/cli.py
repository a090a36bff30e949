"""The door: words on the command line, no logic. Heavy imports wait until a command is known."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from simrun.errors import SimrunError, nearest_word

EXIT_BAD_INPUT = 2
EXIT_STOPPED = 130


class Parser(argparse.ArgumentParser):
    """argparse, with one line for a mistake and the nearest word."""

    def error(self, message: str) -> Any:
        words = message.split("'")
        if "invalid choice" in message and len(words) > 1:
            known = [c for a in self._actions if a.choices for c in a.choices]
            nearest = nearest_word(words[1], [str(word) for word in known])
            message = f"{words[1]!r}: unknown; one of {', '.join(map(str, known))}"
            message += f"; did you mean {nearest!r}?" if nearest else ""
        if message.startswith("unrecognized arguments: -"):
            known = [word for action in self._all_actions() for word in action.option_strings]
            nearest = nearest_word(message.split()[2].partition("=")[0], known)
            message += f"; did you mean {nearest!r}?" if nearest else ""
        print(f"simrun: {message}", file=sys.stderr)
        sys.exit(EXIT_BAD_INPUT)

    def _all_actions(self) -> list[argparse.Action]:
        """The options of this parser and of its commands."""
        inner = [
            p for a in self._actions if isinstance(a.choices, dict) for p in a.choices.values()
        ]
        return self._actions + [action for parser in inner for action in parser._actions]


def main(words: Sequence[str] | None = None) -> int:
    """Carry out one command; returns the exit code."""
    asked = parser().parse_args(words)
    try:
        return int(asked.carry_out(asked) or 0)
    except SimrunError as error:
        print(f"simrun: {error}", file=sys.stderr)
        return EXIT_BAD_INPUT
    except KeyboardInterrupt:
        print("\nsimrun: stopped; no file is half-written", file=sys.stderr)
        return EXIT_STOPPED
    except BrokenPipeError:
        return 0


def parser() -> argparse.ArgumentParser:
    """Every command and its words."""
    top = Parser(
        prog="simrun",
        description="What does our starting box cost, and which line should we take? "
        "Simulates the start of a mass-start running race and shows it.",
        epilog="Begin with:  simrun race scenarios/dual_meet.toml",
    )
    commands = top.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for add in (
        _add_race,
        _add_check,
        _add_replay,
        _add_boxes,
        _add_course,
        _add_card,
        _add_evidence,
    ):
        add(commands)
    return top


def _add_race(commands: Any) -> None:
    race = commands.add_parser(
        "race",
        help="run one race: tables, recording and moving picture",
        description="Runs one race of the scenario and writes loss.csv, boxes.csv, lines.csv, "
        "boxes_lines.csv, recording.npz and race.gif.",
    )
    race.add_argument("file", help="the scenario, a .toml file")
    race.add_argument("--seed", type=_seed, default=1, help="which people and chances (default 1)")
    race.add_argument("--no-gif", action="store_true", help="leave the moving picture out")
    _add_picture_words(race)
    _add_common_words(race)
    race.set_defaults(carry_out=_race)


def _add_check(commands: Any) -> None:
    check = commands.add_parser(
        "check",
        help="read a scenario and print what the course measures",
        description="Reads and checks the scenario and prints lengths of the lines, extra metres "
        "of every box, widths and distances. Runs nothing, writes nothing.",
    )
    check.add_argument("files", nargs="+", metavar="file", help="scenarios, .toml files")
    _add_common_words(check)
    check.set_defaults(carry_out=_check)


def _add_replay(commands: Any) -> None:
    replay = commands.add_parser(
        "replay",
        help="make the moving picture of a recorded race again",
        description="Writes race.gif from a recording: other seconds, another runner followed.",
    )
    replay.add_argument("file", help="a recording.npz that `simrun race` wrote")
    _add_picture_words(replay)
    _add_common_words(replay)
    replay.set_defaults(carry_out=_replay)


def _add_boxes(commands: Any) -> None:
    boxes = commands.add_parser(
        "boxes",
        help="many races: what does every box cost, with ranges",
        description="Runs the scenario with many seeds and writes boxes.html, boxes.csv, a chart by "
        "box and a map of the line. Stopped and called again, it goes on where it was.",
    )
    boxes.add_argument("file", help="the scenario, a .toml file")
    boxes.add_argument("--seeds", type=_count, default=20, help="how many races (default 20)")
    boxes.add_argument(
        "--ours", action="store_true", help="our team in every box on every line: many more races"
    )
    boxes.add_argument(
        "--until", type=float, metavar="M", help="stop at the last mark before M metres"
    )
    boxes.add_argument(
        "--workers", type=_count, metavar="N", help="processes (default: one a core)"
    )
    boxes.add_argument("--cluster", metavar="ADDRESS", help="a distributed scheduler instead")
    _add_common_words(boxes)
    boxes.set_defaults(carry_out=_boxes)


def _add_course(commands: Any) -> None:
    course = commands.add_parser(
        "course",
        help="a track from a watch or a map becomes a scenario to be completed",
        description="Reads GPX, KML or GeoJSON and writes a scenario, its drawing and a picture of "
        "it. Widths cannot be measured by a watch: they are assumed and marked, to be filled in.",
    )
    course.add_argument("file", help="a .gpx, .kml or .geojson file")
    course.add_argument("--width", type=_length, metavar="W", help='one width, such as "6 m"')
    course.add_argument(
        "--part", default="", metavar="N", help="which line of the file, or all where they join"
    )
    course.add_argument(
        "--from", dest="from_m", type=_length, default=0.0, metavar="M", help="where it begins"
    )
    course.add_argument("--to", dest="to_m", type=_length, metavar="M", help="where it ends")
    _add_common_words(course)
    course.set_defaults(carry_out=_course)


def _add_card(commands: Any) -> None:
    card = commands.add_parser(
        "card",
        help="the course card: map, hill, where passing is possible, what to do where",
        description="Runs a few races and writes card.html and card.pdf, one printable page.",
    )
    card.add_argument("file", help="the scenario, a .toml file")
    card.add_argument("--seeds", type=_count, default=5, help="how many races (default 5)")
    card.add_argument("--paper", choices=("a4", "letter"), help="default: letter for us units")
    card.add_argument("--workers", type=_count, metavar="N", help="processes (default: one a core)")
    _add_common_words(card)
    card.set_defaults(carry_out=_card)


def _add_evidence(commands: Any) -> None:
    evidence = commands.add_parser(
        "evidence",
        help="hold the model against published figures and write the report card",
        description="Runs the experiments and writes evidence.html: per check what was measured, "
        "the band, the source, met or missed.",
    )
    evidence.add_argument("--quick", action="store_true", help="fewer races, no sensitivity")
    _add_common_words(evidence)
    evidence.set_defaults(carry_out=_evidence)


def _add_picture_words(command: argparse.ArgumentParser) -> None:
    command.add_argument("--follow", metavar="NAME", help="a team or a runner (default: our team)")
    command.add_argument(
        "--from", dest="from_s", type=float, metavar="S", help="first second shown"
    )
    command.add_argument("--to", dest="to_s", type=float, metavar="S", help="last second shown")
    command.add_argument("--speed", type=float, default=1.0, help="2 = twice as fast (default 1)")


def _add_common_words(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--out", type=Path, metavar="FOLDER", help="where to write (default outputs/)"
    )
    command.add_argument("--units", choices=("metric", "us"), help="what the page speaks")
    command.add_argument("--json", action="store_true", help="figures only, as JSON")


def _seed(text: str) -> int:
    if not text.isdecimal() or len(text) > 18:
        raise argparse.ArgumentTypeError(f"{text!r}; a whole number from 0 is needed")
    return int(text)


def _count(text: str) -> int:
    count = _seed(text)
    if not 1 <= count <= 100_000:
        raise argparse.ArgumentTypeError(f"{text!r}; a whole number from 1 to 100000 is needed")
    return count


def _length(text: str) -> float:
    from simrun.scenario.lengths import LENGTH_WORDS, length_m
    from simrun.scenario.values import RefusedError

    try:
        metres = length_m(float(text) if text.replace(".", "", 1).isdecimal() else text)
    except RefusedError:
        metres = -1.0
    if metres < 0:
        raise argparse.ArgumentTypeError(f"{text[:40]!r}; {LENGTH_WORDS}")
    return metres


def _race(asked: argparse.Namespace) -> None:
    import simrun
    from simrun.measure.pages import race_page
    from simrun.writing import ready_folder

    scenario = simrun.read(asked.file)
    folder = ready_folder(asked.out or Path("outputs") / Path(asked.file).stem)
    _say_if_cold()
    with _bar("race") as told:
        recording = simrun.race(scenario, asked.seed, progress=told)
    # The picture first: a wrong --follow or --from is found before anything is written.
    picture = [] if asked.no_gif else [_draw(recording, asked, folder)]
    written, tables = _write_tables(recording, folder)
    written += [simrun.save(recording, folder / "recording.npz"), *picture]
    if asked.json:
        _print_json({"scenario": scenario.name, "seed": asked.seed, **_records(tables)}, written)
        return
    print(race_page(recording, tables["boxes"], tables["lines"]))
    _print_written(written)


def _check(asked: argparse.Namespace) -> None:
    from dataclasses import asdict

    import simrun
    from simrun.measure.ground import measure_ground
    from simrun.measure.pages import ground_page

    scenarios = [simrun.read(file) for file in asked.files]
    reports = [measure_ground(scenario) for scenario in scenarios]
    if asked.json:
        figures = [asdict(report) for report in reports]
        print(json.dumps(figures[0] if len(figures) == 1 else figures, ensure_ascii=False))
        return
    pages = [
        ground_page(report, asked.units or scenario.units)
        for scenario, report in zip(scenarios, reports, strict=True)
    ]
    print("\n\n".join(pages))


def _replay(asked: argparse.Namespace) -> None:
    import simrun

    recording = simrun.load(asked.file)
    folder = asked.out or Path(asked.file).resolve().parent
    written = _draw(recording, asked, folder)
    if asked.json:
        _print_json({"scenario": recording.scenario.name, "seed": recording.seed}, [written])
    else:
        _print_written([written])


def _boxes(asked: argparse.Namespace) -> None:
    import simrun
    from simrun.study.boxes import run_boxes
    from simrun.study.workers import executor_for

    scenario = simrun.read(asked.file)
    folder = asked.out or Path("outputs") / Path(asked.file).stem
    _say_if_cold()
    seeds = tuple(range(1, asked.seeds + 1))
    with _bar("races") as told, executor_for(asked.cluster, asked.workers) as executor:
        written = run_boxes(
            scenario,
            folder,
            seeds,
            asked.workers,
            told,
            ours=asked.ours,
            until_m=asked.until,
            executor=executor,
        )
    if asked.json:
        _print_json({"scenario": scenario.name, "races": asked.seeds}, written)
    else:
        _print_written(written)


def _course(asked: argparse.Namespace) -> None:
    from simrun.measure.units import length_text
    from simrun.pictures.course_map import write_picture
    from simrun.scenario.new_course import new_course

    folder = asked.out or Path("outputs") / Path(asked.file).stem
    span_m = (asked.from_m, asked.to_m)
    how = {"width_m": asked.width, "units": asked.units or "metric"}
    found = new_course(asked.file, folder, part=asked.part, span_m=span_m, **how)
    units = found.scenario.units
    picture = write_picture(found.scenario, units, found.files[-1].with_suffix(".png"))
    written = [*found.files, picture]
    if asked.json:
        length = found.scenario.strip.length_m
        _print_json({"length_m": length, "told": list(found.told)}, written)
        return
    print(f"{found.scenario.name}: {length_text(found.scenario.strip.length_m, units)}")
    print("\n".join(found.told))
    print(
        "A watch or a map cannot measure widths: they are assumed, and marked in the scenario. "
        "How wide are the start, the narrowings, the paths and the turns?"
    )
    _print_written(written)


def _card(asked: argparse.Namespace) -> None:
    import simrun
    from simrun.study.card import write_card

    scenario = simrun.read(asked.file)
    folder = asked.out or Path("outputs") / Path(asked.file).stem
    _say_if_cold()
    units = asked.units or scenario.units
    page = asked.paper or ("letter" if units == "us" else "a4")
    with _bar("races") as told:
        how = {"workers": asked.workers, "progress": told}
        written, table = write_card(scenario, folder, asked.seeds, (units, page), **how)
    if asked.json:
        stretches = json.loads(table.to_json(orient="records"))
        _print_json({"scenario": scenario.name, "stretches": stretches}, written)
    else:
        _print_written(written)


def _evidence(asked: argparse.Namespace) -> None:
    from simrun.study.evidence import run_evidence

    _say_if_cold()
    with _bar("evidence") as told:
        page = run_evidence(asked.out or Path("outputs") / "evidence", asked.quick, told)
    if asked.json:
        _print_json({}, [page])
    else:
        _print_written([page])


def _write_tables(recording: Any, folder: Path) -> tuple[list[Path], dict[str, Any]]:
    from simrun.measure.loss import summary, time_lost
    from simrun.measure.tables import write_csv

    loss = time_lost(recording)
    tables = {
        "loss": loss,
        "boxes": summary(loss, ["box"]),
        "lines": summary(loss, ["line"]),
        "boxes_lines": summary(loss, ["box", "line"]),
    }
    written = [write_csv(table, folder / f"{name}.csv") for name, table in tables.items()]
    return written, tables


def _draw(recording: Any, asked: argparse.Namespace, folder: Path) -> Path:
    import simrun
    from simrun.pictures.view import View

    view = View(from_s=asked.from_s, to_s=asked.to_s, speed=asked.speed, units=asked.units)
    with _bar("picture") as told:
        path = folder / "race.gif"
        return simrun.animate(recording, path, follow=asked.follow, view=view, progress=told)


def _records(tables: dict[str, Any]) -> dict[str, Any]:
    return {name: json.loads(table.to_json(orient="records")) for name, table in tables.items()}


def _print_json(figures: dict[str, Any], written: list[Path]) -> None:
    print(json.dumps({**figures, "written": [str(path) for path in written]}, ensure_ascii=False))


def _print_written(written: list[Path]) -> None:
    print("\nWritten: " + ", ".join(str(path) for path in written))


def _say_if_cold() -> None:
    from simrun.compiled import is_cold

    if is_cold():
        print(
            "First use: preparing the engine, once; this takes some ten seconds.", file=sys.stderr
        )


@contextmanager
def _bar(title: str) -> Iterator[Callable[[float], None]]:
    """A progress bar on standard error; it stays silent where nobody watches."""
    from tqdm import tqdm

    with tqdm(
        total=100,
        desc=title,
        unit="%",
        leave=False,
        disable=not sys.stderr.isatty(),
        bar_format="{desc}: {percentage:3.0f}% |{bar}| {remaining} left",
    ) as bar:
        yield lambda share: bar.update(max(0.0, 100 * share - bar.n)) and None
