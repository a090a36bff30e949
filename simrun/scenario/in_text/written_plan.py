"""Which keys of its file say what our team means to do, and who runs? As `toml_edit` changes them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from simrun.base.errors import BadInput, Problem
from simrun.scenario.changes.changes_people import team_named, within_bounds, written_of
from simrun.scenario.in_text.toml_edit import Change, length_like
from simrun.scenario.scenario import Scenario


@dataclass(frozen=True)
class PlanAsked:
    """What our team is told anew; None stays as it is. front: names from left to right.

    openings: share faster than race pace by runner's name. lines: a word by the name of a turn or narrowing;
    "" takes what was told there away. plan: metres by stage (sit, move, kick), 0 takes it away. others: how
    everybody else goes out, in a word of `field.start`.
    """

    box: int | None = None
    front: Sequence[str] | None = None
    openings: Mapping[str, float] = field(default_factory=dict)
    lines: Mapping[str, str] = field(default_factory=dict)
    plan: Mapping[str, float] = field(default_factory=dict)
    others: str | None = None


def plan_changes(day: Scenario, asked: PlanAsked) -> list[Change]:
    """The keys of our team that say so. Raises BadInput where no team is ours.

    Check: tests/unit/scenario/test_toml_edit.py.
    """
    name = our_name(day)
    team, written = team_named(day, name), written_of(day, name)
    changes: list[Change] = []
    if asked.box is not None:
        changes += _boxed(day, name, asked.box)
    if asked.front is not None:
        told = list(asked.front) or None
        changes += [(("teams", name, "front"), told)] if told or "front" in written else []
    if asked.lines:
        lines = {**team.lines, **asked.lines}
        kept = {gate: line for gate, line in lines.items() if line != ""}
        listed = {k: list(v) if isinstance(v, tuple) else v for k, v in kept.items()}
        changes.append((("teams", name, "lines"), listed or None))
    if asked.plan:
        own = team.plan or day.field.plan
        said = own.model_dump(by_alias=True, exclude_none=True) | dict(asked.plan)
        kept_plan = {key: value for key, value in said.items() if value != 0}
        changes.append((("teams", name, "plan"), kept_plan or None))
    if asked.others is not None:
        if day.field.told_opening is not None:
            found = "the file says how hard the field goes out"
            raise BadInput(Problem("field.opening", found, "that key taken away first"))
        # Ours go out as they did: what is said of the whole field is said of the others alone.
        if "start" not in written and asked.others != day.field.start:
            changes.append((("teams", name, "start"), day.field.start))
        changes.append((("field", "start"), asked.others))
    # A list of tables comes last: what is written behind it would be its last entry's.
    if asked.openings:
        changes.append((("teams", name, "people"), _opening(day, name, asked.openings)))
    return changes


def our_name(day: Scenario) -> str:
    """The name of our team. Raises BadInput where there is none."""
    if day.our_team is None:
        raise BadInput(Problem("teams.ours", "no team is ours", "say which team is ours first"))
    return day.our_team


def _boxed(day: Scenario, name: str, box: int) -> list[Change]:
    """Our box; who stands there takes ours, in the file too."""
    own = team_named(day, name).box
    changes: list[Change] = [(("teams", name, "box"), box)]
    other = next((t.name for t in day.teams if t.box == box and t.name != name), None)
    if other is not None and own is not None:
        changes.append((("teams", other, "box"), own))
    return changes


def _opening(day: Scenario, name: str, openings: Mapping[str, float]) -> list[dict[str, object]]:
    """Everybody of the team by name in their present order, so that nobody moves; some are told anew."""
    team = team_named(day, name)
    if len(team.people) < team.runners:
        found = f"{team.runners - len(team.people)} of our runners have no name"
        raise BadInput(Problem(f"teams.{name}.people", found, "name them first"))
    written = {str(one["name"]).strip(): one for one in written_of(day, name).get("people", [])}
    people: list[dict[str, object]] = []
    for person in team.people:
        entry = {**written.get(person.name, {}), "name": person.name}
        if person.name in openings:
            entry["opening"] = within_bounds(float(openings[person.name]))
        people.append(entry)
    return people


@dataclass(frozen=True)
class ListsAsked:
    """Which lists say who runs and where: file names, our team, the race, and what was settled.

    entries, box_sheet: None where there is none. columns: of each list, by meaning.
    """

    ours: str
    entries: str | None = None
    box_sheet: str | None = None
    race: str = ""
    no_time: str = ""
    plain_times: str = ""
    box: int | None = None
    entry_columns: Mapping[str, int] = field(default_factory=dict)
    box_columns: Mapping[str, int] = field(default_factory=dict)


FIELD_ABILITY = ("ability", "time", "spread", "teams")
"""What says how fast a field without an entry list is."""


def list_changes(day: Scenario, asked: ListsAsked) -> list[Change]:
    """The keys that name the lists; teams of an invented field go, ours stays where it is the same.

    Check: tests/unit/scenario/test_toml_edit.py.
    """
    in_field, in_start = day.document.get("field", {}), day.document["start"]
    keys: dict[str, object] = {
        "seed_times": asked.entries or in_field.get("seed_times"),
        "race": asked.race or None,
        "no_time": asked.no_time or None,
        "plain_times": asked.plain_times or None,
        "columns": dict(asked.entry_columns) or None,
    }
    changes: list[Change] = []
    if asked.entries:
        changes += [(("field", key), None) for key in FIELD_ABILITY if key in in_field]
        changes += [
            (("field", key), value)
            for key, value in keys.items()
            if value is not None or key in in_field
        ]
        changes.append((("field", "fill"), True))
    if asked.box_sheet:
        changes.append((("start", "box_sheet"), asked.box_sheet))
        if asked.box_columns or "columns" in in_start:
            changes.append((("start", "columns"), dict(asked.box_columns) or None))
        if "draw" in in_start:
            changes.append((("start", "draw"), None))
    kept = written_of(day, asked.ours)
    ours: dict[str, object] = {**kept, "name": asked.ours, "ours": True}
    if asked.box_sheet:
        ours.pop("box", None)
    elif asked.box is not None:
        ours["box"] = asked.box
    elif not ours.get("box"):
        ours["box"] = 1
    return [*changes, (("teams",), [ours])]


def ours_changes(day: Scenario, name: str) -> list[Change]:
    """The keys that make this team ours and no other."""
    own = day.our_team
    if own == name:
        return []
    gone: list[Change] = [] if own is None else [(("teams", own, "ours"), None)]
    return [*gone, (("teams", name, "ours"), True)]


MOST_NAMED = 12


def people_changes(day: Scenario, people: Sequence[object]) -> list[Change]:
    """The keys that name our runners, each with a 5 km time, in this order."""
    named: list[dict[str, object]] = []
    for person in people[:MOST_NAMED]:
        if isinstance(person, Mapping):
            named.append({key: person[key] for key in ("name", "time") if person.get(key)})
    name = our_name(day)
    return [(("teams", name, "people"), named or None), (("teams", name, "runners"), len(named))]


def mark_changes(day: Scenario, name: str, at_m: float) -> list[Change]:
    """The keys of one more landmark, at so many metres along the measured line."""
    number = len(day.course.landmarks) + 1
    told = {"name": name.strip(), "at": length_like(None, at_m, day.units)}
    return [(("course", "landmarks", number), told)]
