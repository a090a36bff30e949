"""The plan on a page: the sentence, every runner's pay-off, openings by line; and the team's own sheet."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.tactic.orders import OPENINGS
from simrun.answers.tactic.tactic_found import Found
from simrun.answers.tactic.tactic_score import Scored
from simrun.answers.tactic.team_words import not_in_it_words, opening_words
from simrun.answers.tactic.words import (
    READING,
    about_words,
    cost_name,
    grid_words,
    plan_sentence,
    plan_words,
)
from simrun.pages.numbers import mean_and_ends
from simrun.pages.page import Figure, Page, Part, Table, table_of
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import inputs_words
from simrun.pictures.charts.team_sheet import TeamCard

ORDERED = 4
"""So many columns of the team's page are orders: runner, stands, go out, then. The others are places."""

PLACES = "Places in eight races out of ten"
SECONDS = "Seconds lost by our first five, mean and 95 % range"


def page_of(found: Found, payoff: Figure, share: Figure | None) -> Page:
    """Everything about the plan on one page."""
    first = next(iter(found.order.lines), "")
    head = f"Opening by line at {first}" if first else "Opening"
    grid = table_of(_grid_rows(found), f"{head}. {SECONDS}. {grid_words(found)}")
    folded = []
    if share is not None:
        folded.append(Part(f"Inside or outside at {first}", figures=(share,)))
    if found.turns:
        turns = _by_word(found)
        folded.append(Part("The later turns, one by one", tables=(turns,)))
    if len(found.fronts) > 1:
        folded.append(Part("Who stands in the front row", tables=_fronts(found)))
    return Page(
        title=f"{found.team}: what do we do about our box?",
        sentence=plan_sentence(found),
        about=about_words(found),
        first=Part(text=(" ".join(plan_words(found)),), figures=(payoff,), tables=(grid,)),
        folded=tuple(folded),
        notes=(
            racing_words(found.day),
            READING,
            inputs_words(found.day),
            not_in_it_words(found.day),
        ),
    )


def _grid_rows(found: Found) -> list[list[str]]:
    line_words = list(dict.fromkeys(word for _, word in found.grid))
    name = cost_name(found)
    rows = [["go out", *line_words, *(f"{name}, {word}" for word in line_words)]]
    for opening in OPENINGS:
        arms = [found.grid[opening, word] for word in line_words]
        costs = [f"{arm.cost.mean():.0f}" for arm in arms]
        rows.append([opening_words(opening), *(_lost(found, arm) for arm in arms), *costs])
    return rows


def _by_word(found: Found) -> Table:
    """Seconds lost by our first five when only this turn is taken this way."""
    turns = found.turns
    line_words = list(dict.fromkeys(word for _, word in turns))
    rows = [["turn", *line_words]]
    for turn in dict.fromkeys(turn for turn, _ in turns):
        rows.append([turn, *(_lost(found, turns[turn, word]) for word in line_words)])
    return table_of(rows, SECONDS)


def _fronts(found: Found) -> tuple[Table, Table]:
    """What each front row costs our first five, and what each of ours loses in it."""
    whole = [["front row", "our first five lose", cost_name(found)]]
    for words, arm in found.fronts.items():
        whole.append([words, _lost(found, arm), f"{arm.cost.mean():.0f}"])
    single = [["seconds lost by", *found.fronts]]
    for i, name in enumerate(found.names):
        lost = [found.judge(arm.lost_s[:, i, -1]) for arm in found.fronts.values()]
        single.append([name, *map(mean_and_ends, lost)])
    return table_of(whole), table_of(single)


def _lost(found: Found, arm: Scored) -> str:
    return mean_and_ends(found.judge(arm.scorers_lost_s))


def sheet_of(card: TeamCard, sentence: str) -> Page:
    """The team's page, to be printed on one sheet of A4 or Letter: what is ordered, then what to expect."""
    width = len(card.head)
    parts = (
        Part("Line", card.lines),
        Part("Where", card.moves),
        Part(
            "What to expect",
            card.outcome,
            tables=(_columns(card, [0, *range(ORDERED, width)], PLACES),),
        ),
    )
    return Page(
        title=card.title,
        sentence=sentence,
        about=card.box,
        first=Part(tables=(_columns(card, range(ORDERED)),), parts=parts),
        notes=(card.left_out,),
        one_sheet=True,
    )


def _columns(card: TeamCard, numbers: Sequence[int], caption: str = "") -> Table:
    """Some columns of the runners' table, all of words."""
    head, *rows = (tuple(row[n] for n in numbers) for row in (card.head, *card.runners))
    return Table(head, tuple(rows), caption, left=len(numbers))
