"""All that may be written in a scenario, on one page: the tables by themselves, what they mean in our
words."""

from __future__ import annotations

from itertools import groupby

from simrun.scenario.tables.grammar import Row, grammar

SENTENCE = (
    "All that may be written in a scenario, key by key, with what holds where it is left out."
)

PAGE_HEAD = """# What may be written in a scenario

Made from the tables that read it, by `simrun new --grammar`; a test keeps it current. A scenario is one
file in
TOML: keys above all tables first, then tables in any order; a head in double brackets may stand more
than once.

A length is a number of metres, or text: `"60 m"`, `"150 yd"`, `"0.5 mi"`, `"30 ft"`. A time is a number of
seconds, or text: `"90 s"`, `"12 min"`, `"18:20"`. Text stands in quotes. What is not listed is refused,
with the nearest word. Files lie beside the scenario or below it.
"""

INPUTS_HELP = """## [inputs]

What you have measured of the figures that nobody has: `line.inside_share = 0.5` tells one, and a range
under `[inputs.ranges]`, such as `runner.following_time_s = [0.40, 0.50]`, narrows one. `drawn = true` draws
all the others anew with every seed. `learnt = "..._learnt.csv"` names the draws that `simrun learn` wrote:
they take the place of the ranges.
"""

HEADS = {
    "": "Above all tables",
    "columns": "columns, on one line of [start] or [field]: which column of a list is which",
    "lines": "lines, on one line of [field]: which share of the field takes which line",
    "plan": "plan, on one line of [field], a team or a person: where each stage of the race begins",
}

SHORT = {
    "text of 1 to 80 characters on one line": "text",
    "text of 1 to 80 characters on one line, without @": "text",
    "text of 1 to 200 characters on one line": "a file's name",
    "text of at most 2000 characters": "longer text",
}

MEANS = {
    ("", "name"): "the race's name",
    ("", "about"): "what it is, in a few lines",
    ("", "invented"): "are its people and places made up?",
    ("", "units"): "what pages speak",
    ("[clock]", "limit"): "for how long the race is run at most",
    ("[clock]", "step_s"): "seconds from one step of the simulation to the next",
    ("[clock]", "frame_s"): "seconds from one kept frame to the next; else about 0.1",
    ("[start]", "width"): "the width of the line",
    ("[start]", "shape"): "how the line is painted",
    ("[start]", "aim"): (
        "of an arc: how far ahead its point lies; or the gate, or finish, to which all boxes are to have "
        "the same way: point and tilt are then found anew whenever the file is read"
    ),
    (
        "[start]",
        "tilt",
    ): "degrees by which the whole line is turned to the left; below 0 to the right",
    ("[start]", "sideways"): (
        "how far the middle of the line lies to the left of the middle of the ground at the start; "
        "below 0 to the right"
    ),
    ("[start]", "box_width"): "the width of one box",
    ("[start]", "boxes"): "how many boxes there are, numbered from the left",
    ("[start]", "front_row"): "how many stand side by side in a box",
    ("[start]", "row_gap"): "from one row to the next",
    ("[start]", "empty"): "boxes that stay empty, such as [7, 8]",
    ("[start]", "box_sheet"): "a CSV file: which team stands in which box",
    ("[start]", "columns"): "where the names of its columns leave it open",
    ("[start]", "draw"): "as listed; drawn once by the seed; drawn again with every seed",
    ("[start]", "ours"): "again: our team alone changes its box with every seed",
    ("[start]", "gun"): "where the starter stands",
    ("[start]", "recall"): "how far ahead of the line the recall line lies, for the crew's drawing",
    ("[start]", "crossing"): "how far ahead of the line spectators cross, for the crew's drawing",
    ("[start]", "ambulance"): "at which end of the line a lane is kept free for the ambulance",
    ("[start]", "waves"): "how many waves start, taking turns along the line",
    (
        "[start]",
        "waves_by",
    ): "who goes first: boxes in turns, or the teams with the faster seed times",
    ("[start]", "wave_gap"): "from one wave's gun to the next",
    ("columns", "name"): "the runner's whole name",
    ("columns", "first"): "the first name",
    ("columns", "last"): "the last name",
    ("columns", "team"): "the team",
    ("columns", "time"): "the seed time",
    ("columns", "race"): "the race or division",
    ("columns", "box"): "the box",
    ("[course]", "footing"): "what the day leaves of the speed everywhere: 0.95 is muddy",
    ("[course]", "drawn"): "a GeoJSON file with the edges or the middle, in place of pieces",
    ("[course]", "width"): "of a drawing of the middle: one width for all of it",
    ("[[course.pieces]]", "piece"): "what it is; again runs earlier pieces once more",
    ("[[course.pieces]]", "name"): "what it is called, once",
    ("[[course.pieces]]", "length"): "how long it is; a turn has none",
    ("[[course.pieces]]", "width"): "how wide it is at its end; else as before",
    ("[[course.pieces]]", "side"): "to which side a turn goes, or from which a narrowing comes in",
    ("[[course.pieces]]", "angle"): "by how many degrees a turn goes",
    ("[[course.pieces]]", "inside_radius"): "of the inner edge of a turn; else it is a corner",
    ("[[course.pieces]]", "around"): "what a turn goes around",
    ("[[course.pieces]]", "left"): "what stands at its left edge",
    ("[[course.pieces]]", "right"): "what stands at its right edge",
    ("[[course.pieces]]", "surface"): "what is underfoot",
    ("[[course.pieces]]", "climb"): "how much higher its end is; below 0 for downhill",
    ("[[course.pieces]]", "from"): "of again: the first piece that is run once more",
    ("[[course.pieces]]", "to"): "of again: the last one",
    ("[course.laps]", "from"): "the lap's first piece",
    ("[course.laps]", "to"): "the lap's last piece",
    ("[course.laps]", "times"): "how often the lap is run",
    ("[[course.checkpoints]], [[course.landmarks]]", "name"): "what it is called, once",
    ("[[course.checkpoints]], [[course.landmarks]]", "at"): "how far along the measured line",
    ("[[course.checkpoints]], [[course.landmarks]]", "every_lap"): "does it count on every lap?",
    ("[[course.widths]]", "at"): "of a drawing of the middle: how far along it",
    ("[[course.widths]]", "width"): "how wide it is there; even between two of them",
    ("[course.edges]", "left"): "what stands at the left edge where a drawing does not say",
    ("[course.edges]", "right"): "what stands at the right edge where a drawing does not say",
    ("[course.wind]", "speed"): "metres a second",
    ("[course.wind]", "against"): "the stretch on which it blows straight against the runners",
    ("[field]", "ability"): "how fast an invented field is",
    ("[field]", "time"): "the middle 5 km time, in place of the ability's",
    ("[field]", "spread"): "how far times lie apart",
    ("[field]", "seed_times"): "an entry list, a CSV file: name, team, time",
    ("[field]", "race"): 'which race of the list, or several: ["Varsity", "Girls"]',
    ("[field]", "columns"): "where the names of its columns leave it open",
    (
        "[field]",
        "no_time",
    ): "what runs who has no time: as the middle of the team, not at all, or this time",
    ("[field]", "plain_times"): "is 1620 in the list 16:20 (minutes), or seconds?",
    (
        "[field]",
        "bodies",
    ): "of races that run as one: their teams are squads of their own, Ellerfold JV girls",
    ("[field]", "body"): "whose bodies they are; else as the ability says",
    ("[field]", "teams"): "how many teams run",
    ("[field]", "fill"): "are boxes that no team names filled with invented teams?",
    ("[field]", "racing"): "do they race for places, or run their own plans?",
    ("[field]", "start"): "how the front goes out when they race",
    ("[field]", "seed_on"): "what the seed times are: cross-country, track, or a course's name",
    ("[field]", "seed_factor"): "of a named course: its share of the pace on a track",
    ("[field]", "runners"): "how many run for a team; else 7",
    ("[field]", "opening"): "how much faster than race pace everybody goes out: 0.1 is 10 percent",
    ("[field]", "opening_spread"): "how far runners differ in that",
    ("[field]", "opening_for"): "how far the opening lasts",
    ("[field]", "settle_over"): "over what distance it settles to race pace",
    ("[field]", "plan"): "for everybody",
    ("[field]", "lines"): "where nobody says which line",
    (
        "[field]",
        "pull",
    ): "how much runners leave their own place across for the shortest way: 0 never, 1 all of it",
    ("[[races]]", "name"): "what one of several races on this ground is called",
    ("[[races]]", "lists"): "the races of the entry list that run in it; else the one of its name",
    ("[[races]]", "field"): 'what [field] says otherwise in it, such as { body = "women" }',
    ("[[races]]", "start"): "what [start] says otherwise in it, such as { front_row = 4 }",
    ("lines", "inside"): "share that takes the inside",
    ("lines", "middle"): "share that takes the middle",
    ("lines", "outside"): "share that takes the outside",
    ("plan", "settle"): "from where the opening eases to race pace",
    ("plan", "sit"): "from where they run a little slower than race pace",
    ("plan", "move"): "from where they run a little faster",
    ("plan", "kick"): "from where all that is left is spent by the finish",
    ("plan", "in_hand"): "metres kept for the finish",
    ("plan", "places"): "which places are wanted",
    ("[[teams]]", "name"): "as the lists write it",
    ("[[teams]]", "box"): "where it stands; a box sheet says so too",
    ("[[teams]]", "ours"): "is it our team?",
    ("[[teams]]", "runners"): "how many run for it",
    ("[[teams]]", "opening"): "how it goes out",
    ("[[teams]]", "line"): "which line it takes at every turn",
    (
        "[[teams]]",
        "lines",
    ): 'turn by turn: { "pump corner" = "outside" }; entry, apex and exit apart as a list '
    'of three; at a narrowing "left" or "right"; "own" at a checkpoint keeps the own place up to there',
    ("[[teams]]", "pull"): "the same for this team",
    ("[[teams]]", "plan"): "for this team",
    ("[[teams]]", "start"): "how it goes out when they race",
    ("[[teams]]", "front"): "who stands in the front row",
    ("[[teams.people]]", "name"): "as the entry list writes it",
    ("[[teams.people]]", "time"): "the 5 km time; else the list's",
    ("[[teams.people]]", "opening"): "how this runner goes out",
    ("[[teams.people]]", "line"): "which line this runner takes",
    ("[[teams.people]]", "row"): "in which row this runner stands",
    ("[[teams.people]]", "plan"): "for this runner",
    (
        "[[places]]",
        "at",
    ): 'where it is: "hedge gap", "pump corner@2" for its second lap, or metres from the gun',
    ("[[places]]", "name"): "what you call it, if not by that",
    ("[[places]]", "side"): "on which side the thing you see stands",
    ("[[places]]", "see"): "what you see there",
    ("[[places]]", "note"): "what you say of it, in place of the suggestion",
    ("[[places]]", "coach"): "for you alone: on the second screen, and on paper if you ask for it",
    (
        "[[places]]",
        "photo",
    ): "a picture beside the scenario: JPEG, PNG, or HEIC with the extra heic",
    (
        "[[places]]",
        "clip",
    ): "a film (MP4) beside the scenario: up to 12 s of it are shown, else a still",
    ("[[places]]", "clip_from"): "the second of the clip at which it gets there",
    ("[[places]]", "clip_to"): "the second at which it is past",
    ("[[places]]", "view"): "which way the picture looks, seen as you run",
    ("[[places]]", "mind"): 'what to look out for, such as ["low branches", "loose stones"]',
    ("[[places]]", "crowd"): "true where the crowd stands",
    ("[[places]]", "barrier"): "the one side that has a barrier",
}


def page_of() -> str:
    """The whole page, in Markdown. Check: tests/documents/test_grammar.py."""
    parts = [PAGE_HEAD]
    for head, rows in groupby(grammar(), key=lambda row: row.table):
        parts.append(_section(head, list(rows)))
    return "\n".join([*parts, INPUTS_HELP])


def _section(head: str, rows: list[Row]) -> str:
    lines = [
        f"## {HEADS.get(head, head)}",
        "",
        "| key | may be | if left out | says |",
        "|---|---|---|---|",
    ]
    for row in rows:
        allowed = SHORT.get(row.allowed, row.allowed)
        default = "**needed**" if row.default == "needed" else row.default
        lines.append(
            f"| `{row.key}` | {allowed} | {default} | {MEANS.get((row.table, row.key), '')} |"
        )
    return "\n".join([*lines, ""])
