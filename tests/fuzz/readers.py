"""Every reader of files, as a fuzzer meets it: good files to begin with, how to spoil and to read one."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

import numpy as np
from PIL import Image

import simrun
from simrun.answers.course.new_course import AskedCourse, new_course
from simrun.answers.learn.seen_files import count_sources, start_source
from simrun.answers.race.race_tables import race_tables, write_tables
from simrun.base.decoding import decoded
from simrun.base.errors import BadInput, SimrunError
from simrun.pictures.replay.replay_page import write_page
from simrun.pictures.walk.photographs import photograph
from simrun.scenario.named_files import read_results
from simrun.scenario.tables.box_sheet import parse_box_sheet
from simrun.scenario.tables.learnt_sample import learnt_text, parse_learnt
from simrun.sources.assumed import assumed_inputs
from simrun.trials.carry_out import carry_out
from simrun.trials.learning.lesson import Source
from simrun.trials.learning.seen_races import Watched, watched_day
from simrun.trials.plan import Plan
from simrun.trials.races import PLACES, TIMES, Outcome
from simrun.trials.races import packed as packed_outcome
from simrun.trials.store import Store
from tests.helpers.scenario_text import ENTRIES, SMALL, WHOLE
from tests.helpers.spoiling import (
    spoil_bytes,
    spoil_json,
    spoil_recording,
    spoil_store,
    spoil_words,
)

SCENARIOS = Path(__file__).parents[2] / "scenarios"
WITH_ENTRIES = SMALL.replace("[field]\nteams = 2", '[field]\nseed_times = "entries.csv"')


@dataclass(frozen=True)
class Reader:
    """good(folder): files that are read; spoil(data, rng); read(folder, data): SimrunError if refused."""

    good: Callable[[Path], list[bytes]]
    spoil: Callable[[bytes, Random], bytes]
    read: Callable[[Path, bytes], object]


def outcome(reader: Reader, folder: Path, data: bytes) -> str:
    """What was said where the file was refused, "" where it was read; anything else is an error.

    Raises whatever is not raised on purpose; AssertionError where a refusal is not one plain line a mistake.
    """
    try:
        reader.read(folder, data)
    except SimrunError as refused:
        told = (
            [str(p) for p in refused.problems] if isinstance(refused, BadInput) else [str(refused)]
        )
        for line in told:
            assert line.strip(), "a refusal without words"
            assert line.isprintable(), f"no plain line: {line!r}"
        return "\n".join(told)
    return ""


def read_scenario(folder: Path, data: bytes) -> object:
    """The file of a race day, its people and its line."""
    (folder / "entries.csv").write_text(ENTRIES, encoding="utf-8")
    for beside in SCENARIOS.glob("*.csv"):
        shutil.copy(beside, folder / beside.name)
    (folder / "day.toml").write_bytes(data)
    scenario = simrun.read(folder / "day.toml")
    return scenario.roster(1), scenario.start_line


def good_scenarios(folder: Path) -> list[bytes]:
    """The shipped ones that need no drawing, and two that use nearly every key."""
    shipped = [p.read_bytes() for p in sorted(SCENARIOS.glob("*.toml"))]
    return [WHOLE.encode(), SMALL.encode(), *(text for text in shipped if b"drawn" not in text)]


def read_drawing(folder: Path, data: bytes) -> object:
    """A drawn course."""
    shutil.copy(SCENARIOS / "ostrel_common.toml", folder / "ostrel_common.toml")
    (folder / "ostrel_common.geojson").write_bytes(data)
    scenario = simrun.read(folder / "ostrel_common.toml")
    return scenario.strip, scenario.start_line


def good_drawing(folder: Path) -> list[bytes]:
    """The shipped one."""
    return [(SCENARIOS / "ostrel_common.geojson").read_bytes()]


def read_entries(folder: Path, data: bytes) -> object:
    """An entry list, as a scenario names it."""
    (folder / "day.toml").write_text(WITH_ENTRIES, encoding="utf-8")
    (folder / "entries.csv").write_bytes(data)
    return simrun.read(folder / "day.toml").roster(1)


def good_entries(folder: Path) -> list[bytes]:
    """A plain list; names in two columns of Windows letters, some without a time; UTF-16 of a spreadsheet."""
    plain = ENTRIES.encode()
    rows = [f"{i};Aro;Fén {i};Elm {i % 2};{'NT' if i % 4 else '18:20'}" for i in range(12)]
    forms = "\n".join(["Bib;First name;Last name;School;Seed time", *rows]).encode("cp1252")
    sheet = "\n".join(f"Aro {i}\tElm\t16:{i}:00\tGirls" for i in range(10, 18))
    return [plain, forms, f"Name\tClub\tTime\tDivision\n{sheet}\n".encode("utf-16")]


def read_finish_times(folder: Path, data: bytes) -> object:
    """A results list."""
    (folder / "results.csv").write_bytes(data)
    return read_results(folder / "results.csv")


def good_results(folder: Path) -> list[bytes]:
    """Thirty runners with a split."""
    rows = [
        f"{i},Runner {i},Team {i % 3},{3 + i // 20}:{i % 20 + 10},{15 + i // 10}:{i * 6 % 60:02d}"
        for i in range(1, 31)
    ]
    return ["\n".join(["place,name,team,1 km,time", *rows, "31,Last,Team 1,,DNF"]).encode()]


def read_box_sheet(folder: Path, data: bytes) -> object:
    """Which team has which box?"""
    return parse_box_sheet(decoded(data), "sheet.csv")


def good_box_sheet(folder: Path) -> list[bytes]:
    """Three teams, with either mark between columns."""
    return [
        b"team,box\nAlderbrook,3\nBirch Hill,4\nCastle Row,9\n",
        b"box;team\r\n1;Alderbrook\r\n",
        "Draw of the boxes\n\nBox\tSchool\n1\tAlderbrook\n2\t\n3.0\tÆlm\n".encode("utf-16"),
    ]


def read_learnt(folder: Path, data: bytes) -> object:
    """What was learnt of the inputs."""
    return parse_learnt(decoded(data), "learnt.csv", {}).middle


def good_learnt(folder: Path) -> list[bytes]:
    """Every input at its value, and two of them in three draws."""
    known = assumed_inputs()
    values = np.array([[figure.value for figure in known.values()]])
    few = np.array([[0.4, 0.7], [0.45, 0.6], [0.5, 0.5]])
    two = learnt_text(("runner.following_time_s", "line.inside_share"), few)
    return [learnt_text(tuple(known), values).encode(), two.encode()]


@cache
def watched() -> Watched:
    """The dual meet with a mark at every place."""
    return watched_day(simrun.read(SCENARIOS / "dual_meet.toml"))


def read_counts(folder: Path, data: bytes) -> object:
    """What was counted with a phone, and its figures."""
    (folder / "counts.csv").write_bytes(data)
    return _figures(*count_sources(watched(), str(folder / "counts.csv")))


def good_counts(folder: Path) -> list[bytes]:
    """Every kind once, with either mark between columns."""
    thirds = "inside,mill corner,12\nmiddle,mill corner,5\noutside,mill corner,3\n"
    gaps = "".join(f"gap,gate,0.{i}\n" for i in range(1, 8))
    rest = "abreast,gate,3\nabreast,gate,4\na minute,gate,120.5\n"
    text = f"what,at,seen\n{thirds}{gaps}{rest}"
    return [text.encode(), text.replace(",", ";").encode("utf-16")]


def read_starts(folder: Path, data: bytes) -> object:
    """Gun and net times, and their figures."""
    (folder / "starts.csv").write_bytes(data)
    return _figures(start_source(str(folder / "starts.csv")))


def good_starts(folder: Path) -> list[bytes]:
    """Thirty runners, two of whom have no time."""
    rows = [f"18:{i:02d}.4,18:{max(0, i - 3):02d}.1" for i in range(10, 40)]
    return ["\n".join(["Gun time,Chip time", *rows, "DNF,DNF", ",18:20"]).encode()]


def _figures(*sources: Source) -> list[np.ndarray]:
    found = [source.seen for source in sources]
    assert all(np.isfinite(figures).all() for figures in found)
    return found


def read_track(folder: Path, data: bytes) -> object:
    """A recorded or drawn track, made into a course."""
    shutil.rmtree(folder / "out", ignore_errors=True)
    (folder / "track").write_bytes(data)
    return new_course(folder / "track", folder / "out", AskedCourse(width_m=6.0))


def good_gpx(folder: Path) -> list[bytes]:
    """Two minutes of a track with height, time and a place that was marked; a route."""
    track = "".join(
        f'<trkpt lat="{51 + i * 1e-4:.6f}" lon="{i * i * 1e-6:.6f}"><ele>{100 + i % 7}</ele>'
        f"<time>2026-01-01T00:{i // 60:02d}:{i % 60:02d}Z</time></trkpt>"
        for i in range(60)
    )
    route = "".join(f'<rtept lat="{51 + i * 1e-4:.6f}" lon="0.1"/>' for i in range(40))
    head = '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
    oak = '<wpt lat="51.003" lon="0.001"><name>oak</name></wpt>'
    return [
        f"{head}{oak}<trk><name>loop</name><trkseg>{track}</trkseg></trk></gpx>".encode(),
        f"{head}<rte><name>road</name>{route}</rte></gpx>".encode(),
    ]


def good_kml(folder: Path) -> list[bytes]:
    """A line and a recorded track."""
    line = " ".join(f"{i * i * 1e-6:.6f},{51 + i * 1e-4:.6f},{100 + i % 5}" for i in range(60))
    track = "".join(
        f"<when>2026-01-01T00:00:{i:02d}Z</when><coord>0.1 {51 + i * 1e-4:.6f} {i}</coord>"
        for i in range(50)
    )
    head = '<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>a</name>'
    end = "</Placemark></Document></kml>"
    return [
        f"{head}<LineString><coordinates>{line}</coordinates></LineString>{end}".encode(),
        f"{head}<Track>{track}</Track>{end}".encode(),
    ]


def read_recording(folder: Path, data: bytes) -> object:
    """A recorded race; tables and a page are made of it."""
    (folder / "strange.npz").write_bytes(data)
    with np.errstate(all="ignore"):
        recording = simrun.load(folder / "strange.npz")
        write_tables(race_tables(recording), folder)
        return write_page(recording, folder / "replay.html", note="")


def good_recording(folder: Path) -> list[bytes]:
    """Forty seconds of five people."""
    read_entries(folder, ENTRIES.encode())
    scenario = simrun.read(folder / "day.toml").changed({"clock.limit": 40})
    return [simrun.save(simrun.race(scenario, 1), folder / "good.npz").read_bytes()]


def read_store(folder: Path, data: bytes) -> object:
    """The races of a study, read and carried on."""
    for old in folder.glob("study.sqlite*"):
        old.unlink()
    (folder / "study.sqlite").write_bytes(data)
    with Store(folder / "study.sqlite") as store:
        found = (
            store.kept(),
            store.content_digest(),
            [list(store.outcomes(d)) for d in store.arms()],
        )
    with Store(folder / "study.sqlite", writing=True) as store:
        store.add_races([("a", 99, _made_up(4.0))])
        store.tidy()
    return found


def good_store(folder: Path) -> list[bytes]:
    """Three short races, and a store of sixty made-up ones."""
    day = simrun.read(SCENARIOS / "dual_meet.toml").changed({"clock.limit": 5})
    carry_out(Plan({"a": day}, (1, 2, 3)), folder / "real.sqlite", workers=1)
    with Store(folder / "made.sqlite", writing=True) as store:
        store.add_arms(dict.fromkeys("abcde", "an arm"))
        store.add_races([(digest, seed, _made_up(3.0)) for digest in "abcde" for seed in range(12)])
        store.tidy()
    return [(folder / "real.sqlite").read_bytes(), (folder / "made.sqlite").read_bytes()]


def _made_up(number: float) -> bytes:
    """A race of three in which everybody crosses at `number`."""
    names = (*TIMES, *PLACES)
    whole = np.arange(3)
    times = {name: np.full((3, 2), number) for name in names}
    still = {name: np.zeros(3, dtype=np.float32) for name in ("stood_s", "stood_m")}
    return packed_outcome(Outcome(whole, whole, whole, np.array(["inside"] * 3), **times, **still))


def good_pictures(folder: Path) -> list[bytes]:
    """A JPEG and a PNG of many small things."""
    random = np.random.default_rng(1)
    picture = Image.fromarray(random.integers(0, 255, (24, 32, 3), dtype=np.uint8))
    streams = {kind: io.BytesIO() for kind in ("JPEG", "PNG")}
    for kind, stream in streams.items():
        picture.save(stream, kind)
    return [stream.getvalue() for stream in streams.values()]


def read_picture(folder: Path, data: bytes) -> object:
    """As a page takes it."""
    return photograph(data, 100_000, "places.1.photo")


READERS = {
    "scenario": Reader(good_scenarios, spoil_words, read_scenario),
    "drawing": Reader(good_drawing, spoil_json, read_drawing),
    "entries": Reader(good_entries, spoil_words, read_entries),
    "results": Reader(good_results, spoil_words, read_finish_times),
    "boxes": Reader(good_box_sheet, spoil_words, read_box_sheet),
    "learnt": Reader(good_learnt, spoil_words, read_learnt),
    "counts": Reader(good_counts, spoil_words, read_counts),
    "starts": Reader(good_starts, spoil_words, read_starts),
    "gpx": Reader(good_gpx, spoil_words, read_track),
    "kml": Reader(good_kml, spoil_words, read_track),
    "photograph": Reader(good_pictures, spoil_bytes, read_picture),
    "recording": Reader(good_recording, spoil_recording, read_recording),
    "store": Reader(good_store, spoil_store, read_store),
}
