"""What does the desk do when the page asks? It looks, changes the file, and has races run."""

from __future__ import annotations

import shutil
import tempfile
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simrun.answers.tactic.orders import OPENINGS, PEOPLE_SEED
from simrun.answers.tactic.search.splits import our_splits_s
from simrun.base.errors import BadInput, Problem
from simrun.base.writing import ready_folder, write_text
from simrun.desk.asking_in import (
    counted,
    given,
    line_asked,
    number,
    place_asked,
    plan_asked,
    text_of,
)
from simrun.desk.day_view import (
    books_of,
    day_of,
    ground_of,
    limits_of,
    line_of,
    pieces_of_course,
    view_of,
)
from simrun.desk.kept_day import KeptDay
from simrun.desk.shelf import Shelf
from simrun.desk.work.desk_jobs import (
    ANSWER,
    CARD,
    PLANS,
    SHEET,
    Jobs,
    answer_work,
    card_work,
    plans_work,
    sheet_work,
)
from simrun.desk.work.drawn_way import Drawn, drawn_text, points_of
from simrun.desk.work.estimates import Estimates
from simrun.desk.work.first_estimate import first_estimate
from simrun.desk.work.map_page import map_page
from simrun.desk.work.pasted import lists_asked, looked_at, settled_of
from simrun.scenario.changes.changes_people import with_people_named
from simrun.scenario.in_text.toml_edit import Change, edited
from simrun.scenario.in_text.written_ground import place_changes
from simrun.scenario.in_text.written_line import line_changes, width_changes, with_line
from simrun.scenario.in_text.written_plan import (
    list_changes,
    our_name,
    ours_changes,
    people_changes,
    plan_changes,
)
from simrun.scenario.in_text.written_straight import straight_changes
from simrun.scenario.reader import read_as, read_parts
from simrun.scenario.scenario import Scenario

Asked = Mapping[str, Any]
Told = dict[str, Any]


class Hands:
    """One folder's desk. Check: tests/journeys/test_desk.py."""

    def __init__(self, folder: Path, workers: int | None = None) -> None:
        self.shelf = Shelf(folder)
        self.jobs, self.estimates = Jobs(workers), Estimates()
        self.workers = workers
        self._kept: dict[str, KeptDay] = {}
        self._lock = threading.Lock()

    def close(self) -> None:
        """End what is being run."""
        self.estimates.close()
        self.jobs.close()

    def kept(self, asked: Asked) -> KeptDay:
        """The file that is asked about. Raises NotHere."""
        path = self.shelf.path(asked.get("file"))
        with self._lock:
            if path.name not in self._kept:
                self._kept[path.name] = KeptDay(path)
            return self._kept[path.name]

    def days(self, asked: Asked) -> Told:
        """Which race days are there?"""
        return {"days": self.shelf.days(), "folder": self.shelf.folder.name}

    def day(self, asked: Asked) -> Told:
        """One race day, whole; once the first one stands on the page, the engine is fetched."""
        told = view_of(self.kept(asked))
        self.estimates.warm()
        return told

    def tried(self, asked: Asked) -> Told:
        """The line as it would be, exact, while it is dragged; nothing is written."""
        kept = self.kept(asked)
        day = with_line(kept.day(), line_asked(asked))
        told = line_of(day) | {"limits": limits_of(day)}
        if asked.get("ground"):
            told |= {"ground": ground_of(day), "pieces": pieces_of_course(day)}
        return told

    def books(self, asked: Asked) -> Told:
        """What books and guidance ask of this course."""
        return {"rows": books_of(self.kept(asked).day())}

    def change(self, asked: Asked) -> Told:
        """Change the file as one drag, one click or one word of the page says; gives the day anew."""
        kept = self.kept(asked)
        with kept.lock:
            if asked.get("what") == "races":
                kept.name_races(text_of(asked, "digest"), given(asked, "names", list))
                return view_of(kept)
            day = kept.day()
            kept.change(text_of(asked, "digest"), self._changes(day, asked))
        return view_of(kept)

    def _changes(self, day: Scenario, asked: Asked) -> list[Change]:
        what = asked.get("what")
        if what == "line":
            return line_changes(day, line_asked(asked))
        if what == "width":
            return width_changes(day, counted(asked, "number"), number(asked, "width"))
        if what == "plan":
            return plan_changes(day, plan_asked(asked))
        if what == "ours":
            return ours_changes(day, text_of(asked, "name"))
        if what == "names":
            return people_changes(day, given(asked, "people", list))
        if what == "place":
            return place_changes(day, place_asked(asked))
        if what == "straight":
            ends = number(asked, "from"), number(asked, "to")
            return straight_changes(day, *ends, drop_orders=asked.get("drop") is True)
        if what == "name":
            return [(("name",), text_of(asked, "name"))]
        raise BadInput(Problem("what", repr(what), "something that the desk can change"))

    def race(self, asked: Asked) -> Told:
        """Show another race of the same day; what is changed from here on is that race's."""
        kept = self.kept(asked)
        kept.choose(text_of(asked, "race"))
        return view_of(kept)

    def undo(self, asked: Asked) -> Told:
        """The file as it was a step ago."""
        kept = self.kept(asked)
        kept.undo(text_of(asked, "digest"))
        return view_of(kept)

    def redo(self, asked: Asked) -> Told:
        """The step that was undone, done again."""
        kept = self.kept(asked)
        kept.redo(text_of(asked, "digest"))
        return view_of(kept)

    def look(self, asked: Asked) -> Told:
        """What is understood of pasted lists; nothing is written."""
        texts = (text_of(asked, "entries", ""), text_of(asked, "boxes", ""))
        return looked_at(*texts, settled_of(asked))

    def lists(self, asked: Asked) -> Told:
        """Keep pasted lists as files beside the scenario, and have it name them."""
        kept, settled = self.kept(asked), settled_of(asked)
        texts = {kind: text_of(asked, kind, "") for kind in ("entries", "boxes")}
        with kept.lock:
            day, stem = kept.day(), kept.path.stem
            kept.same(text_of(asked, "digest"))
            names = {
                kind: self.shelf.list_name(stem, kind, text) if text.strip() else None
                for kind, text in texts.items()
            }
            for kind, name in names.items():
                if name is not None:
                    write_text(self.shelf.folder / name, texts[kind])
            wanted = lists_asked(
                settled, text_of(asked, "ours"), (names["entries"], names["boxes"])
            )
            kept.change(text_of(asked, "digest"), list_changes(day, wanted))
        return view_of(kept)

    def drawn(self, asked: Asked) -> Told:
        """A way that was clicked becomes a new race day."""
        path = self.shelf.free(asked.get("file"))
        lap_from = asked.get("lap_from")
        drawn = Drawn(
            name=text_of(asked, "name"),
            points_m=points_of(given(asked, "points", list)),
            line_m=number(asked, "line"),
            width_m=number(asked, "width"),
            boxes=counted(asked, "boxes"),
            box_m=number(asked, "box_width"),
            front_row=counted(asked, "front_row"),
            lap_from=None if lap_from is None else counted(asked, "lap_from"),
            laps=counted(asked, "laps"),
            units="us" if asked.get("units") == "us" else "metric",
        )
        text = drawn_text(drawn)
        if asked.get("only_try"):
            return day_of(read_parts(text, {}, path.name))
        read_as(text, path)
        write_text(path, text)
        return {"file": path.name}

    def copy(self, asked: Asked) -> Told:
        """The same race day under another name: a plan B."""
        kept, path = self.kept(asked), self.shelf.free(asked.get("as"))
        write_text(path, kept.look())
        return {"file": path.name}

    def track(self, asked: Asked) -> Told:
        """A track from a watch or a map becomes a new race day, as `simrun course` makes it."""
        from simrun.answers.course.new_course import AskedCourse, new_course

        path = self.shelf.free(asked.get("file"))
        kind = str(asked.get("kind"))
        if kind not in ("gpx", "kml", "geojson"):
            raise BadInput(Problem("file", "another kind of file", "GPX, KML or GeoJSON"))
        units = "us" if asked.get("units") == "us" else "metric"
        with tempfile.TemporaryDirectory(prefix="simrun-desk-") as beside:
            source, made = Path(beside) / f"{path.stem}.{kind}", Path(beside) / "made"
            source.write_bytes(asked["data"])
            found = new_course(source, made, AskedCourse(units=units))
            others = [f for f in found.files if f.name != path.name]
            for file in others:
                self.shelf.refuse_taken(file.name)
            for file in others:
                shutil.copyfile(file, self.shelf.folder / file.name)
            text = (made / path.name).read_text("utf-8")
            named = [(("name",), text_of(asked, "name"))] if asked.get("name") else []
            write_text(path, edited(text, named))
        return {"file": path.name, "told": list(found.told), "questions": found.questions}

    def splits(self, asked: Asked) -> Told:
        """In how many seconds is each of our runners at the stake, by how hard they go out?"""
        day = self.kept(asked).day()
        name = our_name(day)
        named = with_people_named(day, name, PEOPLE_SEED)
        team = next(team for team in named.teams if team.name == name)
        told = {one.opening for one in team.people if one.opening is not None}
        told |= set() if team.opening is None else {team.opening}
        openings = sorted({*OPENINGS, *told})
        found = our_splits_s(named, name, openings)
        by_name = {
            person.name: [_tenths(found[opening][i]) for opening in openings]
            for i, person in enumerate(team.people)
        }
        return {"openings": openings, "seconds": by_name}

    def run(self, asked: Asked) -> Told:
        """Begin to run races: the answer, two plans, the sheet, or the course card."""
        kept, what = self.kept(asked), asked.get("what")
        day, name = kept.day(), kept.path.name
        folder = ready_folder(self.shelf.outputs(name))
        self.estimates.drop()
        if what == ANSWER:
            minutes = min(60.0, max(0.05, number(asked, "minutes")))
            work = answer_work(day, folder, minutes, self.workers)
        elif what == PLANS:
            other = self.kept({"file": asked.get("other")}).day()
            minutes = min(60.0, max(0.05, number(asked, "minutes")))
            work = plans_work(day, other, folder, minutes, self.workers)
        elif what == SHEET:
            work = sheet_work(day, folder, self.workers)
        elif what == CARD:
            work = card_work(day, folder, self.workers)
        else:
            raise BadInput(Problem("what", repr(what), f"{ANSWER}, {PLANS}, {SHEET} or {CARD}"))
        return self.jobs.begin(str(what), name, work).view()

    def stop(self, asked: Asked) -> Told:
        """Stop running races."""
        self.jobs.stop()
        return self.job(asked)

    def job(self, asked: Asked) -> Told:
        """How far are the races?"""
        return self.jobs.job.view() if self.jobs.job else {"state": "none"}

    def crew(self, asked: Asked) -> Told:
        """The crew sheet of the line as it stands; exact, so no race is run."""
        from simrun.desk.work.crew_page import write_crew_page

        kept = self.kept(asked)
        path = write_crew_page(kept.day(), self.shelf.outputs(kept.path.name))
        return {"stem": kept.path.stem, "files": [path.name]}

    def estimate(self, asked: Asked) -> Told:
        """Ask what races would say of the line as it stands."""
        day = self.kept(asked).day()
        return {"number": self.estimates.begin(day)}

    def first(self, asked: Asked) -> Told:
        """The handbook's word on the line as it would be, at once; nothing is raced or written."""
        return {"first": first_estimate(with_line(self.kept(asked).day(), line_asked(asked)))}

    def map(self, asked: Asked) -> Told:
        """One page of a PDF as a picture; nothing is kept."""
        return map_page(asked["data"], counted(asked, "page"))

    def drop(self, asked: Asked) -> Told:
        """Whoever asked this question has gone; a later one stays."""
        self.estimates.drop(counted(asked, "number"))
        return {}

    def estimated(self, asked: Asked) -> Told:
        """What they say by now."""
        return self.estimates.view()


def _tenths(seconds: float) -> float | None:
    return round(float(seconds), 1) if seconds == seconds else None
