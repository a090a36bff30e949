"""The sheet in words: plain functions from its records, each giving one sentence or one short text."""

from __future__ import annotations

import math
from collections.abc import Sequence

from simrun.answers.sheet.sheet_marks import AT_M, GUN, SheetMark
from simrun.answers.sheet.sheet_records import Band, Near, Seen, SheetFigures, Stand, Stretch, Told
from simrun.base.units import METRES_A_YARD, length_text
from simrun.measure.passing import CHOOSE, MOVE, SIT
from simrun.measure.squad.where_to_be import COSTS_S, Narrow
from simrun.measure.squad.with_whom import NEAR_M
from simrun.pages.cautions import NOT_IN_IT
from simrun.pages.numbers import DASH, tenths, the_mark, whole, whole_clock
from simrun.pages.sure_words import short_inputs_words
from simrun.runners.line_choice import CHOICES

TO = "\N{EN DASH}"
ALWAYS_SHARE = 0.5
MOST_NEEDS = 2
MOST_RIVALS = 3

STAGE_WORDS = {
    "settle": "Settle to race pace",
    "sit": "Sit",
    "move": "Move up",
    "kick": "Go",
}
GROUND_WORDS = {
    SIT: "Sit, little room: {} in 10 faster runners get by",
    MOVE: "Room to move: {} in 10 faster runners get by",
    CHOOSE: "Pass one at a time: {} in 10 faster runners get by",
}
HEADS = ("Mark by mark: time, range, place", "Nearest of ours, {}, rivals near")
MARK_BY_MARK, TOGETHER = "Mark by mark", "Who runs with whom"
BEFORE, RECALL, PARENTS = "Before the gun", "Recall", "Parents"


def title_of(figures: SheetFigures) -> str:
    """Whose sheet is it, and of which race?"""
    return f"{figures.stand.team}: {figures.day.name}"


def sentence_of(figures: SheetFigures) -> str:
    """The plan in one sentence: the box, where to be, and where the plan says to sit, move and go."""
    box = f"Box {figures.stand.box}" if figures.stand.box else "Box still to be drawn"
    units = figures.units
    needs = [told for told in figures.marks if told.free_place][:MOST_NEEDS]
    begun = [
        (told, stage)
        for told in figures.marks
        for stage, who in told.mark.stages
        if len(who) == len(figures.stand.who)
    ]
    later = [(told, stage) for told, stage in begun if stage != "settle"] or begun
    said = [(told.mark.at_m, _need_words(told, units)) for told in needs]
    said += [
        (told.mark.at_m, f"{STAGE_WORDS[stage].lower()} {at_mark_words(told.mark, units)}")
        for told, stage in later
    ]
    words = [text for _, text in sorted(said, key=lambda each: each[0])]
    if not any(told.free_place for told in figures.marks):
        words.append("where to be before it closes down, these races cannot tell")
    return f"{box}: {'; '.join(words)}."


def _need_words(told: Told, units: str) -> str:
    return f"be in {_first(told)} {at_mark_words(told.mark, units)}"


def _first(told: Told) -> str:
    """ "the first 20", by the careful end of the range."""
    assert told.free_place
    return f"the first {whole(told.free_place.low)}"


def at_mark_words(mark: SheetMark, units: str) -> str:
    """ "at the hay wagon", "25 m before the hedge gap"."""
    if abs(mark.off_m) <= AT_M:
        return f"at {the_mark(mark.name)}"
    return mark_words(mark, units)


def mark_words(mark: SheetMark, units: str) -> str:
    """What is seen: "hay wagon", or so far before or after it."""
    if abs(mark.off_m) <= AT_M:
        return mark.name
    way = "after" if mark.off_m > 0 else "before"
    return f"{length_text(abs(mark.off_m), units)} {way} {the_mark(mark.name)}"


def place_words(mark: SheetMark, units: str) -> str:
    """What is seen, and how far it is from the gun."""
    words = mark_words(mark, units)
    return words if mark.kind == GUN else f"{words} ({length_text(mark.at_m, units)})"


def box_words(stand: Stand) -> str:
    """Where the team stands."""
    if stand.box is None:
        return "The box is still to be drawn."
    beside = [
        f"{name} on the {side}"
        for name, side in ((stand.left, "left"), (stand.right, "right"))
        if name
    ]
    more = f"; {' and '.join(beside)}" if beside else ""
    return f"Box {stand.box}, counted from the left facing the course{more}."


def ahead_words(stand: Stand, units: str) -> str:
    """What they run to, and how far it lies aside of straight ahead."""
    if not stand.ahead:
        return ""
    far = length_text(stand.ahead_m, units)
    if math.isnan(stand.aside_m) or abs(stand.aside_m) < 1.0:
        return f"{the_mark(stand.ahead)[0].upper()}{the_mark(stand.ahead)[1:]}: {far} ahead."
    side = "left" if stand.aside_m > 0 else "right"
    name = the_mark(stand.ahead)
    aside = length_text(abs(stand.aside_m), units)
    return f"{name[0].upper()}{name[1:]}: {far} ahead, {aside} to your {side}."


def rows_of(stand: Stand) -> tuple[tuple[str, ...], ...]:
    """The names row by row, the front row first and each from the left."""
    rows: dict[int, list[tuple[int, str]]] = {}
    for who in stand.who:
        rows.setdefault(who.row, []).append((who.file, who.short))
    return tuple(tuple(name for _, name in sorted(rows[row])) for row in sorted(rows))


ROW_NAMES = ("Front row", "Second row", "Third row", "Fourth row")


def recall_words(stand: Stand) -> str:
    """After a recall everybody stands where they stood."""
    said = []
    for number, row in enumerate(rows_of(stand)):
        name = ROW_NAMES[number] if number < len(ROW_NAMES) else f"Row {number + 1}"
        said.append(f"{name}: {', '.join(row).removesuffix('.')}.")
    return f"Walk back and stand as before, from the left. {' '.join(said)}"


def seen_words(seen: Seen, units: str) -> str:
    """Where somebody sees the team twice, and when."""
    begins, ends = whole_clock(seen.first_from_s), whole_clock(seen.first_to_s)
    first = f"{at_mark_words(seen.first, units)} from {begins} to {ends}"
    second = f"from {whole_clock(seen.second_from_s)} to {whole_clock(seen.second_to_s)}"
    if seen.walk_m == 0:
        return (
            f"Stand {first}; from the same spot again {second} ({mark_words(seen.second, units)})."
        )
    walk = length_text(seen.walk_m, units)
    return f"Stand {first}, then walk about {walk}: {at_mark_words(seen.second, units)} {second}."


NOT_ALONE = "Nobody is alone on any stretch, and no rival stays near."
NOT_SEEN = (
    "No two marks are near enough on foot to see them twice between the start and the finish."
)


def free_words(told: Told) -> str:
    """Where to be at this mark, or what it costs; empty where it cannot be told."""
    if told.free_place is None or told.piece is None:
        return ""
    band = told.free_place
    low, high = whole(band.low), whole(band.high)
    spread = "" if low == high else f" ({low} to {high} from race to race)"
    piece = the_mark(piece_words(told.piece))
    return f"Be in {_first(told)}{spread}, or lose {COSTS_S:.0f} s or more at {piece}."


def piece_words(piece: Narrow) -> str:
    """The narrow piece by name, with its lap from the second on."""
    return piece.name + (f", lap {piece.lap}" if piece.lap > 1 else "")


def line_words(told: Told, figures: SheetFigures) -> str:
    """Which line the plan takes at the turns from here to the next mark."""
    turns: dict[tuple[str, tuple[int, ...]], list[str]] = {}
    for turn, word, who in told.lines:
        turns.setdefault((word, who), []).append(the_mark(turn))
    said = []
    for (word, who), names in turns.items():
        line = (
            word if word in CHOICES else f"{length_text(float(word), figures.units)} off the inside"
        )
        said.append(f"{_whom(who, figures)}{line} at {_listed(names)}")
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}." if text else ""


def _whom(who: Sequence[int], figures: SheetFigures) -> str:
    """ "Maris and Ara ", or nothing where it is everybody."""
    stand = figures.stand
    if len(who) == len(stand.who):
        return ""
    return f"{_listed([stand.who[i].short for i in who])} "


def _listed(words: Sequence[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def stage_words(told: Told, figures: SheetFigures) -> str:
    """What the plan begins at this mark."""
    said = []
    for stage, who in told.mark.stages:
        whom = _whom(who, figures).strip()
        said.append(f"{STAGE_WORDS[stage]}{f': {whom}' if whom else ''}.")
    return " ".join(said)


def ground_words(told: Told) -> str:
    """Is there room to pass from here to the next mark?"""
    passing = told.passing
    if told.mark.kind == GUN or passing is None or passing.word not in GROUND_WORDS:
        return ""
    said = GROUND_WORDS[passing.word].format(whole(10 * passing.open_share))
    told_to_sit = passing.word == SIT and any(stage == "sit" for stage, _ in told.mark.stages)
    return f"{said.replace('Sit, little', 'Little') if told_to_sit else said}."


def said_of(told: Told, figures: SheetFigures) -> tuple[str, ...]:
    """Everything that is said at one mark: where to be, what the plan begins, the line, the room."""
    begins = "Go out." if told.mark.kind == GUN else stage_words(told, figures)
    does = " ".join(
        part for part in (begins, line_words(told, figures), ground_words(told)) if part
    )
    return tuple(part for part in (free_words(told), does) if part)


def time_words(band: Band) -> tuple[str, str]:
    """The middle time at a mark, and its range: "18.4" and "17.9-19.2", "1:42" and "1:39-45"."""
    low, high = _race_time(band.low), _race_time(band.high)
    if low == high or DASH in (low, high):
        return _race_time(band.middle), ""
    same_minute = ":" in low and low.split(":")[0] == high.split(":")[0]
    return _race_time(band.middle), f"{low}{TO}{high.split(':')[1] if same_minute else high}"


def _race_time(seconds: float) -> str:
    """To the tenth below a minute, from there on minutes and whole seconds."""
    return tenths(seconds) if round(seconds, 1) < 60 else whole_clock(seconds)


def whole_band(band: Band) -> str:
    """A range of whole numbers, or the one number."""
    low, high = whole(band.low), whole(band.high)
    return low if low == high else f"{low}{TO}{high}"


def mark_cells(told: Told) -> tuple[tuple[str, ...], ...]:
    """Time, its range and the place of each of ours at one mark."""
    return tuple(
        (*time_words(time), whole_band(place))
        for time, place in zip(told.time_s, told.place, strict=True)
    )


def stretch_words(stretch: Stretch, units: str) -> str:
    """From where to where."""
    return f"{mark_words(stretch.first, units)} to {mark_words(stretch.last, units)}"


def near_cell(near: Near, stand: Stand, units: str) -> tuple[str, ...]:
    """The nearest of ours, how far ahead or behind, and how many rivals are near."""
    rivals = whole_band(near.rivals)
    if near.mate is None:
        return (DASH, "", rivals)
    return (stand.who[near.mate].short, gap_words(near, units), rivals)


def gap_words(near: Near, units: str) -> str:
    """How far the nearest of ours is, in whole metres or yards."""
    low, high = (length_whole(at, units) for at in (near.mate_m.low, near.mate_m.high))
    return low if low == high else f"{low}{TO}{high}"


def heads_of(units: str) -> tuple[str, str]:
    """What stands over the two blocks of rows."""
    return HEADS[0], HEADS[1].format("yards" if units == "us" else "metres")


def length_whole(metres: float, units: str) -> str:
    """Whole metres or yards, without the unit."""
    return whole(metres / METRES_A_YARD if units == "us" else metres)


def alone_words(stretch: Stretch, figures: SheetFigures) -> tuple[str, ...]:
    """Who is alone on this stretch, and whom they look for."""
    said = []
    for near in stretch.near:
        if near.alone_races < ALWAYS_SHARE * figures.races or not near.alone_races:
            continue
        name = figures.stand.who[near.runner].short
        often = f"{near.alone_races} of {figures.races} races"
        said.append(f"{name} alone in {often}: look for {_look_for(near, figures)}.")
    return tuple(said)


def _look_for(near: Near, figures: SheetFigures) -> str:
    units = figures.units
    far = "" if math.isnan(near.look_m.middle) else f", {_far(near.look_m, units)} ahead"
    if near.look_for.startswith("#"):
        return f"{figures.stand.who[int(near.look_for[1:])].short}{far}"
    if near.look_for:
        return f"{near.look_for}{far}"
    return f"the next runner{far}" if far else "the clock: nobody is ahead"


def _far(band: Band, units: str) -> str:
    low, high = (length_whole(at, units) for at in (band.low, band.high))
    unit = "yd" if units == "us" else "m"
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def rival_words(stretch: Stretch, figures: SheetFigures) -> str:
    """Who of other teams is near whom, where the entry list names them."""
    seen: dict[str, list[str]] = {}
    for near in stretch.near:
        for name in near.rival_names[:MOST_RIVALS]:
            seen.setdefault(name, []).append(figures.stand.who[near.runner].short)
    most = sorted(seen.items(), key=lambda item: -len(item[1]))[:MOST_RIVALS]
    if not most:
        return ""
    return "Rivals near: " + "; ".join(f"{name} with {_listed(ours)}" for name, ours in most) + "."


def near_said(stretch: Stretch, figures: SheetFigures) -> tuple[str, ...]:
    """What stands under the name of a stretch."""
    return tuple(
        part for part in (*alone_words(stretch, figures), rival_words(stretch, figures)) if part
    )


def foot_of(figures: SheetFigures) -> tuple[str, ...]:
    """How the sheet is read, what it rests on, what it leaves out."""
    invented = "Invented world. " if figures.day.invented else ""
    near = length_text(NEAR_M, figures.units) if figures.units == "us" else f"{NEAR_M:.0f} m"
    read = (
        f"Bold: the middle time of {figures.races} simulated races; below it what eight of ten brought; "
        f"then the place. Near is within {near} along the course. Faster runners: they would come past "
        "with nobody in the way."
    )
    return (
        read,
        f"{invented}{unnamed_words(figures)}{short_inputs_words(figures.day)} {NOT_IN_IT}",
    )


def unnamed_words(figures: SheetFigures) -> str:
    """Said where the scenario leaves out some of our names; empty where it has them all."""
    if figures.named:
        return ""
    return (
        "The scenario does not name all of ours: those it leaves out are made up, name and time. "
    )


LEFT_FOR_THE_PHONE = "Not everything fits on this paper; sheet.html and sheet.csv have the rest."


def text_of(figures: SheetFigures) -> str:
    """What a terminal shows: the sentence, where they stand, and every mark with what is said there."""
    units = figures.units
    lines = [
        sentence_of(figures),
        "",
        f"{box_words(figures.stand)} {ahead_words(figures.stand, units)}",
    ]
    for told in figures.marks:
        said = " ".join(said_of(told, figures))
        lines.append(
            f"  {length_text(told.mark.at_m, units):>8}  {mark_words(told.mark, units)}. {said}".rstrip()
        )
    lines += ["", *seen_of(figures)]
    return "\n".join(lines)


def seen_of(figures: SheetFigures) -> tuple[str, ...]:
    """Everything for the parents."""
    return tuple(seen_words(seen, figures.units) for seen in figures.seen) or (NOT_SEEN,)
