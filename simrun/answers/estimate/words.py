"""The estimate in words."""

from __future__ import annotations

from dataclasses import dataclass

from simrun.answers.estimate.lessons import Lessons
from simrun.base.units import METRES_A_YARD
from simrun.pages.cautions import CAUTION
from simrun.pages.text import table_text
from simrun.trials.handbook.estimate_model import Costs, EstimateModel
from simrun.trials.handbook.told_figures import ToldFigures

MARK_WORDS = ("by the throat", "behind the first turn", "at 1 km")

UNKNOWN_WORDS = {
    "abreast": "how many stand abreast",
    "offset_m": "how far the throat is off the middle",
    "turn_after_m": "how far behind the throat the first turn is",
    "right": "which way it goes",
    "turn_deg": "how sharp it is",
    "turn_m": "how wide it is",
    "radius_m": "post or bend",
    "mean_s": "how fast the field is",
    "spread_s": "how far apart its times lie",
    "start": "how it goes out",
}

RANGE_WORDS = {
    "width_m": "the line's width",
    "box_m": "the width of a box",
    "runners": "runners in a box",
    "straight_m": "the straight",
    "throat_m": "the throat's width",
    "turn_after_m": "the way from the throat to the turn",
    "turn_deg": "the turn's angle",
    "turn_share": "the turn's width as a share of the throat's",
    "radius_m": "the turn's inside radius",
    "mean_s": "the field's mean 5 km time in seconds",
    "spread_s": "the spread of its times in seconds",
    "field": "runners in all",
    "throat_share": "the throat's width as a share of the line's",
}

OWN_RACE = (
    "An estimate is for a line of which you know a few figures. A course that is drawn, or written down "
    "piece by piece, is worth its own race: simrun boxes FILE."
)
HELD = (
    "Held fixed: flat grass without wind, men's bodies, the whole line is boxes, one narrowing, one turn and "
    "straight ground behind it. Sampled were fields with a mean 5 km time of 16:00 to 24:00 and a standard "
    "deviation of 20 to 160 s, in fast ones of up to 90 s; a girls' field is told by its times, but with "
    "the wider shoulders of men. What nobody has measured of runners is carried along within its range."
)
OTHER_ENGINE = (
    "The races behind it were run with an earlier state of the program; "
    "a race of today may differ a little."
)
AGAINST = (
    "Against the average box of the line, whoever stands in it: below 0 is gained. In brackets: nine of ten "
    "such lines have a mean cost between these."
)


@dataclass(frozen=True)
class Estimated:
    """What is to be said: the figures, our box, every box's costs."""

    told: ToldFigures
    box: int
    costs: Costs
    units: str
    same_engine: bool
    model: EstimateModel


def sentence_of(said: Estimated) -> str:
    """What our box costs, and whether that can be told from nothing."""
    first, turn, last = (_cost(said, mark) for mark in range(3))
    begin = f"From box {said.box} of {said.told.boxes} you {first} {MARK_WORDS[0]} against the average box"
    whole = f"{begin}; {MARK_WORDS[1]} you {turn}, and {MARK_WORDS[2]} you {last}."
    if said.told.outside:
        return f"Outside what was sampled, so do not rely on it: {whole[0].lower()}{whole[1:]}"
    return whole


def _cost(said: Estimated, mark: int) -> str:
    at = said.box - 1
    seconds, half = said.costs.values["cost_s"][at, mark], said.costs.half["cost_s"][at, mark]
    places = round(float(said.costs.values["cost_places"][at, mark]))
    return f"{seconds_words(seconds, half)} and {places_words(places, seconds)}"


def seconds_words(seconds: float, half: float) -> str:
    """Lost or gained, with the range: "lose about 1.4 s (0.2 to 3.1)"."""
    shown, low, high = (round(v, 1) + 0.0 for v in (seconds, seconds - half, seconds + half))
    verb = "gain" if shown < 0 else "lose"
    if low < 0 < high:
        ends = f"{-low:.1f} gained to {high:.1f} lost"
    elif verb == "gain":
        ends = f"{-high:.1f} to {-low:.1f}"
    else:
        ends = f"{low:.1f} to {high:.1f}"
    if shown == 0:
        return f"lose next to nothing ({ends})"
    return f"{verb} about {abs(shown):.1f} s ({ends})"


def places_words(places: int, seconds: float) -> str:
    """So many places, with their own verb where they go the other way."""
    if places == 0:
        return "no place"
    word = "place" if abs(places) == 1 else "places"
    gained = round(seconds, 1) < 0
    if (places < 0) == gained:
        return f"{abs(places)} {word}"
    return f"{'gain' if places < 0 else 'lose'} {abs(places)} {word}"


def outside_words(said: Estimated) -> str:
    """Which figures were never tried; empty where all were."""
    parts = [
        f"{RANGE_WORDS[name]} {_value(name, value, said.units)} "
        f"({_value(name, low, said.units)} to {_value(name, high, said.units)} was sampled)"
        for name, value, low, high in said.told.outside
    ]
    return f"Outside what was sampled: {'; '.join(parts)}." if parts else ""


def unknown_words(said: Estimated) -> str:
    """What was not told; empty where everything was."""
    unknown = [UNKNOWN_WORDS[name] for name in said.told.unknown]
    return f"Not told, and carried along in every range: {', '.join(unknown)}." if unknown else ""


def _value(name: str, value: float, units: str) -> str:
    if not name.endswith("_m"):
        return f"{value:.3g}"
    return f"{value / METRES_A_YARD:.3g} yd" if units == "us" else f"{value:.3g} m"


def made_of_words(model: EstimateModel) -> str:
    """What the model was fitted to, and how far off it was on lines that it never saw."""
    races = model.content["about"]["races"]
    seconds = [row for row in model.content["judged"] if row["what"] == "cost_s"]
    off = [
        f"{row['mean_error']:.1f} s {word}" for row, word in zip(seconds, MARK_WORDS, strict=True)
    ]
    cover = [100 * row["cover"] for row in seconds]
    return (
        f"A small model, fitted to {races['fit']:,} simulated races and judged by {races['judge']:,} others "
        f"on lines that it never saw: its mean error there is {off[0]}, {off[1]} and {off[2]}, and its "
        f"nine-in-ten ranges hold {min(cover):.0f} to {max(cover):.0f} of a hundred boxes."
    )


def rows_of(said: Estimated) -> list[list[str]]:
    """Every box: seconds with their range, and places, at the three marks."""
    rows = [["box"]]
    for word in ("throat", "turn", "1 km"):
        rows[0] += [f"{word}, s", "range", "places"]
    for at in range(said.told.boxes):
        row = [f"{at + 1}{' ours' if at + 1 == said.box else ''}"]
        for mark in range(3):
            s, half = said.costs.values["cost_s"][at, mark], said.costs.half["cost_s"][at, mark]
            places = round(float(said.costs.values["cost_places"][at, mark])) + 0
            row += [f"{round(s, 1) + 0.0:.1f}", f"({s - half:.1f} to {s + half:.1f})", f"{places}"]
        rows.append(row)
    return rows


def text_of(said: Estimated) -> str:
    """The sentence, what it does not know, every box, the caution."""
    parts = [
        sentence_of(said),
        outside_words(said),
        unknown_words(said),
        table_text(rows_of(said)),
        AGAINST,
        HELD,
        OWN_RACE,
        made_of_words(said.model),
        "" if said.same_engine else OTHER_ENGINE,
        CAUTION,
    ]
    return "\n\n".join(part for part in parts if part)


LESSONS_TITLE = "What the handbook teaches"
LESSONS_ALT = (
    "Bars with ranges: how far boxes lie apart at 1 km by line width over straight and by throat width, "
    "and what is left at 1 km of a loss at the throat"
)
LESSONS_NO_ARC = (
    "An arc: not sampled, so nothing is said of it here. "
    "simrun layout FILE --vary arc=straight,arc asks it of one line."
)


def lesson_labels(lessons: Lessons) -> tuple[list[list[str]], list[str]]:
    """What stands under the bars and above the panels of the chart."""
    labels = []
    for thirds, unit in zip(lessons.apart, ("", " m"), strict=True):
        low, high = (f"{value:.2g}{unit}" for value in thirds.meet)
        labels.append([f"below {low}", "between", f"above {high}"])
    labels.append(["seconds", "places"])
    titles = [
        "between boxes at 1 km, s, by line width / straight",
        "between boxes at 1 km, s, by throat width",
        "left at 1 km of one lost at the throat",
    ]
    return labels, titles


def lesson_sentence(lessons: Lessons) -> str:
    """The headline: places come back, seconds do not."""
    places, seconds = lessons.kept_places, lessons.kept_seconds
    return (
        f"Of ten places that a box costs at the throat {10 * places.value:.0f} "
        f"({10 * places.low:.1f} to {10 * places.high:.1f}) are still lost at 1 km; a second has grown "
        f"to {seconds.value:.1f} s ({seconds.low:.1f} to {seconds.high:.1f})."
    )


def lesson_words(lessons: Lessons) -> list[tuple[str, str]]:
    """Every lesson with its range, and how it would be proved wrong."""
    ratio, throat = lessons.apart
    outside = lessons.outside_s
    least, most = ratio.apart_s[0], ratio.apart_s[2]
    narrow, wide = throat.apart_s[0], throat.apart_s[2]
    return [
        (
            "A wide line before a short straight is costly: where the line is wider than "
            f"{100 * ratio.meet[1]:.0f} % of the straight, boxes lie {most.value:.1f} s "
            f"({most.low:.1f} to {most.high:.1f}) apart at 1 km (one standard deviation); below "
            f"{100 * ratio.meet[0]:.0f} % it is {least.value:.1f} s ({least.low:.1f} to {least.high:.1f}).",
            "Proved wrong if teams of like strength, drawn into boxes by lot, lie as far apart at 1 km "
            "on long straights as on short ones.",
        ),
        (
            f"So is a narrow throat: below {throat.meet[0]:.0f} m it is {narrow.value:.1f} s "
            f"({narrow.low:.1f} to {narrow.high:.1f}), above {throat.meet[1]:.0f} m {wide.value:.1f} s "
            f"({wide.low:.1f} to {wide.high:.1f}).",
            "Proved wrong if widening a throat from one year to the next leaves the spread between boxes "
            "as it was.",
        ),
        (
            "It often pays to stand outermost: of a hundred such boxes "
            f"{100 * lessons.outside_gains:.0f} gain on the average box by 1 km. On the middle line they "
            f"gain {-outside.value:.1f} s; on nine of ten lines it is between {-outside.low:.1f} s gained "
            f"and {outside.high:.1f} s lost, the chance of few races included. A likely reason, not tested "
            "here: they have a neighbor on one side only.",
            "Proved wrong if over many starts with a drawn order the outermost teams pass the throat "
            "behind their neighbors as often as before them.",
        ),
        (
            f"Places come back, seconds do not: by 1 km {10 * (1 - lessons.kept_places.value):.0f} of ten "
            "places are won back, but the loss in seconds has grown on the way through the throat and the "
            "first turn. A likely reason, not tested here: whoever is behind there waits longer.",
            "Proved wrong if split times show teams from costly boxes running the stretch from the throat "
            "to 1 km faster than teams of like strength from cheap ones.",
        ),
    ]


def lessons_about(lessons: Lessons) -> str:
    """Of how many days, and what the ranges are."""
    return (
        f"{lessons.days} invented lines, {lessons.races:,} simulated races, nothing measured. In brackets: "
        f"the 90 % range over lines; what is left of a loss is counted on the {lessons.judged} lines with "
        "most races."
    )
