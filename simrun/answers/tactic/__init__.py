"""What do we do about our box?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, SCENARIO, WORKERS, at_least, seeds, whole_number

FEWEST_FRESH = 5
"""As `trials.stopping.FEWEST_SEEDS`, which is not read here: it brings the statistics with it."""


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.tactic.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="tactic",
    question="many races: everybody's seconds at the first stake, which line, who stands in front",
    about="Tries openings, lines, front rows and moves for one team, to the finish and against others who go "
    "out calmer or harder, and writes tactic.html, tactic_orders.csv, tactic_choices.csv, "
    "tactic_rivals.csv, tactic.csv, payoff.png, the plan on paper as plan.toml, and the team's page as "
    "team.html, team_a4.pdf and team_letter.pdf. If you stop it and run it again, it picks up where it left "
    "off.",
    options=(
        SCENARIO,
        Option("--team", "whose plan (default: our team)", str, None, "NAME"),
        seeds(12, "how many races the plan is chosen with"),
        Option(
            "--fresh",
            "at most so many fresh races to check it with (default 40)",
            at_least(FEWEST_FRESH),
            40,
            "N",
        ),
        Option(
            "--story",
            "also record one usual race of the best and of the worst plan, for replay --beside",
            switch=True,
        ),
        Option(
            "--trials",
            "how many plans to search, every turn by itself (default 0)",
            whole_number,
            0,
            "N",
        ),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=50,
)
