"""What the desk says of a race day, the command line says too, to the last digit that the page has."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from simrun.cli import main
from simrun.desk.desk_hands import Hands
from simrun.desk.work.estimates import ROUNDS, until_m
from simrun.scenario.reader import read
from tests.helpers.desks import folder_with

pytestmark = pytest.mark.slow

SHIPPED = sorted(path.stem for path in (Path(__file__).parents[2] / "scenarios").glob("*.toml"))
DRAWN = "drawn at the desk"
WAY = {
    "name": "Blank park",
    "points": [[0, 0], [150, 0], [240, 60], [200, 180], [60, 160]],
    "line": 40.0,
    "width": 6.0,
    "boxes": 14,
    "box_width": 2.5,
    "front_row": 3,
    "laps": 1,
}


def first_raced(hands: Hands, file: str) -> dict[str, Any]:
    """The first figures that the page would show."""
    hands.estimate({"file": file})
    begun = time.monotonic()
    while (told := hands.estimated({})).get("races", 0) < ROUNDS[0]:
        assert told["state"] != "failed", told
        assert time.monotonic() - begun < 300
        time.sleep(0.02)
    hands.estimates.drop()
    return told


@pytest.mark.parametrize("name", [*SHIPPED, DRAWN])
def test_the_desk_and_the_command_line_say_the_same(name: str, tmp_path: Path) -> None:
    """A day is turned by one drag, or drawn; then its line and its first two races, by both."""
    drawn = name == DRAWN
    folder = folder_with(tmp_path / "days", *([] if drawn else [name]))
    hands, file = Hands(folder, workers=1), "blank_park.toml" if drawn else f"{name}.toml"
    if drawn:
        hands.drawn({**WAY, "file": file})
    digest = hands.day({"file": file})["digest"]
    page = hands.change({"file": file, "digest": digest, "what": "line", "tilt": 1.5})
    told = first_raced(hands, file)
    held = hands.kept({"file": file}).day()
    hands.close()
    day = read(folder / file)
    assert day.start.tilt_deg == 1.5
    assert day.to_json() == held.to_json()
    out, asked = tmp_path / "out", ["--seeds", str(ROUNDS[0]), "--until", repr(until_m(day))]
    words = ["layout", str(folder / file), *asked, "--workers", "1", "--quiet", "--out", str(out)]
    assert main(words) == 0
    rows = pd.read_csv(out / "layout.csv")
    row = rows[rows["checkpoint"] == told["at"]].iloc[0]
    assert int(row["races"]) == told["races"]
    assert max(page["line"]["extra"]) == round(float(row["extra_m_farthest_box"]), 2)
    for shown, column in (("spread_s", "unfairness_s"), ("lost_s", "lost_s")):
        assert told[shown][0] == round(float(row[column]), 3), column
    assert told["slowed"][0] == round(float(row["crowd_slowed_share"]), 3)
    assert round(told["density"], 6) == float(row["crowd_density_per_m2"])
