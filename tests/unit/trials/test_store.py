"""One file, one row a race: whole after anything, written by one, read by anybody."""

from __future__ import annotations

import random
import resource
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadRecording, CannotWrite, Notice
from simrun.trials import store as store_module
from simrun.trials.races import Outcome, packed
from simrun.trials.store import Store, kept_engine
from tests.helpers.study_files import laid_down

TOP = Path(__file__).parents[3]


def blob(number: float, runners: int = 3) -> bytes:
    """A made-up race in which everybody crosses at `number`."""
    times = {name: np.full((runners, 2), number) for name in TIMES}
    whole = np.arange(runners)
    line = np.array(["inside"] * runners)
    still = np.zeros(runners, dtype=np.float32)
    return packed(Outcome(whole, whole, whole, line, **times, stood_s=still, stood_m=still))


TIMES = ("crossing_s", "alone_s", "shortest_s", "best_s", "raced_s", "reserve_m")
TIMES += ("place", "clear_place")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "deep" / "folder" / "study.db"


def filled(path: Path, seeds: list[int], tidy: bool = True) -> str:
    with Store(path, writing=True) as store:
        store.add_arms({"a": "arm a", "b": "arm b"})
        for seed in seeds:
            store.add_races([("b", seed, blob(seed)), ("a", seed, blob(seed + 0.5))])
        if tidy:
            store.tidy()
        return store.content_digest()


def test_what_is_kept_is_read_again(path: Path) -> None:
    """Arms, races, one at a time in the order of the seeds."""
    filled(path, [3, 1, 2])
    with Store(path) as store:
        assert store.arms() == {"a": "arm a", "b": "arm b"}
        assert store.kept() == {(arm, seed) for arm in "ab" for seed in (1, 2, 3)}
        seeds = [(seed, float(o.crossing_s[0, 0])) for seed, o in store.outcomes("a")]
    assert seeds == [(1, 1.5), (2, 2.5), (3, 3.5)]


def test_the_order_of_work_leaves_no_trace(tmp_path: Path) -> None:
    """The same rows in another order, and in two sittings: the same content and the same bytes."""
    first, second = tmp_path / "first.db", tmp_path / "second.db"
    filled(first, [1, 2, 3, 4])
    filled(second, [4, 2], tidy=False)
    assert filled(second, [3, 1]) == filled(first, [])
    assert laid_down(first) == laid_down(second)
    assert [p.name for p in sorted(tmp_path.iterdir())] == ["first.db", "second.db"]


def test_other_content_has_another_digest(tmp_path: Path) -> None:
    """One seed more, or one number changed."""
    digests = {filled(tmp_path / f"{n}.db", seeds) for n, seeds in enumerate([[1], [1, 2], [2]])}
    assert len(digests) == 3


def test_a_group_that_breaks_off_is_not_half_there(path: Path) -> None:
    """All rows of a group or none."""
    filled(path, [1])

    def rows() -> Iterator[tuple[str, int, bytes]]:
        yield ("a", 8, blob(8))
        raise KeyboardInterrupt

    with Store(path, writing=True) as store:
        with pytest.raises(KeyboardInterrupt):
            store.add_races(rows())
        assert store.kept() == {("a", 1), ("b", 1)}
        store.add_races([("a", 9, blob(9))])
        assert ("a", 9) in store.kept()


def test_a_second_study_is_refused_in_one_line(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While one writes nobody else writes or reads; afterwards anybody may."""
    monkeypatch.setattr(store_module, "WAIT_S", 0.1)
    code = (
        "import sys; from simrun.trials.store import Store; from simrun.base.errors import SimrunError\n"
        "import simrun.trials.store as s; s.WAIT_S = 0.1\n"
        "try:\n    Store(sys.argv[1], writing=True)\nexcept SimrunError as error:\n    print(error)"
    )
    with Store(path, writing=True):
        with pytest.raises(CannotWrite, match="another study is writing"):
            Store(path, writing=True)
        with pytest.raises(CannotWrite, match="another study is writing"):
            Store(path)
        done = subprocess.run(
            [sys.executable, "-c", code, str(path)], capture_output=True, text=True, cwd=TOP
        )
        assert done.stdout.count("\n") == 1, done.stderr
        assert "another study is writing to it; wait until it ends" in done.stdout
    Store(path).close()
    Store(path, writing=True).close()


def test_a_full_disk_is_one_line_and_what_was_kept_stays(path: Path) -> None:
    """The file may not grow past 200 kB: refused in one line, the rows of before are there."""
    code = (
        "import sys, resource\nfrom simrun.trials.store import Store\n"
        "from simrun.base.errors import CannotWrite\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))\n"
        "try:\n"
        "    with Store(sys.argv[1], writing=True) as store:\n"
        "        for seed in range(100, 200):\n"
        "            store.add_races([('a', seed, bytes(10_000))])\n"
        "except CannotWrite as error:\n    print(error)"
    )
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY
    filled(path, [1, 2])
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], capture_output=True, text=True, cwd=TOP
    )
    assert done.stdout.count("\n") == 1, done.stdout + done.stderr
    assert str(path) in done.stdout
    with Store(path, writing=True) as store:
        kept = store.kept()
        store.add_races([("a", 999, blob(1))])
    assert {("a", 1), ("b", 1), ("a", 2), ("b", 2), ("a", 100)} <= kept
    assert ("a", 199) not in kept


def test_a_folder_that_refuses_is_one_line(tmp_path: Path) -> None:
    """A file where a folder should be; a folder where the file should be."""
    (tmp_path / "taken").write_text("x")
    with pytest.raises(CannotWrite, match="taken"):
        Store(tmp_path / "taken" / "study.db", writing=True)
    with pytest.raises(CannotWrite, match="cannot be used"):
        Store(tmp_path, writing=True)


def test_something_else_is_never_written_to(tmp_path: Path) -> None:
    """A text file, a database of somebody else's: refused, and the same bytes as before."""
    text, other = tmp_path / "notes.txt", tmp_path / "other.db"
    text.write_text("dear diary " * 100)
    base = sqlite3.connect(other)
    base.execute("CREATE TABLE mine (x)")
    base.commit()
    base.close()
    for file in (text, other):
        before = file.read_bytes()
        for writing in (True, False):
            with pytest.raises(BadRecording, match="not a store"):
                Store(file, writing=writing)
        assert file.read_bytes() == before
    with pytest.raises(BadRecording, match="no such store"):
        Store(tmp_path / "nowhere.db")
    assert not (tmp_path / "nowhere.db").exists()


@pytest.mark.parametrize("key", ["format", "engine"])
def test_another_version_is_not_mixed_in(path: Path, key: str) -> None:
    """A store of another format is not read; one of another engine may be read, not carried on."""
    filled(path, [1])
    base = sqlite3.connect(path)
    base.execute("UPDATE about SET value = 'other' WHERE key = ?", (key,))
    base.commit()
    base.close()
    with pytest.raises(BadRecording, match=r"format 'other'|another state of the engine"):
        Store(path, writing=True)
    if key == "engine":
        with Store(path) as store:
            assert len(store.kept()) == 2


def test_a_damaged_file_is_one_line(path: Path) -> None:
    """Zeros in the middle: BadRecording when the rows are read, or at once."""
    filled(path, list(range(1, 40)))
    data = bytearray(path.read_bytes())
    data[4096 : len(data) - 4096] = bytes(len(data) - 8192)
    path.write_bytes(data)
    with pytest.raises(BadRecording), Store(path) as store:
        list(store.outcomes("a"))


def test_a_row_that_claims_more_than_memory_holds_is_one_line(path: Path) -> None:
    """Found by fuzzing: the size before a row's head (text of one letter, the number 1) says petabytes."""
    filled(path, [1])
    data = path.read_bytes()
    at = data.index(b"\x05\x0f\x09") - 2
    path.write_bytes(data[:at] + b"\xff" * 7 + b"\x02" + data[at + 8 :])
    with Store(path) as store, pytest.raises(BadRecording, match="claims more than memory holds"):
        store.kept()


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("about", "value", "CAST(x'bd' AS TEXT)"),
        ("races", "seed", "'seven'"),
        ("races", "outcome", "3"),
    ],
)
def test_cells_of_the_wrong_kind_are_one_line(
    tmp_path: Path, table: str, column: str, value: str
) -> None:
    """Found by turning bytes over at random: text that is no text, words where a number should be."""
    path = tmp_path / "study.db"
    with Store(path, writing=True) as store:
        store.add_arms({"arm": "text"})
        store.add_races([("arm", 1, blob(1.0))])
    base = sqlite3.connect(path)
    base.execute(f"UPDATE {table} SET {column} = {value}")
    base.commit()
    base.close()
    with pytest.raises(BadRecording, match="damaged"), Store(path) as store:
        list(store.outcomes("arm"))


HEADS = (b"{(", b"{'" + b"''", b"  x", b"((((" * 500, b"{'descr': (", b"-" * 9000)


@pytest.mark.parametrize("head", HEADS, ids=range(len(HEADS)))
def test_a_head_that_is_no_head_is_one_line(path: Path, head: bytes) -> None:
    """Found by turning bytes over: numpy reads the head as a word of Python, and stumbles oddly."""
    filled(path, [1])
    base = sqlite3.connect(path)
    length = len(head).to_bytes(2, "little")
    spoilt = b"\x93NUMPY\x01\x00" + length + head + b"\n" + bytes(100)
    base.execute("UPDATE races SET outcome = ?", (spoilt,))
    base.commit()
    base.close()
    with pytest.raises(BadRecording, match="damaged"), Store(path) as store:
        list(store.outcomes("a"))


def test_what_a_damaged_file_says_is_not_repeated_as_it_stands(path: Path) -> None:
    """sqlite quotes text that is no text, with its line breaks: ours stays one printable line."""
    filled(path, [1])
    data = path.read_bytes()
    assert data.count(b"outcome BLOB") == 1
    path.write_bytes(data.replace(b"outcome BLOB", b"o\xfftco\x1be BLOB"))
    with pytest.raises(BadRecording, match="damaged") as caught:
        Store(path)
    assert str(caught.value).isprintable()


ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT"


@pytest.mark.parametrize(
    "statements",
    [
        ["DROP TABLE races", f"CREATE VIEW races AS {ENDLESS} 'a' digest, i seed, x'00' outcome FROM n"],
        [f"CREATE TRIGGER t AFTER INSERT ON races BEGIN DELETE FROM arms; {ENDLESS} max(i) FROM n; END"],
        ["CREATE TABLE more (x)"],
        ["DROP TABLE arms"],
    ],
    ids=["view", "trigger", "more", "less"],
)  # fmt: skip
@pytest.mark.parametrize("writing", [True, False])
def test_whatever_a_stranger_added_is_not_carried_out(
    tmp_path: Path, statements: list[str], writing: bool
) -> None:
    """A view that never ends, a trigger: the store is refused before either is asked."""
    path = tmp_path / "study.db"
    filled(path, [1])
    base = sqlite3.connect(path)
    for statement in statements:
        base.execute(statement)
    base.commit()
    base.close()
    before = path.read_bytes()
    with pytest.raises(BadRecording, match="damaged store"):
        Store(path, writing=writing)
    assert path.read_bytes() == before


def in_rows(path: Path, change: str) -> None:
    """Change what stands in the rows of a store, behind its back."""
    base = sqlite3.connect(path)
    base.execute(change)
    base.commit()
    base.close()


@pytest.mark.parametrize("seed", range(40))
def test_a_flipped_bit_in_a_race_is_noticed(path: Path, seed: int) -> None:
    """Anywhere in what is kept of it: one line that names the race, and no figure."""
    filled(path, [7])
    chance = random.Random(seed)
    base = sqlite3.connect(path)
    (kept,) = base.execute("SELECT outcome FROM races WHERE digest = 'a'").fetchone()
    spoilt = bytearray(kept)
    bit = chance.randrange(8 * len(kept))
    spoilt[bit // 8] ^= 1 << bit % 8
    base.execute("UPDATE races SET outcome = ? WHERE digest = 'a'", (bytes(spoilt),))
    base.commit()
    base.close()
    with Store(path) as store, pytest.raises(BadRecording, match="the race of seed 7 is damaged"):
        list(store.outcomes("a"))


@pytest.mark.parametrize("change", ["seed = 3 WHERE seed = 2", "digest = 'b' WHERE digest = 'a'"])
def test_a_race_under_another_name_is_noticed(path: Path, change: str) -> None:
    """Sound by itself, but another seed's or another arm's."""
    with Store(path, writing=True) as store:
        store.add_arms({"a": "arm a", "b": "arm b"})
        store.add_races([("a", seed, blob(seed)) for seed in (1, 2)])
    in_rows(path, f"UPDATE races SET {change}")
    with Store(path) as store, pytest.raises(BadRecording, match="is damaged"):
        [list(store.outcomes(arm)) for arm in "ab"]


def test_damaged_races_are_run_again(path: Path) -> None:
    """The study that goes on lets go of them in one line; whatever the row now is."""
    filled(path, [1, 2, 3])
    in_rows(path, "UPDATE races SET seed = 9 WHERE digest = 'a' AND seed = 2")
    in_rows(path, "UPDATE races SET outcome = 5 WHERE digest = 'b' AND seed = 3")
    with Store(path, writing=True) as store:
        with pytest.warns(Notice, match="2 races in this store had been damaged"):
            assert store.let_go_of_damaged() == 2
        assert store.kept() == {("a", 1), ("a", 3), ("b", 1), ("b", 2)}
        assert store.let_go_of_damaged() == 0


def test_a_store_without_seals_is_read_in_one_line_more(path: Path) -> None:
    """As it was written before: the same figures; but it is not carried on."""
    filled(path, [1, 2])
    base = sqlite3.connect(path)
    base.execute("UPDATE races SET outcome = substr(outcome, 17)")
    base.execute("UPDATE about SET value = '4' WHERE key = 'format'")
    base.commit()
    base.close()
    with pytest.warns(Notice, match="damage to it would not be noticed"):
        store = Store(path)
    with store:
        found = [(seed, float(outcome.crossing_s[0, 0])) for seed, outcome in store.outcomes("a")]
    assert found == [(1, 1.5), (2, 2.5)]
    with pytest.raises(BadRecording, match="format '4'"):
        Store(path, writing=True)


def test_races_of_two_engines_are_never_in_one_store(tmp_path: Path) -> None:
    """A store is gone on with by the engine that began it; any may read it."""
    for mine, other in (("cpu", "gpu"), ("gpu", "cpu")):
        path = tmp_path / f"{mine}.db"
        Store(path, writing=True, engine=mine).close()
        assert kept_engine(path) == mine
        with pytest.raises(BadRecording, match=f"run by the engine {mine}.*never mixed"):
            Store(path, writing=True, engine=other)
        Store(path, writing=True, engine=mine).close()
        Store(path).close()
    assert kept_engine(tmp_path / "none.db") is None
