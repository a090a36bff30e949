"""The plan that was found for a team, and its files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.tactic.charts import payoff_chart, share_chart
from simrun.answers.tactic.page import page_of, sheet_of
from simrun.answers.tactic.runner_orders import RunnerOrder, orders_table, runner_orders
from simrun.answers.tactic.search.tactic_steps import usual_race
from simrun.answers.tactic.tactic_found import Found, choices_table, rivals_table, tactic_table
from simrun.answers.tactic.team_words import team_card
from simrun.answers.tactic.words import (
    OUTSIDE,
    RING,
    plan_sentence,
    sheet_sentence,
    terminal_words,
    text_of,
)
from simrun.answers.to_watch import to_watch
from simrun.base.csv import write_csv
from simrun.base.writing import write_bytes
from simrun.measure.left_out import LeftOut
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.pages.sure_words import sure_figures
from simrun.pictures.charts.sheet_paper import PAPERS
from simrun.pictures.charts.team_sheet import TeamCard, team_pdf
from simrun.scenario.in_text.toml_file import write_scenario
from simrun.scenario.scenario import Scenario
from simrun.trials.usual_pair import record_pair

if TYPE_CHECKING:
    import pandas

STORE = "tactic_races.db"


@dataclass(frozen=True)
class TacticResult(OfRaces):
    """A team's plan and everything that was tried. story: is one usual race of best and worst recorded?"""

    day: Scenario
    found: Found
    folder: Path
    units: str
    story: bool = False
    left_out: LeftOut | None = None

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """tactic_orders: a row a runner; tactic_choices: an order and what else was tried; tactic_rivals: an
        opening of the others; tactic: a step, arm, runner and checkpoint.
        """
        return {
            "tactic_orders": orders_table(self.orders),
            "tactic_choices": choices_table(self.found),
            "tactic_rivals": rivals_table(self.found),
            "tactic": tactic_table(self.found),
        }

    @cached_property
    def orders(self) -> tuple[RunnerOrder, ...]:
        """Everybody's orders in plain figures, front row first."""
        return runner_orders(self.found)

    @property
    def plan_day(self) -> Scenario:
        """The race day with the plan on paper."""
        return self.found.plan_day

    @property
    def sentence(self) -> str:
        """The plan: who stands in front, seconds at the stake, which line, where to sit and go."""
        return plan_sentence(self.found, self.orders)

    @property
    def text(self) -> str:
        """The plan, how sure it is, what would change it, and what its ranges cover."""
        return terminal_words(self.found, self.orders)

    @property
    def figures(self) -> Mapping[str, Any]:
        """The plan by its parts, what it saves, and over how many races."""
        gain = self.found.gain.found
        return {
            "team": self.found.team,
            "plan": text_of(self.found, self.orders),
            "front_row": list(self.found.order.front),
            "openings": {one.runner: one.told_s for one in self.orders},
            "lines": dict(self.found.order.lines),
            "sit": self.found.order.stages.sit,
            "go": self.found.order.stages.go,
            "as_you_like": [about for about, c in self.found.choices.items() if c.as_you_like],
            "saved_s": sure_figures(gain),
            "races": len(self.found.seeds),
            "fresh_races": len(self.found.fresh_seeds),
        }

    @cached_property
    def card(self) -> TeamCard:
        """The team's page as text."""
        return team_card(self.found, self.orders, self.units)

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """The tables as CSV, payoff.png, tactic.html, the team's page as HTML and PDF, and the day with the
        plan on paper as plan.toml with the lists that it names; with a story better.npz and worse.npz.
        tactic_races.db stands there already.
        """
        where = Path(folder) if folder else self.folder
        payoff, share = self.pictures()
        sheet = sheet_of(self.card, sheet_sentence(self.found))
        written = [write_csv(table, where / f"{name}.csv") for name, table in self.tables.items()]
        written += [
            write_bytes(where / "payoff.png", payoff.png),
            write_page(
                page_of(self.found, self.orders, payoff, share).noting(self.foot),
                where / "tactic.html",
            ),
            write_page(sheet, where / "team.html"),
            *write_scenario(self.plan_day, where / "plan.toml"),
        ]
        for paper in PAPERS:
            path = where / f"team_{paper.lower()}.pdf"
            written.append(write_bytes(path, team_pdf(self.card, paper)))
        written.append(self.folder / STORE)
        return written + (
            record_pair(*usual_race(self.found), where, progress) if self.story else []
        )

    def picture(self) -> Figure:
        """Every runner's pay-off."""
        return self.pictures()[0]

    def pictures(self) -> tuple[Figure, Figure | None]:
        """Every runner's pay-off; inside minus outside where the course turns."""
        team = self.found.team
        chart = payoff_chart(self.found, f"{team}: what going out harder buys at the finish")
        payoff = to_watch(Figure(chart, "Pay-off curve of every runner", RING), self.found.day)
        if not self.found.by_share:
            return payoff, None
        shares = share_chart(self.found.inside_minus_outside(), f"{team}: inside or outside?")
        alt = "Inside minus outside by the share of the field inside"
        first = next(iter(self.found.order.lines))
        return payoff, to_watch(Figure(shares, alt, OUTSIDE), self.found.day, first)
