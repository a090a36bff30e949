"""Are the figures complete, is each of one role only, and are wrong rows refused?"""

from __future__ import annotations

import math
import shutil
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.laws.settings import settings_of
from simrun.sources import Figure, figure, figures, reference, references
from simrun.sources.library import shared_folder
from simrun.sources.reading import read_library

ROW = """
["some.length_m"]
value = 2.0
low = 1.0
high = 3.0
unit = "m"
meaning = "a length"
conditions = ""
reference = "somebody"
place = ""
kind = "measured"
role = "check"
known = "seen"
"""
REFERENCE = '[somebody]\nauthors = "A"\nyear = "2000"\ntitle = "T"\npublished = "P"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "figures.toml").write_text(ROW, "utf-8")
    (tmp_path / "references.toml").write_text(REFERENCE, "utf-8")
    return tmp_path


def _edit(folder: Path, old: str, new: str) -> str:
    """The message after one edit of the row."""
    text = (folder / "figures.toml").read_text("utf-8")
    assert text.count(old) == 1
    (folder / "figures.toml").write_text(text.replace(old, new), "utf-8")
    with pytest.raises(BadInput) as caught:
        read_library(folder)
    return str(caught.value)


TYPED_AGAIN = {
    "people.boys": "mean_s 1099.9 sd_s 84.6 log_mean -1.358 log_sd 0.322 runners 194",
    "people.girls": "mean_s 1350.1 sd_s 150.7 log_mean -1.214 log_sd 0.421 runners 186",
    "people.men": "biacromial_m 0.412 biacromial_sd_m 0.021 chest_depth_m 0.208 shoulders_m 0.475",
    "people.women": "biacromial_m 0.365 biacromial_sd_m 0.018 shoulders_m 0.422",
    "people": "within_team_sd_s 69 between_teams_sd_s 28 first_to_fifth_s 94",
    "people.fastest": "share 0.9",
    "start": "reaction_men_s 0.109 reaction_women_s 0.121 sound_50_m_s 0.146",
    "crowd.walkers_speed_at": "half_m_s 1.298 1_m_s 1.058 2_m_s 0.606 3_m_s 0.331 4_m_s 0.156",
    "crowd.queue": "last_through_s 72.44 mean_delay_s 5.94 largest_delay_s 11.61",
    "bend.marathon": "straight_s 7292 track_400_s 7299 track_200_s 7320",
    "slope.cost_power": "5 155.4 4 -30.4 3 -43.3 2 46.3 1 19.5 0 3.6",
    "slope.measured": "level_j_kg_m 3.40 up_45_j_kg_m 18.93 down_20_j_kg_m 1.73",
    "geometry.track": "radius_m 36.50 straight_m 84.39 lane_m 1.22 inner_edge_m 398.116",
    "geometry.conference": "line_m 102 throat_m 25 straight_m 610",
    "geometry.end_box": "to_edge_m 1.214 to_centre_m 2.128",
    "scoring": "dual_winner 26 dual_loser 29 tie_each 28 ties_7_7 56 orders_7_7 3432",
}
"""Published values, typed a second time from the source: a slip in the table shows here."""


@pytest.mark.parametrize("prefix", TYPED_AGAIN)
def test_the_table_says_what_was_published(prefix: str) -> None:
    words = TYPED_AGAIN[prefix].split()
    for name, value in zip(words[::2], words[1::2], strict=True):
        joint = "_" if "." in prefix else "."
        assert figure(f"{prefix}{joint}{name}").value == float(value)


def test_a_figure_carries_its_unit_its_band_and_its_source() -> None:
    length = figure("slope.cost_power_0")
    assert (length.value, length.unit, length.role) == (3.6, "J/kg/m", "input")
    assert "Minetti et al. (2002)" in length.citation()
    assert length.citation().endswith("(seen)")


def test_an_unknown_key_names_the_nearest() -> None:
    with pytest.raises(KeyError, match=r"did you mean 'runner\.following_time_s'"):
        figure("runner.folowing_time_s")
    with pytest.raises(KeyError, match="did you mean 'minetti_2002'"):
        reference("minetti_2000")


def test_every_setting_of_the_laws_has_a_figure() -> None:
    assert settings_of("runner").following_time_s == 0.45
    assert settings_of("walker").following_time_s == 0.65


def test_runners_and_walkers_have_the_same_settings() -> None:
    own = {entry.key.split(".")[1] for entry in figures("runner.")}
    walkers = {entry.key.split(".")[1] for entry in figures("walker.")}
    assert own <= walkers
    assert len(own) == 12


@pytest.mark.parametrize("entry", figures(), ids=lambda entry: entry.key)
def test_every_figure_says_all_it_has_to(entry: Figure) -> None:
    assert entry.low <= entry.value <= entry.high
    assert entry.meaning
    assert not entry.meaning.endswith(".")
    assert (entry.known == "assumed") <= (entry.kind == "assumed")
    if entry.kind == "assumed":
        assert entry.role == "input"
        assert entry.low < entry.high


def test_no_figure_is_written_twice_under_two_roles() -> None:
    roles: dict[tuple[str, str], set[str]] = {}
    for entry in figures():
        roles.setdefault((entry.meaning, entry.conditions), set()).add(entry.role)
    assert all(len(found) == 1 for found in roles.values())


def test_every_reference_of_a_figure_is_in_the_bibliography() -> None:
    assert {entry.reference for entry in figures()} <= set(references())


def test_figures_of_a_prefix_come_in_the_order_of_the_table() -> None:
    keys = [entry.key for entry in figures("slope.cost_power_")]
    assert keys == [f"slope.cost_power_{power}" for power in (5, 4, 3, 2, 1, 0)]


def test_holds_includes_the_ends_of_the_band() -> None:
    band = figure("crowd.runners_flow_per_s_m")
    assert band.holds(1.70)
    assert band.holds(2.53)
    assert not band.holds(1.69)
    assert not band.holds(math.nan)


def test_against_prints_value_band_and_citation() -> None:
    text = figure("crowd.runners_flow_per_s_m").against(3.0)
    assert text.startswith(
        "crowd.runners_flow_per_s_m: 3 against 2.1 (1.7 to 2.53 1/s/m); Peckover"
    )


def test_a_good_row_is_read(folder: Path) -> None:
    table, _ = read_library(folder)
    assert table["some.length_m"].reference.authors == "A"


@pytest.mark.parametrize("word", ROW.replace('["some.length_m"]', "").split("\n")[2:-1])
def test_a_missing_column_is_refused(folder: Path, word: str) -> None:
    message = _edit(folder, word + "\n", "")
    assert message.startswith(f"figures.toml: some.length_m.{word.split(' ')[0]}: missing")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"somebody"', '"somebdy"', "some.length_m.reference: 'somebdy'"),
        ('"somebody"', '"somebdy"', "did you mean 'somebody'"),
        ('"measured"', '"guessed"', "some.length_m.kind: 'guessed'; one of measured"),
        ('"check"', '"both"', "some.length_m.role: 'both'"),
        ('"seen"', '"heard"', "some.length_m.known: 'heard'"),
        ("value = 2.0", "value = 4.0", "low <= value <= high"),
        ("value = 2.0", "value = nan", "all finite"),
        ("value = 2.0", "value = true", "some.length_m.value: missing or not a number"),
        ("high = 3.0", "high = inf", "all finite"),
        ('unit = "m"', 'unitt = "m"', "some.length_m.unitt: unknown"),
        ('["some.length_m"]', "[", "figures.toml: text:"),
    ],
)
def test_a_wrong_row_is_refused(folder: Path, old: str, new: str, said: str) -> None:
    assert said in _edit(folder, old, new)


def test_an_assumed_figure_without_a_range_is_refused(folder: Path) -> None:
    text = ROW.replace("low = 1.0", "low = 2.0").replace("high = 3.0", "high = 2.0")
    (folder / "figures.toml").write_text(text, "utf-8")
    read_library(folder)
    assert "range to try" in _edit(folder, '"measured"', '"assumed"')


def test_a_reference_without_a_title_is_refused(folder: Path) -> None:
    (folder / "references.toml").write_text(REFERENCE.replace('"T"', '""'), "utf-8")
    with pytest.raises(BadInput, match=r"references\.toml: somebody\.title: missing or empty"):
        read_library(folder)


def test_the_data_of_an_installed_package_come_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    module = tmp_path / "simrun" / "sources" / "library.py"
    monkeypatch.setattr("simrun.sources.library.__file__", str(module))
    assert shared_folder() == tmp_path / "shared"
    shutil.copytree(Path(__file__).parents[3] / "shared", tmp_path / "simrun" / "shared")
    assert shared_folder() == tmp_path / "simrun" / "shared"


def test_derived_figures_follow_from_their_formula() -> None:
    cost, gravity = figure("bend.cost").value, figure("gravity_m_s2").value
    for radius_m in (2, 3, 5, 10):
        speed = 5.0
        for _ in range(60):
            pull = (speed**2 / (gravity * radius_m)) ** 2
            speed = 0.5 * (speed + 5.0 * (1.0 - cost * (math.sqrt(1.0 + pull) - 1.0)))
        loss = figure(f"bend.loss_at_{radius_m}_m")
        assert loss.holds(1.0 - speed / 5.0), loss.against(1.0 - speed / 5.0)


@pytest.mark.parametrize("percent", [2, 5, 10])
def test_the_speed_at_equal_power_follows_from_the_cost_polynomial(percent: int) -> None:
    def cost(slope: float) -> float:
        return sum(figure(f"slope.cost_power_{k}").value * slope**k for k in range(6))

    entry = figure(f"slope.speed_up_{percent}_share")
    assert entry.holds(cost(0.0) / cost(percent / 100)), entry.against(
        cost(0) / cost(percent / 100)
    )


def test_the_lane_lengths_follow_from_radius_straight_and_margin() -> None:
    radius_m, straight_m = (figure(f"geometry.track_{k}_m").value for k in ("radius", "straight"))
    lane_m = figure("geometry.track_lane_m").value
    margins = [figure("geometry.measuring_margin_m").value]
    margins += 3 * [figure("geometry.track_outer_margin_m").value]
    for lane, margin_m in enumerate(margins, start=1):
        out_m = radius_m + (lane - 1) * lane_m + margin_m
        length_m = 2.0 * straight_m + 2.0 * math.pi * out_m
        assert figure(f"geometry.track_lane_{lane}_m").holds(length_m)


def test_the_queue_at_a_throat_follows_from_arrivals_and_capacity() -> None:
    arrivals_s = np.sort(np.hypot(300.0, np.linspace(-50.0, 50.0, 200)) / 5.0)
    rank = np.arange(200) / 16.0
    through_s = rank + np.maximum.accumulate(arrivals_s - rank)
    delay_s = through_s - arrivals_s
    found = {"last_through": through_s[-1], "mean_delay": delay_s.mean()}
    for name, value in {**found, "largest_delay": delay_s.max()}.items():
        entry = figure(f"crowd.queue_{name}_s")
        assert entry.holds(float(value)), entry.against(float(value))


@pytest.mark.parametrize(("name", "density"), [("half", 0.5), ("1", 1), ("2", 2), ("4", 4)])
def test_walking_speeds_follow_from_the_closed_form(name: str, density: float) -> None:
    wished = figure("walker.wished_speed_m_s").value
    speed = wished * (1.0 - math.exp(-1.913 * (1.0 / density - 1.0 / 5.4)))
    entry = figure(f"crowd.walkers_speed_at_{name}_m_s")
    assert abs(speed - entry.value) < 0.0005, entry.against(speed)
