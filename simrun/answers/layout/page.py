"""The layouts as a director reads them: one page, one table, maps, and a list of stakes."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.boxes.page import STYLE, picture_html, table_html
from simrun.answers.layout.charts import pictures_of
from simrun.answers.layout.knobs import KNOBS, present, said
from simrun.answers.layout.layout_measures import (
    FLOW,
    LayoutSample,
    drawn_share,
    table_of,
    unfairness_s,
    worst_pair,
)
from simrun.answers.layout.run import Answer
from simrun.answers.layout.words import fairest_words, rule_words, search_html
from simrun.base.csv import write_csv
from simrun.base.units import METRES_A_FOOT, length_text
from simrun.base.writing import write_text, written_beside
from simrun.measure.stakes import StakePlan, stake_plan, tape_error_m
from simrun.pages.text import CAUTION, LEFT_OUT, tenths
from simrun.sources import figure
from simrun.trials.statistics import NOTHING_SEEN, Estimate

if TYPE_CHECKING:
    import pandas

READING = (
    "Spread between boxes: the standard deviation between boxes of the mean seconds lost, what so few "
    "races leave in it by chance taken away; 0 is a line on which the box does not matter. Seconds are "
    "lost against the same runner alone from the best box. Worst pair: picked in the first half of the "
    "races, measured in the second. Decided by the draw: the share of the variance of places that the "
    "box alone explains; a team that was given a box stands there in every race, with its own tactics. "
    "Slowed: below half of the wished speed for a second in all, once it had been reached; queueing: "
    "seconds spent so, mean of the field, wherever on the way to the end. Density: the highest over 1 "
    "m2 and 1 s, 10 m off the line or further, mean of the races; most: in one race, and there. Flow: "
    "through the first narrowing in its busiest 10 s. Strung out: from then on at most a tenth of the "
    "field is held below nine tenths of its wished speed. Intervals hold the long-run mean with 95 % "
    "confidence. All layouts meet the same people where the number of teams is the same."
)

DENSITY_BANDS = (
    ("slowed", "slowed from {:g}"),
    ("contact", "involuntary contact from about {:g}"),
    ("force", "dangerous forces from about {:g}"),
)


def density_words() -> str:
    """The published thresholds of density in one sentence, with where they come from."""
    told = [w.format(figure(f"crowd.density_{key}_per_m2").value) for key, w in DENSITY_BANDS]
    flow = figure(FLOW)
    return (
        f"People per square metre: {', '.join(told)} (Fruin, as tabulated by Wirz et al. 2013). These come "
        f"from walking crowds, not from runners. Flow of runners at saturation: {flow.low:.2f} to "
        f"{flow.high:.2f} a second and metre of width (Peckover et al. 2022); below it the narrowing was "
        "not full, or the run-up kept it from filling."
    )


def write_all(answer: Answer, folder: Path) -> list[Path]:
    """Write the table, the pictures, the stakes, and the page with everything."""
    table = table_of(_every(answer))
    values, chosen = answer.chosen()
    plan = stake_plan(chosen.day)
    written = [write_csv(table, folder / "layout.csv")]
    written.append(write_csv(_stake_frame(plan), folder / "stakes.csv"))
    pictures = pictures_of(answer, table)
    for name, _, png in pictures:
        with written_beside(folder / name) as beside:
            beside.write_bytes(png)
        written.append(folder / name)
    shown = {name: picture_html(png, alt) for name, alt, png in pictures}
    body = [*_head(answer), *_now(answer), shown.pop("start_now.png")]
    chosen_start = shown.pop("start_chosen.png", "")
    # What is left are maps, curves and trade-offs.
    body += [*shown.values(), *_sweep(answer, table), *search_html(answer)]
    body += [*_stakes(answer, values, plan), chosen_start, *_foot()]
    title = f"{answer.scenario.name}: the start layout"
    head = f'<meta charset="utf-8"><title>{escape(title)}</title><style>{STYLE}</style>'
    page = (
        f'<!doctype html><html lang="en"><head>{head}</head><body>{"".join(body)}</body></html>\n'
    )
    return [*written, write_text(folder / "layout.html", page)]


def _every(answer: Answer) -> list[tuple[dict[str, float], LayoutSample]]:
    """The present layout first, then what was raced beside it; of a search, the fresh races."""
    now = answer.found.now if answer.found else answer.now
    others = answer.found.front if answer.found else answer.sweep.raced if answer.sweep else []
    standing = present(answer.scenario)
    own = {name: standing[name] for name in answer.ranges if name in standing}
    return [(own, now), *others]


def _head(answer: Answer) -> list[str]:
    parts = [f"<h1>{escape(answer.scenario.name)}: a fair start?</h1>"]
    if answer.scenario.invented:
        parts.append('<p class="note">Invented world.</p>')
    return [*parts, f"<p><b>{escape(CAUTION)}</b></p>"]


def _now(answer: Answer) -> list[str]:
    now, units = answer.now, answer.units
    knobs = ", ".join(
        f"{KNOBS[name].title} {length_text(value, units)}"
        if KNOBS[name].unit == "m"
        else KNOBS[name].said(round(value, 2))
        for name, value in present(answer.scenario).items()
    )
    rows = [
        ["at", "spread between boxes s", "interval", "worst pair", "apart s", "decided by the draw"]
    ]
    for name in now.checkpoints:
        spread, pair = unfairness_s(now, name), worst_pair(now, name)
        share = drawn_share(now, name)
        told = [name, _tenths(spread.mean), ends(spread), f"box {pair.most} against {pair.least}"]
        rows.append([*told, _apart(pair.apart_s), f"{_percent(share.mean)} ({_percents(share)})"])
    return [
        f"<h2>The layout as it is</h2><p>{escape(knobs)}. {len(answer.seeds)} races.</p>",
        table_html(rows, None),
    ]


def _apart(found: Estimate) -> str:
    return f"{tenths(found.mean, '+')} ({ends(found)})" if found.is_seen else NOTHING_SEEN


def _sweep(answer: Answer, table: pandas.DataFrame) -> list[str]:
    if answer.sweep is None:
        return []
    parts = [f"<h2>Layout by layout, at {escape(answer.at)}</h2><p>{fairest_words(answer)}</p>"]
    parts += [table_html(rows, None) for rows in _tables(answer, table)]
    if answer.sweep.unfit:
        told = "; ".join(f"{said(values)}: {why}" for values, why in answer.sweep.unfit[:12])
        parts.append(f"<p>Not raced, because they do not fit: {escape(told)}.</p>")
    if rule := rule_words(answer, table):
        parts.append(f"<h2>Where does a queue form?</h2><p>{escape(rule)}</p>")
    return parts


FAIR = "spread between boxes s|lost s|worst pair|apart s|decided by the draw"
CROWD = "slowed|queueing s|highest density /m2|where|flow /s/m|strung out s"


def _tables(answer: Answer, table: pandas.DataFrame) -> list[list[list[str]]]:
    """Two tables of all layouts, the knobs before each: what is fair, and how the crowd fares."""
    knobs = [f"{KNOBS[name].title} {KNOBS[name].unit}".rstrip() for name in answer.ranges]
    fair, crowd = ([["", *knobs, *head.split("|")]] for head in (FAIR, CROWD))
    for row in table[table.checkpoint == answer.at].to_dict("records"):
        layout = ["as it is" if row["layout"] == 1 else str(int(row["layout"]) - 1)]
        layout += [_plain(float(row.get(name, float("nan")))) for name in answer.ranges]
        fair.append([*layout, *_fair_cells(row)])
        crowd.append([*layout, *_crowd_cells(row)])
    return [fair, crowd]


def _fair_cells(row: dict[Any, Any]) -> list[str]:
    spread, apart = (_interval(row, name) for name in ("unfairness_s", "apart_s"))
    return [
        f"{_tenths(spread.mean)} ({ends(spread)})",
        _tenths(float(row["lost_s"])),
        f"{row['worst_box']} against {row['best_box']}",
        _apart(apart) if apart.is_seen else "none seen",
        _percent(float(row["drawn_share"])),
    ]


def _plain(value: float) -> str:
    return "-" if value != value else f"{value:.2f}".rstrip("0").rstrip(".")


def _interval(row: dict[Any, Any], name: str) -> Estimate:
    """A figure of the table with its interval again."""
    return Estimate(row[name], row[f"{name}_low"], row[f"{name}_high"], int(row["races"]), 1.0)


def _crowd_cells(row: dict[Any, Any]) -> list[str]:
    where = "-"
    if row.get("crowd_density_x_m") == row.get("crowd_density_x_m", ""):
        across = float(row["crowd_density_y_m"])
        side = "left" if across > 0 else "right"
        where = f"{row['crowd_density_x_m']:.0f} m on, {abs(across):.0f} m {side}"
    density = (
        f"{row['crowd_density_per_m2']:.1f} (most {row.get('crowd_density_highest_per_m2', 0):.1f})"
    )
    late, races = row["crowd_still_crowded_races"], row["races"]
    strung = "not yet" if late == races else f"{row['crowd_strung_out_s']:.0f}"
    if 0 < late < races:
        strung += f" ({late} of {races} not)"
    flow = row["crowd_flow_per_s_m"]
    slowed, queue = _percent(float(row["crowd_slowed_share"])), _tenths(float(row["crowd_queue_s"]))
    return [slowed, queue, density, where, "-" if flow != flow else f"{flow:.2f}", strung]


def _stakes(answer: Answer, values: dict[str, float], plan: StakePlan) -> list[str]:
    """What to paint: two pegs, then a stake where two tapes cross."""
    units = answer.units
    ahead, aside = float(plan.left_peg_m[0]), float(plan.left_peg_m[1])
    rows = [
        [
            "stake",
            "tape from the left peg",
            "tape from the right peg",
            "along the line",
            "box to its right faces",
        ]
    ]
    for i, (left, right, along) in enumerate(
        zip(plan.from_left_m, plan.from_right_m, plan.along_m, strict=True)
    ):
        turn = plan.box_turn_deg[i] if i < len(plan.box_turn_deg) else None
        faces = "" if turn is None else _turn_words(float(turn))
        rows.append([str(i + 1), *(tape_text(v, units) for v in (left, right, along)), faces])
    ahead_text, aside_text, slant, bow = (
        tape_text(metres, units)
        for metres in (ahead, aside, float((ahead**2 + aside**2) ** 0.5), plan.bow_m)
    )
    how = (
        f"Peg the middle of the line and sight to the middle of the narrowing. Walk {ahead_text} towards it; "
        f"the left and the right peg stand {aside_text} to either side, square to the sight line: each is "
        f"{slant} from the middle peg. Every stake stands where the two tapes cross, back at the line; left "
        f"and right facing the course. The ends of the line lie {bow} ahead of its middle. Laid out "
        "again from these distances by calculation, no stake is off by more than "
        f"{100 * tape_error_m(plan):.1f} cm."
    )
    title = f"<h2>Stakes: {escape(said(values))}</h2>"
    return [title, f"<p>{escape(how)}</p>", table_html(rows, None)]


def _turn_words(turn_deg: float) -> str:
    if abs(turn_deg) < 0.05:
        return "straight ahead"
    return f"{abs(turn_deg):.1f} degrees to the {'left' if turn_deg > 0 else 'right'}"


def tape_text(metres: float, units: str) -> str:
    """A length as a tape reads it: to the centimetre, or in feet and inches."""
    if units != "us":
        return f"{metres:.2f} m"
    inches = round(metres / METRES_A_FOOT * 24) / 2
    return f"{int(inches // 12)} ft {inches % 12:g} in"


def _stake_frame(plan: StakePlan) -> pandas.DataFrame:
    import numpy as np
    import pandas as pd

    return pd.DataFrame(
        {
            "stake": np.arange(1, len(plan.stake_m) + 1),
            "ahead_m": plan.stake_m[:, 0] + 0.0,
            "left_of_middle_m": plan.stake_m[:, 1],
            "from_left_peg_m": plan.from_left_m,
            "from_right_peg_m": plan.from_right_m,
            "along_m": plan.along_m,
            "box_turn_left_deg": np.append(plan.box_turn_deg, np.nan),
        }
    )


def _foot() -> list[str]:
    told = (READING, density_words(), LEFT_OUT, CAUTION)
    return [f'<p class="note">{escape(text)}</p>' for text in told]


def _tenths(value: float) -> str:
    return "-" if value != value else tenths(value)


def ends(found: Estimate) -> str:
    """An interval in words; endless is a dash."""
    known = abs(found.low) < float("inf") and abs(found.high) < float("inf")
    return f"{tenths(found.low)} to {tenths(found.high)}" if known else "-"


def _percent(share: float) -> str:
    return "-" if share != share else f"{100 * share:.0f} %"


def _percents(found: Estimate) -> str:
    return f"{100 * found.low:.0f} to {100 * found.high:.0f}"
