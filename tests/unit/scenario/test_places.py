"""What a scenario may say of a place: read, told back, refused in one line; the race never hears of it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from simrun.base.errors import BadInput
from simrun.scenario.checks.place_checks import named_stations, station_of
from simrun.scenario.named_files import attachment_bytes, attachment_path
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.plan import digest_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"
DUAL = SCENARIOS / "dual_meet.toml"


def with_places(tmp_path: Path, text: str) -> Path:
    """The dual meet with this said of its places."""
    path = tmp_path / "day.toml"
    path.write_text(f"{DUAL.read_text('utf-8')}\n{text}", encoding="utf-8")
    return path


def test_everything_that_may_be_said_is_read(tmp_path: Path) -> None:
    text = """
[[places]]
at = "well"
name = "the old well"
side = "left"
see = "a red bucket"
note = "Look up."
coach = \"\"\"two
lines\"\"\"
photo = "a.jpg"
clip = "b.mp4"
clip_from = "0:12"
clip_to = 20
view = "back"
mind = ["low branches", "loose stones"]
crowd = true
barrier = "right"
"""
    (place,) = read(with_places(tmp_path, text)).places
    assert (place.at, place.side, place.see, place.view) == ("well", "left", "a red bucket", "back")
    assert (place.clip_from_s, place.clip_to_s) == (12.0, 20.0)
    assert place.mind == ("low branches", "loose stones")
    assert place.crowd
    assert place.coach == "two\nlines"


def test_a_place_is_found_by_name_by_lap_and_by_metres() -> None:
    """Against the strip: the second lap of a turn lies one lap of the measured line beyond its first."""
    strip = read(SCENARIOS / "ferry_meadow.toml").strip
    known = named_stations(strip)
    one, two = (gate for gate in strip.gates if gate.name == "barn corner")
    assert known["barn corner"] == known["barn corner@1"] == strip.station_m[one.first_cut]
    assert known["barn corner@2"] == strip.station_m[two.first_cut]
    assert known["gun"] == 0
    assert known["finish"] == strip.length_m
    fen = read(SCENARIOS / "brindle_fen.toml")
    assert [round(station_of(place, fen.strip)) for place in fen.places] == [
        0,
        70,
        175,
        270,
        560,
        720,
    ]


def test_metres_and_yards_are_places_too(tmp_path: Path) -> None:
    found = read(with_places(tmp_path, '[[places]]\nat = 100\n[[places]]\nat = "150 yd"\n'))
    assert [place.at for place in found.places] == [100.0, pytest.approx(137.16)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[[places]]\nat = "wel"', "places.1.at: 'wel'.*did you mean 'well'"),
        ("[[places]]\nat = 5000", "places.1.at: 5000 m; at most"),
        ('[[places]]\nat = "well"\n[[places]]\nat = "well"', "places.2.at: told twice"),
        ('[[places]]\nsee = "x"', "places.1.at: missing; needed: the name of a place"),
        ('[[places]]\nat = "well"\nnotes = "x"', "places.1.notes: unknown key.*'note'"),
        ('[[places]]\nat = "well"\nview = "up"', "places.1.view: 'up'; one of ahead, back"),
        ('[[places]]\nat = "well"\nclip_from = 3', "places.1.clip: missing"),
        (
            '[[places]]\nat = "well"\nclip = "a.mp4"\nclip_from = 9\nclip_to = 4',
            "places.1.clip_to: 4 s; later than clip_from, 9 s",
        ),
        ('[[places]]\nat = "well"\nsee = "a\\nb"', "places.1.see: .*on one line"),
        ("places = 3", "places"),
    ],
)
def test_what_cannot_be_said_is_one_line(tmp_path: Path, text: str, told: str) -> None:
    path = with_places(tmp_path, text)
    if text.startswith("places ="):
        path.write_text(f"{text}\n{DUAL.read_text('utf-8')}", encoding="utf-8")
    with pytest.raises(BadInput) as wrong:
        read(path)
    (problem,) = wrong.value.problems
    assert re.search(told, str(problem))


def test_what_is_said_of_places_changes_no_race(tmp_path: Path) -> None:
    """The same short name in a store; and another where the ground changes, as ever."""
    plain, told = read(DUAL), read(with_places(tmp_path, '[[places]]\nat = "well"\nnote = "Look."'))
    assert told != plain
    assert digest_of(told) == digest_of(plain)
    assert digest_of(plain.changed({"start.width": "23 yd"})) != digest_of(plain)


def test_a_study_may_move_the_ground_from_under_a_place(tmp_path: Path) -> None:
    """Without its landmarks, or shorter, the day is a day still; and its text makes it again."""
    day = read(with_places(tmp_path, '[[places]]\nat = "well"\nnote = "Look."'))
    changed = day.changed({"course.landmarks": None})
    assert changed.places == day.places
    assert Scenario.from_json(day.to_json()).places == day.places


@pytest.mark.parametrize("name", ["../secret.jpg", "/etc/passwd", "C:\\x.jpg", "a/../../x.jpg"])
def test_a_picture_may_not_lie_outside(tmp_path: Path, name: str) -> None:
    (tmp_path / "day").mkdir()
    (tmp_path / "secret.jpg").write_bytes(b"x")
    with pytest.raises(BadInput, match=r"places\.1\.photo: .*lies elsewhere"):
        attachment_path(tmp_path / "day", name, "places.1.photo")


def test_a_picture_that_is_missing_too_large_or_a_folder_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "willow.jpg").write_bytes(b"x" * 100)
    (tmp_path / "folder.jpg").mkdir()
    for name, told in (("wilow.jpg", "did you mean 'willow.jpg'"), ("folder.jpg", "no plain file")):
        with pytest.raises(BadInput, match=told):
            attachment_path(tmp_path, name, "places.1.photo")
    with pytest.raises(BadInput, match=r"willow\.jpg': larger than allowed"):
        attachment_bytes(tmp_path, "willow.jpg", 99, "places.1.photo")
    assert attachment_bytes(tmp_path, "willow.jpg", 100, "k") == b"x" * 100


def test_a_link_may_not_lead_outside(tmp_path: Path) -> None:
    (tmp_path / "day").mkdir()
    (tmp_path / "secret.jpg").write_bytes(b"x")
    (tmp_path / "day" / "a.jpg").symlink_to(tmp_path / "secret.jpg")
    with pytest.raises(BadInput, match="lies elsewhere"):
        attachment_path(tmp_path / "day", "a.jpg", "k")
