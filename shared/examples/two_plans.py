"""Inside or outside at the corner? The same people twice, paired by seed: seconds and places behind it."""

import simrun

day = simrun.read("scenarios/dual_meet.toml")
inside = day.changed({"teams.Millbrook.line": "inside"})
seeds = range(1, 13)


def ours(scenario):
    """Our rows behind the corner, by seed: mean seconds and places."""
    table = simrun.races(scenario, seeds)
    rows = table[(table["team"] == "Millbrook") & (table["checkpoint"] == "mill corner")]
    return rows.groupby("seed")[["field_s", "place"]].mean()


won = ours(day) - ours(inside)
for name, unit in (("field_s", "s"), ("place", "places")):
    values = won[name]
    print(f"inside brings {values.mean():+.2f} {unit}, standard error {values.sem():.2f}")
