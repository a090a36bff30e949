"""The runs alone: within 5 ms of what was noted, a twentieth of the file, back to the last bit."""

from __future__ import annotations

import zipfile
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

import simrun
from simrun.engine import run
from simrun.state.account import lost_so_far
from simrun.state.packed_tracks import packed_tracks, unpacked_tracks
from simrun.state.recording import Recording
from simrun.state.tracks import NOT_REACHED, WAYS, Tracks, lay_lines, straightened

SCENARIOS = Path(__file__).parents[3] / "scenarios"
SHARE, WITHIN_S = 0.051, 0.005
"""Of the file: what the account of the loss may take (5.01 % where people run evenly and the rest is small).
By how much a time alone may be wrong."""

LONG = [
    pytest.param(name, marks=pytest.mark.slow)
    for name in ("brindle_fen", "ostrel_common", "sallow_heath")
]


@st.composite
def noted(draw: st.DrawFn) -> Tracks:
    """Any tracks: two runners who never run back, some of whom do not come to the end."""
    places = draw(st.integers(1, 30))
    steps = draw(arrays(np.int64, (len(WAYS), 2, places), elements=st.integers(0, 3000)))
    rows, reached = (
        steps.cumsum(axis=2),
        draw(arrays(np.int64, (4, 2), elements=st.integers(0, 30))),
    )
    ms = np.where(np.arange(places) < reached[:, :, None], rows, NOT_REACHED).astype(np.int32)
    at_m = np.arange(-2300, -2300 + 5000 * places, 5000) / 1000.0
    begins = np.array([[-2.3, 0.1 + 1e-9], [-0.3, 7.0], [1 / 3, 0.0], [0.2, 5.5]])
    return Tracks(at_m, begins, begins * 2, ms)


def same(one: Tracks, other: Tracks) -> None:
    for name in ("at_m", "start_m", "leaves_s", "reached_ms"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name)


@settings(deadline=None)
@given(noted())
def test_what_is_kept_comes_back_to_the_last_bit(tracks: Tracks) -> None:
    """As noted, and in straight lines."""
    for kept in (tracks, straightened(tracks)):
        same(unpacked_tracks(packed_tracks(kept)), kept)


@settings(deadline=None)
@given(noted())
def test_straight_lines_stay_within_what_was_noted(tracks: Tracks) -> None:
    """Five milliseconds; nobody runs back, and who did not come to a place still has not."""
    lines = straightened(tracks).reached_ms
    there = tracks.reached_ms != NOT_REACHED
    np.testing.assert_array_equal(lines != NOT_REACHED, there)
    assert np.abs(lines - tracks.reached_ms)[there].max(initial=0) <= 1000 * WITHIN_S
    both = there[:, :, 1:]
    assert (np.diff(lines, axis=2)[both] >= 0).all()
    np.testing.assert_array_equal(
        lines[:, :, 0][there[:, :, 0]], tracks.reached_ms[:, :, 0][there[:, :, 0]]
    )


def test_a_line_turns_where_it_must() -> None:
    """By hand: a second a place and 4 ms of noise are one line; a turn at the fifth place is a second."""
    noise = np.array([0, 4, -4, 3, 0, -4, 4, 1, 0, 2])
    even = 1000 * np.arange(10) + noise
    turned = np.where(np.arange(10) > 5, even + 500 * (np.arange(10) - 5), even)
    lines = np.zeros((2, 10), np.int64)
    lay_lines(np.stack([even, turned]), np.array([10, 10]), 5, lines)
    turns = (np.diff(lines, n=2, axis=1) != 0).sum(axis=1)
    assert list(turns) == [0, 1]


def raced(name: str, monkeypatch: pytest.MonkeyPatch) -> tuple[Recording, Tracks]:
    """A race, and its tracks as they were noted."""
    seen: list[Tracks] = []

    def spy(tracks: Tracks) -> Tracks:
        seen.append(tracks)
        return straightened(tracks)

    monkeypatch.setattr(run, "straightened", spy)
    recording = simrun.race(simrun.read(SCENARIOS / f"{name}.toml"), seed=1)
    return recording, seen[-1]


@pytest.mark.parametrize("name", ["dual_meet", "ferry_meadow", *LONG])
def test_the_account_is_a_twentieth_of_the_file_and_off_by_five_milliseconds(
    name: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Of every shipped race, its heads in the zip counted: what was lost, of everybody at every moment."""
    recording, exact = raced(name, monkeypatch)
    path = simrun.save(recording, tmp_path / "r.npz")
    assert of_the_file(path) <= SHARE * path.stat().st_size
    off, grain = off_s(recording, exact), 1e-9
    for part, ways in (("lost", 1), ("traffic", 1), ("racing", 2), ("line", 2), ("box", 2)):
        assert off[part] <= ways * WITHIN_S + grain, part
    assert off["lost"] > 0.001, "nothing was straightened"


def off_s(recording: Recording, exact: Tracks) -> dict[str, float]:
    """By how much is the account off, part by part: the most of all runners and moments?"""
    kept, was = lost_so_far(recording), lost_so_far(replace(recording, tracks=exact))
    return {
        part: float(np.nanmax(np.abs(getattr(kept, f"{part}_s") - getattr(was, f"{part}_s"))))
        for part in ("lost", "traffic", "racing", "line", "box")
    }


def of_the_file(path: Path) -> int:
    """Bytes of the tracks in a recording, with what the zip says of them."""
    with zipfile.ZipFile(path) as packed:
        entries = packed.infolist()
        ends = [entry.header_offset for entry in entries[1:]] + [packed.start_dir]
    told = 46  # bytes of the directory at the end, beside name and extra
    return sum(
        end - entry.header_offset + told + len(entry.filename) + len(entry.extra)
        for entry, end in zip(entries, ends, strict=True)
        if entry.filename.startswith("track_")
    )


def main() -> None:
    """Print, of every shipped race, the share of the file and by how much the account is off."""
    with pytest.MonkeyPatch.context() as patched, TemporaryDirectory() as folder:
        for day in sorted(SCENARIOS.glob("*.toml")):
            recording, exact = raced(day.stem, patched)
            path = simrun.save(recording, Path(folder) / "r.npz")
            share = of_the_file(path) / path.stat().st_size
            off = ", ".join(f"{part} {1000 * s:.1f}" for part, s in off_s(recording, exact).items())
            print(f"{day.stem:14} {100 * share:.1f} % of the file, off by at most, in ms: {off}")


if __name__ == "__main__":
    main()
