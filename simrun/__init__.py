"""Simulates the start of mass-start running races, says what a box and a line cost, and shows it.

>>> import simrun
>>> recording = simrun.race(simrun.read("scenarios/dual_meet.toml"), seed=1)
>>> table = simrun.time_lost(recording)

Questions that need many races have the names of their commands, and give a result with `.sentence`, `.table`,
`.tables`, `.plot()` and `.save()`:

>>> found = simrun.boxes(simrun.read("scenarios/dual_meet.toml"), seeds=4)
>>> found.table.groupby("box")["cost_s"].mean()

A race day is changed by a copy: by named functions (`with_racing(day)`), or by keys of its file
(`day.changed({"start.width": "80 m"})`). `Course` draws one up in code; `Behaviour` is a tactic of one's own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.base.errors import SimrunError
from simrun.base.version import VERSION

if TYPE_CHECKING:
    import pandas

    from simrun.answers.boxes.result import BoxesResult
    from simrun.answers.check.result import CheckResult
    from simrun.answers.estimate.result import EstimateResult
    from simrun.answers.finish.result import FinishResult
    from simrun.answers.layout.result import LayoutResult
    from simrun.answers.sheet.result import SheetResult
    from simrun.answers.side.result import SideResult
    from simrun.answers.tactic.result import TacticResult
    from simrun.answers.whole.brief.result import BriefResult
    from simrun.answers.whole.preview.result import PreviewResult
    from simrun.scenario.changes.changes_course import (
        with_more_checkpoints as with_more_checkpoints,
    )
    from simrun.scenario.changes.changes_inputs import with_inputs as with_inputs
    from simrun.scenario.changes.changes_layout import with_arc as with_arc
    from simrun.scenario.changes.changes_layout import with_straight_line as with_straight_line
    from simrun.scenario.changes.changes_orders import with_rivals_out as with_rivals_out
    from simrun.scenario.changes.changes_people import with_draw_again as with_draw_again
    from simrun.scenario.changes.changes_people import with_field_lines as with_field_lines
    from simrun.scenario.changes.changes_people import with_openings as with_openings
    from simrun.scenario.changes.changes_people import with_racing as with_racing
    from simrun.scenario.changes.changes_people import with_team_placed as with_team_placed
    from simrun.scenario.changes.drawn_up import Course as Course
    from simrun.scenario.scenario import Scenario as Scenario
    from simrun.state.recording import Recording as Recording
    from simrun.tactics.own.behaviour import Behaviour as Behaviour

__version__ = VERSION

__all__ = [
    "Behaviour",
    "Course",
    "Recording",
    "Scenario",
    "SimrunError",
    "animate",
    "boxes",
    "brief",
    "check",
    "estimate",
    "finish",
    "layout",
    "load",
    "preview",
    "race",
    "races",
    "read",
    "save",
    "sheet",
    "side",
    "summary",
    "tactic",
    "time_lost",
    "with_arc",
    "with_behaviour",
    "with_draw_again",
    "with_field_lines",
    "with_inputs",
    "with_more_checkpoints",
    "with_openings",
    "with_racing",
    "with_rivals_out",
    "with_straight_line",
    "with_team_placed",
]

Seeds = int | Iterable[int]
"""How many races, with the seeds 1, 2, ...; or which seeds."""

_ELSEWHERE = {
    "Behaviour": "tactics.own.behaviour",
    "Course": "scenario.changes.drawn_up",
    "Recording": "state.recording",
    "Scenario": "scenario.scenario",
    "with_arc": "scenario.changes.changes_layout",
    "with_draw_again": "scenario.changes.changes_people",
    "with_field_lines": "scenario.changes.changes_people",
    "with_inputs": "scenario.changes.changes_inputs",
    "with_more_checkpoints": "scenario.changes.changes_course",
    "with_openings": "scenario.changes.changes_people",
    "with_racing": "scenario.changes.changes_people",
    "with_rivals_out": "scenario.changes.changes_orders",
    "with_straight_line": "scenario.changes.changes_layout",
    "with_team_placed": "scenario.changes.changes_people",
}
"""What is offered here and stands elsewhere: loaded once it is asked for."""


def __getattr__(name: str) -> Any:
    if name not in _ELSEWHERE:
        raise AttributeError(f"simrun has no {name!r}")
    return getattr(import_module(f"simrun.{_ELSEWHERE[name]}"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


Place = str | Path | None
"""Where races are kept and files are saved; None: a folder under outputs/ by the scenario's name."""


def read(path: str | Path, race: str = "") -> Scenario:
    """What does this scenario file say? Read, checked and frozen. Raises SimrunError.

    race: which race of a day of several, or of the entry list; empty: the one that the file names, else the
    first that our team runs in.
    """
    from simrun.scenario.reader import read_one

    return read_one(path, race)


def race(
    scenario: Scenario,
    seed: int = 1,
    progress: Callable[[float], None] | None = None,
    behaviour: Behaviour | None = None,
) -> Recording:
    """What happens in one race? The same scenario and seed give the same bits. Raises SimrunError.

    behaviour: a tactic of one's own; see `with_behaviour`.
    """
    from simrun.engine.run import run_race

    day = scenario if behaviour is None else with_behaviour(scenario, behaviour)
    return run_race(day, seed, progress=progress)


def with_behaviour(scenario: Scenario, behaviour: Behaviour) -> Scenario:
    """The race day whose people go by a tactic of one's own: every question can be asked of it.

    Its races are never mixed with those of another tactic, or of none. Processes beside this one find it by
    its name in its module; of one that was typed in by hand only `workers=1` knows. Raises BadInput.
    """
    from simrun.tactics.own.given import run_by

    return run_by(scenario, behaviour)


def time_lost(recording: Recording) -> pandas.DataFrame:
    """How many seconds and places did each runner lose, and to what? One row a runner and checkpoint."""
    from simrun.measure.loss import time_lost as table

    return table(recording)


def summary(table: pandas.DataFrame, by: list[str]) -> pandas.DataFrame:
    """Mean, 10th and 90th percentile and count of the loss by "box", "line" or both, per checkpoint."""
    from simrun.measure.loss import summary as summed

    return summed(table, by)


def animate(recording: Recording, path: str | Path, **options: Any) -> Path:
    """The race as an animated GIF; `follow` names a team or a runner. Raises SimrunError."""
    from simrun.pictures.film.gif import animate as draw

    return draw(recording, path, **options)


def save(recording: Recording, path: str | Path) -> Path:
    """Keep a recording on disk. Raises SimrunError."""
    from simrun.state.recording_file import save as write

    return write(recording, path)


def load(path: str | Path) -> Recording:
    """Read a recording from disk. Raises SimrunError."""
    from simrun.state.recording_file import load as read_file

    return read_file(path)


def races(scenario: Scenario, seeds: Seeds = 10) -> pandas.DataFrame:
    """What did every runner lose, race by race? As `time_lost`, with a column `seed` first.

    Races with the scenario's own draw, one after the other, no frames kept. Raises SimrunError.
    Check: tests/unit/answers/test_in_python.py.
    """
    import pandas as pd

    from simrun.engine.run import run_race
    from simrun.measure.loss import time_lost as table

    found = {seed: table(run_race(scenario, seed, frames=False)) for seed in _seeds(seeds)}
    return pd.concat(found, names=["seed"]).reset_index("seed").reset_index(drop=True)


def boxes(
    scenario: Scenario, folder: Place = None, seeds: Seeds | None = None, **how: Any
) -> BoxesResult:
    """What does every box cost, whoever stands in it? As `simrun boxes`. Raises SimrunError.

    seeds: None for so many that every team stands in every box equally often. how: until_m, ours, drawn,
    units, workers, progress.
    """
    from simrun.answers.boxes.run import run_boxes

    wanted = None if seeds is None else _seeds(seeds)
    return run_boxes(scenario, _place(scenario, folder), wanted, **how)


def brief(
    scenario: Scenario, other: Scenario | None = None, folder: Place = None, **how: Any
) -> BriefResult:
    """Our box, the plan and others, the finish; or two plans of one day. As `simrun brief`.

    how: minutes, drawn, units, workers, progress. Raises SimrunError.
    """
    from simrun.answers.whole.brief.run import run_brief

    return run_brief(scenario, _place(scenario, folder), other, **how)


def check(scenario: Scenario, folder: Place = None, **how: Any) -> CheckResult:
    """What will the wheel and the tape find, and what do books ask? As `simrun check`."""
    from simrun.answers.check.run import run_check

    return run_check(scenario, _place(scenario, folder), **how)


def estimate(box: int, folder: Place = None, **figures: Any) -> EstimateResult:
    """What does a box cost on a line known by a few figures? At once, no race run. As `simrun estimate`.

    figures: width_m, boxes, runners, straight_m, throat_m, and what else is known, as of
    `simrun.trials.handbook.told_figures.ToldFigures`. Raises BadInput.
    Check: tests/unit/answers/test_estimate.py.
    """
    from simrun.answers.estimate.run import run_estimate
    from simrun.trials.handbook.told_figures import ToldFigures

    return run_estimate(ToldFigures(**figures), box, Path(folder or "outputs/estimate"))


def finish(scenario: Scenario, folder: Place = None, seeds: Seeds = 20, **how: Any) -> FinishResult:
    """Where do the teams finish? As `simrun finish`. Raises SimrunError."""
    from simrun.answers.finish.run import run_finish

    return run_finish(scenario, _place(scenario, folder), _seeds(seeds), **how)


def layout(
    scenario: Scenario,
    vary: Mapping[str, Iterable[float | str]],
    folder: Place = None,
    seeds: Seeds = 6,
    **how: Any,
) -> LayoutResult:
    """Which line is better in spread, seconds lost and crowding? As `simrun layout`.

    vary: values by setting, such as {"straight": (60, 90), "throat": ("5 yd",), "arc": ("arc",)}; bare
    numbers of lengths are metres. how: until_m, tries, drawn, units, workers, progress. Raises SimrunError.
    """
    from simrun.answers.layout.layout_sweep import ranges_of
    from simrun.answers.layout.run import run_layout

    words = [f"{name}={','.join(map(str, values))}" for name, values in vary.items()]
    return run_layout(
        scenario,
        _place(scenario, folder),
        ranges_of(words, swept=not how.get("tries")),
        _seeds(seeds),
        **how,
    )


def preview(
    scenario: Scenario,
    teams: Iterable[str] = (),
    folder: Place = None,
    seeds: Seeds = 10,
    **how: Any,
) -> PreviewResult:
    """How is our team, or are these, walked through the course? As `simrun preview`. Raises SimrunError."""
    from simrun.answers.whole.preview.run import run_preview

    where = _place(scenario, folder)
    return run_preview(scenario, where, tuple(teams), _seeds(seeds), **how)


def sheet(
    scenario: Scenario,
    team: str | None = None,
    folder: Place = None,
    seeds: Seeds = 10,
    **how: Any,
) -> SheetResult:
    """What does this team, or ours, carry to the line? As `simrun sheet`. Raises SimrunError."""
    from simrun.answers.sheet.run import run_sheet

    return run_sheet(scenario, _place(scenario, folder), team, _seeds(seeds), **how)


def side(scenario: Scenario, folder: Place = None, seeds: Seeds = 12, **how: Any) -> SideResult:
    """Can we get to the good side from our box? As `simrun side`. Raises SimrunError."""
    from simrun.answers.side.run import run_side

    return run_side(scenario, _place(scenario, folder), _seeds(seeds), **how)


def tactic(
    scenario: Scenario, team: str | None = None, folder: Place = None, **how: Any
) -> TacticResult:
    """Which plan suits this team's box? As `simrun tactic`. Raises SimrunError."""
    from simrun.answers.tactic.run import run_tactic

    return run_tactic(scenario, _place(scenario, folder), team, **how)


def _seeds(seeds: Seeds) -> tuple[int, ...]:
    return tuple(range(1, seeds + 1)) if isinstance(seeds, int) else tuple(seeds)


def _place(scenario: Scenario, folder: Place) -> Path:
    return Path(folder) if folder else Path("outputs") / (Path(scenario.file).stem or "race_day")
