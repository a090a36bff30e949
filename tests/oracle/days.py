"""Race days on which a pencil can say what comes out."""

from __future__ import annotations

SPEED_M_S = 5.0
"""5000 m in 16:40."""

ALONE = """
name = "Alone"
[clock]
limit = "5 min"
[start]
width = 3
boxes = 1
box_width = 3
front_row = 1
[course]
[[course.pieces]]
piece = "straight"
length = 600
width = 3
surface = "road"
[[course.checkpoints]]
name = "near"
at = 100
[[course.checkpoints]]
name = "far"
at = 500
[field]
ability = "even"
time = "16:40"
runners = 1
opening = 0
[[teams]]
name = "One"
box = 1
"""

FAN = """
name = "Fan"
[clock]
limit = "5 min"
[start]
width = 60
boxes = 3
box_width = 20
front_row = 1
[course]
[[course.pieces]]
piece = "straight"
length = 100
width = 60
surface = "road"
[[course.pieces]]
piece = "straight"
length = 300
width = 2
surface = "road"
[[course.checkpoints]]
name = "gate"
at = 100
[[course.checkpoints]]
name = "end"
at = 390
[field]
ability = "even"
time = "16:40"
runners = 1
opening = 0
[[teams]]
name = "Left"
box = 1
[[teams]]
name = "Middle"
box = 2
[[teams]]
name = "Right"
box = 3
"""
"""Three alone in boxes 20 m apart, and a gate of 2 m straight ahead of the middle one at 100 m."""

BOXES = """
name = "Boxes"
[clock]
limit = "{limit} s"
[start]
width = 60
boxes = {boxes}
box_width = 12
front_row = 1
[course]
[[course.pieces]]
piece = "straight"
length = 150
width = 60
surface = "road"
[[course.pieces]]
piece = "turn"
side = "left"
angle = 90
inside_radius = 5
[[course.pieces]]
piece = "straight"
length = 150
surface = "road"
[[course.checkpoints]]
name = "before"
at = 100
[[course.checkpoints]]
name = "after"
at = 290
[field]
ability = "even"
time = "16:40"
runners = 1
opening = 0
[[teams]]
name = "One"
box = 1
"""
"""As wide as the line all the way; only the turn at its end tells the boxes apart."""

TURN = BOXES[
    BOXES.index('[[course.pieces]]\npiece = "turn"') : BOXES.index("[[course.checkpoints]]")
]
STRAIGHT = BOXES.replace(TURN, "").replace("at = 290", "at = 145")
