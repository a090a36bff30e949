"""What does it cost our seven not to push in a pack? A tactic of one's own, beside the same races without it.

The same from the command line: simrun race scenarios/brindle_fen.toml --behaviour
shared.examples.patient_pack:PATIENT
"""

import simrun


def ease_behind(wished_m_s, station_m, ahead_m, ahead_m_s, until_m, room_m):
    """Up to a place on the course: the nearer somebody is ahead, the nearer to their speed."""
    if station_m >= until_m or ahead_m >= room_m:
        return wished_m_s
    eased = ahead_m_s + (wished_m_s - ahead_m_s) * ahead_m / room_m
    return min(wished_m_s, max(0.5 * wished_m_s, eased))


PATIENT = simrun.Behaviour(wish=ease_behind, figures={"until_m": 300.0, "room_m": 4.0}, who="ours")

if __name__ == "__main__":
    day = simrun.read("scenarios/brindle_fen.toml")
    marks = ["field_s", "place"]

    def ours(one):
        """Our means by seed at the finish: the same people and the same chances in both."""
        table = simrun.races(one, seeds=6)
        last = table["checkpoint"].iloc[-1]
        rows = table[(table["team"] == day.our_team) & (table["checkpoint"] == last)]
        return rows.groupby("seed")[marks].mean()

    changed = ours(simrun.with_behaviour(day, PATIENT)) - ours(day)
    for name, unit in (("field_s", "s later"), ("place", "places further back")):
        values = changed[name]
        print(f"patient: {values.mean():+.2f} {unit}, standard error {values.sem():.2f}")
