"""Which races does a study run? Arms by seeds: every arm meets the same people."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from functools import cached_property
from pathlib import PurePath

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.engine.set_back import SetBack
from simrun.scenario.scenario import Scenario

MOST_SEEDS = 1_000_000


@dataclass(frozen=True)
class Plan:
    """The arms of a study by name, and the seeds that each of them is run with.

    Paired: a seed is the same people, reactions and chances in every arm, as far as the arms have
    the same field. watched: name of the one team whose alone-runs are wanted (others get nan), which
    saves about half of the time; None: everybody's. crowd: races are looked at as crowds too,
    place by place. set_back: a team that is late at the gun, by name of the arm;
    such an arm has no alone-runs. at_marks: where across the course every mark is passed is kept, and no
    alone-run is run. from_best: only the alone-runs from the best box are run. Raises BadInput.
    """

    arms: dict[str, Scenario]
    seeds: tuple[int, ...]
    watched: str | None = None
    crowd: bool = False
    set_back: Mapping[str, SetBack] = field(default_factory=dict)
    at_marks: bool = False
    from_best: bool = False

    def __post_init__(self) -> None:
        if not self.arms:
            raise BadInput(Problem("arms", "none", "a study needs at least one arm"))
        if not 0 < len(set(self.seeds)) == len(self.seeds) <= MOST_SEEDS or min(self.seeds) < 0:
            allowed = "different whole numbers from 0, at least one"
            raise BadInput(Problem("seeds", f"{str(self.seeds)[:60]}", allowed))
        for name, scenario in self.arms.items():
            teams = [team.name for team in scenario.teams]
            if self.watched is not None and self.watched not in teams:
                near = nearest_word(self.watched, teams)
                found = f"no team {self.watched!r} in arm {name!r}"
                raise BadInput(Problem("watched", found, "a team of every arm", near))

    @cached_property
    def digests(self) -> dict[str, str]:
        """The short name of every arm in a store; arms that say the same share it."""
        return {
            name: digest_of(
                arm,
                self.watched,
                self.crowd,
                self.set_back.get(name),
                self.at_marks,
                self.from_best,
            )
            for name, arm in self.arms.items()
        }

    @cached_property
    def texts(self) -> dict[str, str]:
        """What every arm says, by its digest; two arms that say the same are run once."""
        return {
            self.digests[name]: text_of(arm, self.set_back.get(name), self.at_marks, self.from_best)
            for name, arm in self.arms.items()
        }

    def races(self) -> Iterator[tuple[str, int]]:
        """Every race as (digest, seed), all arms of a seed before the next seed.

        So a study that is stopped half-way has all arms equally far.
        """
        for seed in self.seeds:
            for digest in self.texts:
                yield digest, seed

    def __len__(self) -> int:
        return len(self.seeds) * len(self.texts)


def text_of(
    scenario: Scenario,
    set_back: SetBack | None = None,
    at_marks: bool = False,
    from_best: bool = False,
) -> str:
    """What an arm says, the same text wherever its file lies and however it was made."""
    whole = json.loads(scenario.raced_json())
    whole["file"] = PurePath(whole["file"]).name
    if set_back is not None:
        whole["set_back"] = asdict(set_back)
    if at_marks:
        whole["at_marks"] = True
    if from_best:
        whole["from_best"] = True
    return json.dumps(whole, sort_keys=True, ensure_ascii=False, allow_nan=False)


def digest_of(
    scenario: Scenario,
    watched: str | None = None,
    crowd: bool = False,
    set_back: SetBack | None = None,
    at_marks: bool = False,
    from_best: bool = False,
) -> str:
    """A short name for what an arm says, for whom it watches and whether it looks at crowd or marks."""
    told = json.loads(text_of(scenario, set_back, at_marks, from_best))
    del told["file"]
    text = json.dumps([told, watched, *(["crowd by place"] if crowd else [])], ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:24]
