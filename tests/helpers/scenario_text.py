"""A scenario file that uses nearly every key, in an invented world, and changed copies of it."""

from __future__ import annotations

from pathlib import Path

SCENARIOS = Path(__file__).parents[2] / "scenarios"

WHOLE = """\
name = "Low Meadow farm race"
about = "An invented race on an invented farm."
invented = true
units = "metric"

[clock]
limit = "6 min"
step_s = 0.05
frame_s = 0.1

[start]
width = "60 m"
shape = "arc"
aim = "160 m"
box_width = "2.5 m"
boxes = 24
front_row = 3
row_gap = "1 m"
empty = [7]
draw = "list"
gun = "left"

[course]
laps = { from = "bank straight", to = "gate bend", times = 2 }

[[course.pieces]]
piece = "straight"
name = "hay meadow"
length = 150
width = 60
right = "barrier"

[[course.pieces]]
piece = "narrowing"
name = "gateway"
length = "40 m"
width = 8
side = "left"

[[course.pieces]]
piece = "straight"
name = "bank straight"
length = "200 yd"
climb = 2

[[course.pieces]]
piece = "turn"
name = "barn corner"
side = "left"
angle = 90
inside_radius = "4 m"
around = "corner of the barn"

[[course.pieces]]
piece = "trail"
name = "flood bank"
length = 100
surface = "dirt"

[[course.pieces]]
piece = "turn"
name = "post turn"
side = "left"
angle = 90
inside_radius = 4

[[course.pieces]]
piece = "straight"
name = "back straight"
length = "200 yd"
climb = -2

[[course.pieces]]
piece = "turn"
name = "yard turn"
side = "left"
angle = 90
inside_radius = 4

[[course.pieces]]
piece = "straight"
name = "yard"
length = 100

[[course.pieces]]
piece = "turn"
name = "gate bend"
side = "left"
angle = 90
inside_radius = 4

[[course.checkpoints]]
name = "400 m"
at = 400

[[course.landmarks]]
name = "big oak"
at = "150 yd"

[field]
ability = "normal"
time = "18:30"
spread = "60 s"
body = "men"
runners = 7
fill = false
opening = 0.10
opening_spread = 0.03
opening_for = "200 m"
settle_over = "200 m"
lines = { inside = 0.6, middle = 0.2, outside = 0.2 }
pull = [0.3, 1.0]

[[teams]]
name = "Alderbrook"
box = 12
ours = true
runners = 6
opening = 0.12
line = "outside"
lines = { "barn corner" = "inside", "gate bend@2" = 1.5 }
pull = 0.5
front = ["Aro Fen", "Bil Tarn"]

[[teams.people]]
name = "Aro Fen"
time = "17:55"
opening = 0.15
line = "inside"
row = 1

[[teams.people]]
name = "Bil Tarn"

[[teams.people]]
name = "Cade Holm"
row = 2

[[teams]]
name = "Birchmoor"
box = 3
"""

ENTRIES = """\
name,team,time
Aro Fen,Alderbrook,17:55
Bil Tarn,Alderbrook,18:10.5
Dun Weir,Alderbrook,18:40
Ebb Sallow,Birchmoor,18:05
Fen Marl,Birchmoor,19:00
"""

SMALL = """\
name = "Two farms"
[start]
width = 30
box_width = 2
boxes = 10
front_row = 2
[course]
[[course.pieces]]
piece = "straight"
length = 200
width = 30
[field]
teams = 2
"""


def swapped(old: str, new: str, text: str = WHOLE) -> str:
    """`text` with `old`, which must stand in it exactly once, replaced by `new`."""
    assert text.count(old) == 1, f"{text.count(old)} times in the text: {old!r}"
    return text.replace(old, new)


def write_scenario(folder: Path, text: str = WHOLE, name: str = "meadow.toml") -> Path:
    """Write a scenario into a folder."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def bent_fen(bends: list[tuple[str, str, float]], lines: str) -> str:
    """Brindle Fen with bends in its ditch side (name, side, degrees), 20 m apart, and orders for our team."""
    parts = ['name = "ditch side"\nlength = 60\nwidth = 6\n']
    for name, side, degrees in bends:
        named = f'name = "{name}"\n' if name else ""
        turn = f'piece = "turn"\n{named}side = "{side}"\nangle = {degrees}\ninside_radius = 5\n'
        parts += [turn, 'piece = "straight"\nlength = 20\n']
    straight = 'name = "ditch side"\nlength = 160\nwidth = 6\n'
    text = (SCENARIOS / "brindle_fen.toml").read_text("utf-8")
    text = text.replace(straight, "\n[[course.pieces]]\n".join(parts))
    text = text.replace("at = 856.2", "at = 830").replace("length = 260", "length = 300")
    return text.replace("ours = true\n", f"ours = true\nlines = {{ {lines} }}\n", 1)
