"""The layouts for a director: the answer, one picture, two layouts side by side; the rest is folded."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from simrun.answers.layout.charts import CHOSEN, CREW, NOW
from simrun.answers.layout.crew.crew_tables import beside_rows, point_rows, stake_rows
from simrun.answers.layout.crew.crew_words import stake_words
from simrun.answers.layout.layout_found import Found
from simrun.answers.layout.layout_rows import (
    front_rows,
    layout_rows,
    mark_rows,
    place_rows,
    short_rows,
)
from simrun.answers.layout.varied import said
from simrun.answers.layout.words import (
    READING,
    about_words,
    density_words,
    front_words,
    more_words,
    now_words,
    place_words,
    rule_words,
    sentence_of,
    short_caption,
)
from simrun.measure.stakes import StakePlan
from simrun.pages.cautions import CAUTION, LEFT_OUT
from simrun.pages.page import Figure, Page, Part, table_of
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import inputs_words

if TYPE_CHECKING:
    import pandas


def page_of(
    found: Found,
    table: pandas.DataFrame,
    plan: StakePlan,
    pictures: Mapping[str, Figure],
    units: str,
) -> Page:
    """Everything about the layouts on one page."""
    rest = dict(pictures)
    now, chosen, crew = rest.pop(NOW), rest.pop(CHOSEN, None), rest.pop(CREW)
    # What is left are maps, curves and trade-offs; without any the start as it is comes first.
    first, *more = [*rest.values()] or [now]
    starts = () if first is now else (now,)
    short = table_of(short_rows(found, table, units), short_caption(found))
    folded = [
        *_layouts(found, table, tuple(more), units),
        *_search(found, units),
        _now(found, starts, units),
        _crowd(found, units),
        _stakes(found, plan, crew, chosen, units),
    ]
    return Page(
        title=f"{found.scenario.name}: a fair start?",
        sentence=sentence_of(found, units),
        about=about_words(found),
        first=Part(text=tuple(more_words(found, units)), figures=(first,), tables=(short,)),
        folded=tuple(folded),
        notes=(
            racing_words(found.scenario),
            READING,
            inputs_words(found.scenario),
            density_words(),
            LEFT_OUT,
        ),
        caution=CAUTION,
    )


def _now(found: Found, starts: tuple[Figure, ...], units: str) -> Part:
    marks = table_of(mark_rows(found.now))
    return Part("The layout as it is", (now_words(found, units),), starts, (marks,))


def _crowd(found: Found, units: str) -> Part:
    """Place by place, as the line is; the chosen one beside it where there is another."""
    samples = {"as it is": found.now, said(found.chosen()[0], units): found.chosen()[1]}
    tables = (table_of(place_rows(sample), words) for words, sample in samples.items())
    return Part("The crowd, place by place", tables=tuple(tables))


def _layouts(
    found: Found, table: pandas.DataFrame, maps: tuple[Figure, ...], units: str
) -> list[Part]:
    """All layouts of a sweep, and where the dispersion rule expects a queue."""
    if found.sweep is None:
        return []
    tables = tuple(table_of(rows) for rows in layout_rows(found, table, units))
    title = f"Layout by layout, at {place_words(found.at)}"
    parts = [Part(title, (), maps, tables)]
    rule = rule_words(found, table, units)
    return [*parts, Part("Where does a queue form?", (rule,))] if rule else parts


def _search(found: Found, units: str) -> list[Part]:
    if found.searched is None:
        return []
    rows = table_of(front_rows(found, units), left=2)
    words = front_words(found.searched.tried)
    return [Part("Layouts that nothing beats", (words,), tables=(rows,))]


def _stakes(found: Found, plan: StakePlan, crew: Figure, chosen: Figure | None, units: str) -> Part:
    points = table_of(point_rows(plan, units), left=2)
    rows = table_of(stake_rows(plan, units))
    title = f"Stakes: {said(found.chosen()[0], units)}"
    figures = () if chosen is None else (chosen,)
    beside = table_of(beside_rows(found.chosen()[1].day, units), left=2)
    return Part(title, (stake_words(plan, units),), (crew, *figures), (points, rows, beside))
