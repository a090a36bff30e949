"""A behaviour of one's own: what is refused and how, what makes it another one, who finds it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import simrun
from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.scenario.scenario import Scenario
from simrun.tactics.own.given import behaviour_named, fetch
from simrun.trials.plan import digest_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FEN = SCENARIOS / "brindle_fen.toml"


def slower(wished_m_s: float, share: float) -> float:
    return share * wished_m_s


def no_number(wished_m_s: float) -> float:
    return float("nan") if wished_m_s > 2.0 else wished_m_s


def words(wished_m_s: float) -> float:
    return "fast"  # type: ignore[return-value]


def opens(wished_m_s: float) -> float:
    return float(len(open("x").read()))


def raises(wished_m_s: float) -> float:
    raise ValueError


def too_fast(t_s: float) -> float:
    return 4.0 + 1000.0 * t_s


def misspelt(wished_ms: float) -> float:
    return wished_ms


def with_default(wished_m_s: float, share: float = 0.5) -> float:
    return share * wished_m_s


def sideways(offset_m: float, wished_m_s: float) -> float:
    return offset_m


@pytest.fixture(scope="module")
def day() -> Scenario:
    return simrun.read(FEN)


@pytest.mark.parametrize(
    ("made", "told"),
    [
        ({}, "neither wish nor side"),
        ({"wish": misspelt}, "did you mean 'wished_m_s'"),
        ({"wish": sideways}, "'offset_m'"),
        ({"wish": with_default}, "the argument share"),
        ({"wish": lambda wished_m_s: wished_m_s}, "a lambda"),
        ({"wish": raises}, "raises an error"),
        ({"wish": print}, "written in Python, with def"),
        ({"wish": slower}, "'share'"),
        ({"wish": slower, "figures": {"share": 0.9, "shore": 1.0}}, "did you mean 'share'"),
        ({"wish": slower, "figures": {"share": "half"}}, "a finite number"),
        ({"wish": slower, "figures": {"share": float("inf")}}, "a finite number"),
        ({"wish": slower, "figures": {"share": 0.9}, "who": ""}, "the name of a team"),
    ],
)
def test_what_cannot_be_one_is_refused_when_it_is_made(made: dict[str, Any], told: str) -> None:
    with pytest.raises(BadInput, match=told):
        simrun.Behaviour(**made)


@pytest.mark.parametrize(
    ("law", "told"),
    [
        (no_number, r"wish no_number: nan for .+, \d+\.\d\d s after the gun"),
        (too_fast, r"wish too_fast: 54 for .+, 0\.05 s after the gun; a speed from 0 to 15 m/s"),
        (words, "wish words: cannot be compiled"),
        (opens, "wish opens: cannot be compiled"),
    ],
)
@pytest.mark.slow
def test_a_wrong_answer_ends_the_race_with_who_and_when(
    law: Callable[..., float], told: str, day: Scenario
) -> None:
    with pytest.raises(BadInput, match=told):
        simrun.race(day, behaviour=simrun.Behaviour(wish=law))


def test_a_team_that_does_not_run_is_refused(day: Scenario) -> None:
    nobody = simrun.Behaviour(wish=slower, figures={"share": 0.9}, who="Brackwoter")
    with pytest.raises(BadInput, match="did you mean 'Brackwater'"):
        simrun.with_behaviour(day, nobody)


def test_function_figure_and_team_each_make_it_another_one() -> None:
    """And the same again is the same, in any order of its figures."""
    made = [
        simrun.Behaviour(wish=slower, figures={"share": 0.9}),
        simrun.Behaviour(wish=slower, figures={"share": 0.8}),
        simrun.Behaviour(wish=slower, figures={"share": 0.9}, who="ours"),
        simrun.Behaviour(wish=no_number),
        simrun.Behaviour(side=sideways),
    ]
    assert len({one.digest for one in made}) == len(made)
    assert simrun.Behaviour(wish=slower, figures={"share": 0.9}) == made[0]
    assert len(repr(made[0])) < 100


def test_what_it_calls_is_part_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A helper or a number of its module, edited: another behaviour; another line there: the same."""
    text = "BASE = {base}\n\n\ndef inner(x):\n    return x * {by}\n\n\n"
    text += "def law(wished_m_s):\n    return inner(wished_m_s) + 0.0 * BASE\n"
    monkeypatch.chdir(tmp_path)
    digests = []
    for n, (base, by, more) in enumerate([(1, 2, ""), (1, 3, ""), (2, 2, ""), (1, 2, "OTHER = 5")]):
        (tmp_path / f"own_laws_{n}.py").write_text(text.format(base=base, by=by) + more)
        digests.append(behaviour_named(f"own_laws_{n}:law").digest)
    assert len(set(digests)) == 3
    assert digests[0] == digests[3]


def test_a_race_day_with_it_is_another_to_every_store(day: Scenario) -> None:
    """Its digest as an arm, its name on every page, its file without it."""
    own = simrun.with_behaviour(day, simrun.Behaviour(wish=slower, figures={"share": 0.9}))
    other = simrun.with_behaviour(day, simrun.Behaviour(wish=slower, figures={"share": 0.8}))
    assert len({digest_of(one) for one in (day, own, other)}) == 3
    assert own != day
    assert own.name == f"{day.name}, by slower"
    assert own.changed({"clock.limit": 100}).behaviour == own.behaviour
    assert Scenario.from_json(own.to_json()) == own
    assert "behaviour" not in own.to_toml()


def test_no_file_hands_one_in(tmp_path: Path) -> None:
    """A scenario that came by mail runs nobody's code."""
    text = FEN.read_text("utf-8") + '\n[behaviour]\nword = "x"\nfound_at = "os:system"\n'
    (tmp_path / "day.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match="none in a file"):
        simrun.read(tmp_path / "day.toml")


def test_one_that_a_recording_names_is_not_fetched_by_itself(day: Scenario) -> None:
    """A race day out of a foreign text races only with a behaviour that was handed in here."""
    told = {"word": "x", "found_at": "antigravity:x", "digest": "unknown"}
    with pytest.raises(BadInput, match="not at hand"):
        simrun.race(day.changed({"behaviour": told}))
    assert "antigravity" not in sys.modules


def test_a_worker_finds_it_by_its_name_or_says_so(day: Scenario) -> None:
    told = {"word": "x", "found_at": "", "digest": "unknown"}
    with pytest.raises(BadInput, match="workers=1"):
        fetch(day.changed({"behaviour": told}))
    with pytest.raises(BadInput, match="cannot be imported: ModuleNotFoundError"):
        fetch(day.changed({"behaviour": told | {"found_at": "no_such_module:x"}}))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("patient", "package.module:name"),
        ("no_such_module:x", "cannot be imported"),
        ("shared.examples.patient_pack:PATENT", "did you mean 'PATIENT'"),
        ("simrun:VERSION", "is no behaviour"),
    ],
)
def test_a_wrong_name_is_one_line(
    words: str, told: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(SCENARIOS.parent)
    assert main(["race", str(FEN), "--behaviour", words]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert len(said.splitlines()) == 1
