"""What does the box cost when the straight is shorter or longer? Changed scenarios, one table each."""

import simrun

day = simrun.read("scenarios/dual_meet.toml")
for straight_yd in (50, 80, 110):
    changes = {
        "course.pieces.village green.length": f"{straight_yd} yd",
        "course.checkpoints.gate.at": f"{straight_yd + 30} yd",
        "start.draw": "again",  # every team stands in every box in turn: a box, not its team
    }
    table = simrun.races(day.changed(changes), seeds=12)
    at_gate = table[table["checkpoint"] == "gate"]
    by_box = at_gate.groupby("box")["lost_s"].mean()
    print(f"{straight_yd:3d} yd: {at_gate['lost_s'].mean():.1f} s lost at the gate, ", end="")
    print(f"{by_box.max() - by_box.min():.1f} s between the boxes")
