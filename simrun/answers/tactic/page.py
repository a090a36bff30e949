"""The plan on a page: the sentence, every runner's pay-off, openings by line; and the team's own sheet."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.tactic.order_words import AS_YOU_LIKE
from simrun.answers.tactic.runner_orders import RunnerOrder
from simrun.answers.tactic.search.tactic_score import Scored
from simrun.answers.tactic.tactic_found import Found
from simrun.answers.tactic.team_words import not_in_it_words
from simrun.answers.tactic.words import (
    READING,
    about_words,
    cost_name,
    opened_words,
    plan_sentence,
    plan_words,
    runner_words,
)
from simrun.pages.numbers import mean_and_ends, the_mark
from simrun.pages.page import Figure, Page, Part, Table, table_of
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import inputs_words
from simrun.pictures.charts.team_sheet import TeamCard

ORDERED = 4
"""So many columns of the team's page are orders: runner, stands, go out, then. The others are places."""

PLACES = "Places in eight races out of ten"
SECONDS = "Seconds of our first five at the finish, mean and 95 % range"

Orders = tuple[RunnerOrder, ...]


def page_of(found: Found, orders: Orders, payoff: Figure, share: Figure | None) -> Page:
    """Everything about the plan on one page."""
    first = next(iter(found.order.lines), "")
    at = f"Openings, and lines at {the_mark(first)}" if first else "Openings"
    grid = table_of(_grid_rows(found), f"{at}. {SECONDS}.", left=2)
    folded = [Part("What else was tried, order by order", tables=(_choices(found),))]
    if share is not None:
        folded.append(Part(f"Inside or outside at {first}", figures=(share,)))
    folded.append(Part("Openings and lines", tables=(grid,)))
    if found.turns:
        folded.append(Part("The later turns, one by one", tables=(_by_word(found),)))
    if len(found.fronts) > 1:
        folded.append(Part("Who stands in the front row", tables=_fronts(found)))
    return Page(
        title=f"{found.team}: what do we do about our box?",
        sentence=plan_sentence(found, orders),
        about=about_words(found),
        first=Part(
            text=(*runner_words(orders), " ".join(plan_words(found, orders))), figures=(payoff,)
        ),
        folded=tuple(folded),
        notes=(
            racing_words(found.day),
            READING,
            inputs_words(found.day),
            not_in_it_words(found.day),
        ),
    )


def _choices(found: Found) -> Table:
    """Every order to the team against every other word that was tried."""
    rows = [["order", "chosen", "against", "our first five finish later by, s", ""]]
    for about, choice in found.choices.items():
        for word, later in choice.later.items():
            free = AS_YOU_LIKE if choice.as_you_like else ""
            rows.append([about, str(choice.chosen), str(word), mean_and_ends(later), free])
    return table_of(rows, left=3)


def _grid_rows(found: Found) -> list[list[str]]:
    """A row an opening and line of the whole team, the calmest first."""
    rows = [["all of ours at the stake", "line there", "our first five", cost_name(found)]]
    for opening, word in sorted(found.grid, key=lambda key: key[0]):
        arm = found.grid[opening, word]
        at = opened_words(found, opening)
        rows.append([at, word, _home(found, arm), f"{arm.cost.mean():.0f}"])
    return rows


def _by_word(found: Found) -> Table:
    """Seconds of our first five at the finish when only this turn is taken this way."""
    turns = found.turns
    line_words = list(dict.fromkeys(word for _, word in turns))
    rows = [["turn", *line_words]]
    for turn in dict.fromkeys(turn for turn, _ in turns):
        rows.append([turn, *(_home(found, turns[turn, word]) for word in line_words)])
    return table_of(rows, SECONDS)


def _fronts(found: Found) -> tuple[Table, Table]:
    """What each front row brings our first five, and each of ours."""
    whole = [["front row", "our first five, s at the finish", cost_name(found)]]
    for words, arm in found.fronts.items():
        whole.append([words, _home(found, arm), f"{arm.cost.mean():.0f}"])
    single = [["seconds at the finish", *found.fronts]]
    for i, name in enumerate(found.names):
        home = [found.judge(arm.finish_s[:, i]) for arm in found.fronts.values()]
        single.append([name, *map(mean_and_ends, home)])
    return table_of(whole), table_of(single)


def _home(found: Found, arm: Scored) -> str:
    return mean_and_ends(found.judge(arm.scorers_s))


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
