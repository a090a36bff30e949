"""Whatever a recording holds: it is refused in one line, or tables and a page can be made of it."""

from __future__ import annotations

from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import simrun
from simrun.answers.race.race_tables import race_tables, write_tables
from simrun.base.errors import BadRecording
from simrun.pictures.replay.replay_page import write_page
from simrun.state.recording_file import load, save
from tests.helpers.scenario_text import ENTRIES, SMALL
from tests.helpers.spoiling import WORDS, packed, spoil_array, unpacked

Parts = tuple[dict[str, Any], dict[str, Any]]


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory) -> Parts:
    """What one short race of a few keeps: its arrays, and its words."""
    folder = tmp_path_factory.mktemp("small")
    (folder / "small.toml").write_text(SMALL, encoding="utf-8")
    (folder / "entries.csv").write_text(ENTRIES, encoding="utf-8")
    scenario = simrun.read(folder / "small.toml").changed({"clock.limit": 40})
    path = save(simrun.race(scenario, 1), folder / "good.npz")
    return unpacked(path.read_bytes())


def used(data: bytes, folder: Path) -> str:
    """Read it and make tables and a page of it; what was said where it was refused."""
    file = folder / "strange.npz"
    file.write_bytes(data)
    try:
        recording = load(file)
    except BadRecording as refused:
        return str(refused)
    write_tables(race_tables(recording), folder)
    write_page(recording, folder / "replay.html", note="")
    return ""


@pytest.mark.filterwarnings("ignore")
@settings(
    max_examples=120,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(names=st.data(), rng=st.randoms(use_true_random=False))
@pytest.mark.slow
def test_odd_numbers_are_refused_or_can_be_used(
    names: Any, rng: Random, parts: Parts, tmp_path: Path
) -> None:
    """One or two arrays changed in any way."""
    arrays = dict(parts[0])
    for name in names.draw(st.lists(st.sampled_from(sorted(arrays)), min_size=1, max_size=2)):
        if arrays[name].size:
            arrays[name] = spoil_array(arrays[name], rng)
    assert "\n" not in used(packed(arrays, parts[1]), tmp_path)


@pytest.mark.parametrize("key", ["name", "team_names"])
@pytest.mark.parametrize("word", WORDS, ids=range(len(WORDS)))
def test_odd_names_are_refused_or_can_be_used(
    key: str, word: object, parts: Parts, tmp_path: Path
) -> None:
    """Half a letter, a line break, a list where a name should be."""
    names = [word, *parts[1][key][1:]]
    said = used(packed(parts[0], {**parts[1], key: names}), tmp_path)
    assert "\n" not in said
    assert bool(said) == (not isinstance(word, str) or not word.isprintable())


@pytest.mark.parametrize(
    ("name", "kind"),
    [("crossing_s", "S3"), ("alone_s", "c16"), ("alone_s", "U5"), ("shortest_s", "m8[s]"),
     ("roster_team_index", "?"), ("roster_reaction_s", "S3")],
)  # fmt: skip
def test_numbers_of_a_strange_kind_are_refused(
    name: str, kind: str, parts: Parts, tmp_path: Path
) -> None:
    """Found by changing arrays at random: each was read, and broke the tables or the page."""
    arrays = {**parts[0], name: parts[0][name].astype(kind)}
    assert "not a recording" in used(packed(arrays, parts[1]), tmp_path)


def test_a_time_beyond_all_sense_is_refused(parts: Parts, tmp_path: Path) -> None:
    """Finite, but the differences are not, and no page can hold them."""
    times = parts[0]["crossing_s"].copy()
    times.reshape(-1)[0] = 1e308
    arrays = {**parts[0], "crossing_s": times}
    assert "not a recording" in used(packed(arrays, parts[1]), tmp_path)


@pytest.mark.slow
def test_a_flipped_bit_changes_no_figure_unseen(parts: Parts, tmp_path: Path) -> None:
    """Every part of the file has its checksum: refused, or where nothing is kept, read as it was."""
    data, chance, said = packed(*parts), Random(11), []
    used(data, tmp_path)
    tables = {path.name: path.read_bytes() for path in tmp_path.glob("*.csv")}
    file = tmp_path / "strange.npz"
    for _ in range(150):
        bit = chance.randrange(8 * len(data))
        spoilt = bytearray(data)
        spoilt[bit // 8] ^= 1 << bit % 8
        file.write_bytes(spoilt)
        try:
            write_tables(race_tables(load(file)), tmp_path)
            said.append("")
        except BadRecording as refused:
            said.append(str(refused))
        assert {path.name: path.read_bytes() for path in tmp_path.glob("*.csv")} == tables
    assert len([line for line in said if line]) > 100
    assert not [line for line in said if "\n" in line]


def test_what_was_not_changed_is_read(parts: Parts, tmp_path: Path) -> None:
    """The tests above would also pass if everything was refused."""
    assert used(packed(*parts), tmp_path) == ""
