"""Which rows are read off an experiment? One function an experiment, and why what is missed is missed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simrun.answers.evidence.check_kinds import Check, against, caused, mean_and_reach, ordering
from simrun.answers.evidence.experiments import corner as corner
from simrun.answers.evidence.experiments import flow as flow
from simrun.answers.evidence.experiments import queue as queue
from simrun.answers.evidence.experiments.arena import Array
from simrun.measure import hand_queue
from simrun.sources import figure

FITTED = "fitted to"
JUDGED = "not fitted to; how it moves with the laws had been seen"
SEEN = "not fitted to, but looked at when sway and set-off wait were chosen: judges weakly"
"""Half of the rows about crowds served to fit the laws, the other half judges."""

# --- Flow ---

WALKER_DENSITIES = {
    0.5: "crowd.walkers_speed_at_half_m_s",
    1.0: "crowd.walkers_speed_at_1_m_s",
    2.0: "crowd.walkers_speed_at_2_m_s",
    3.0: "crowd.walkers_speed_at_3_m_s",
    4.0: "crowd.walkers_speed_at_4_m_s",
}
RUNNER_DENSITIES = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0)
MEASURED_DENSITIES = {1.5: FITTED, 2.0: JUDGED, 2.5: FITTED, 3.0: JUDGED}
"""Where the published flow was measured, 1.48 to 3.01 per m2; which of these points served to fit."""

DENSE_CAUSE = (
    "one time gap serves all densities: a shorter one (0.37 s) gives 1.70 /s/m at 3 per m2, but then funnels "
    "pass 2.6 to 2.9 /s/m, above the published 2.53"
)
PEAK_CAUSE = (
    "walkers of one time gap cannot pass 1.3 /s/m through 0.8 m, where two do not fit side by side, and also "
    "walk at 0.33 m/s at 3 per m2: a time gap of 0.6 s gives 1.15 /s/m there and 0.41 m/s"
)


def walkers_corridor_rows(found: flow.SpeedDensity) -> tuple[Check, ...]:
    pairs = zip(found.density_per_m2, found.speed_m_s, strict=True)
    return tuple(
        against(
            WALKER_DENSITIES[at], speed, "B", note=FITTED if at in (1.0, 3.0) else "not fitted to"
        )
        for at, speed in pairs
    )


def runners_corridor_rows(found: flow.SpeedDensity) -> tuple[Check, ...]:
    """The flow at the densities at which it was measured, not the largest at any."""
    flows = dict(zip(found.density_per_m2.tolist(), found.flow_per_s_m, strict=True))
    rows = [
        against(
            "crowd.runners_flow_per_s_m",
            flows[density],
            "B",
            name=f"flow of runners along a corridor at {density:g} a square metre, a metre of width",
            note=note,
        )
        for density, note in MEASURED_DENSITIES.items()
    ]
    widest = against(
        "crowd.runners_flow_widest_per_s_m",
        flows[1.0],
        "B",
        name="the same at 1 a square metre, against every source together",
        note=SEEN,
    )
    return (*(caused(row, DENSE_CAUSE) for row in rows), widest)


def walkers_bottleneck_rows(found: flow.FlowWidth) -> tuple[Check, ...]:
    key = "crowd.walkers_bottleneck_per_s_m"
    rows = [
        against(
            key,
            each,
            "B",
            name=f"flow of walkers through {width:g} m, a metre of width",
            note=FITTED if width in (0.8, 1.6, 2.4) else JUDGED,
        )
        for width, each in zip(found.width_m, found.flow_per_s_m, strict=True)
    ]
    source = figure(key).citation()
    straight = Check(
        "flow of walkers against width", "B", found.straightness, 0.95, 1, "R2", source
    )
    note = "published: linear; R2 of 0.95 is our reading of it"
    return (*(caused(row, PEAK_CAUSE) for row in rows), replace(straight, note=note))


def runners_throat_rows(found: flow.FlowWidth) -> tuple[Check, ...]:
    rows = [
        against(
            "crowd.runners_flow_per_s_m",
            each,
            "B",
            name=f"flow of runners at the end of a funnel to {width:g} m, a metre of width",
        )
        for width, each in zip(found.width_m, found.flow_per_s_m, strict=True)
    ]
    return tuple(replace(row, note=SEEN) for row in rows)


ROW_GAPS_M = (0.7, 0.85, 1.0, 1.2)


def start_waves_rows(found: dict[tuple[str, float], flow.StartWave]) -> tuple[Check, ...]:
    return tuple(
        against(
            "crowd.start_wave_m_s",
            wave.speed_m_s,
            "B",
            name=f"start wave of standing {kind}s, rows {row_gap_m:g} m apart",
            note=FITTED if row_gap_m == 1.0 else SEEN,
        )
        for (kind, row_gap_m), wave in found.items()
    )


def single_file_rows(found: flow.Following) -> tuple[Check, ...]:
    worst = np.abs(found.gap_m / found.law_m - 1).max()
    source = "Treiber, Hennecke and Helbing (2000), without the free-road term. (computed)"
    name = "gap in single file against s0 + T v, largest deviation"
    note = "the law by itself: shows that the kernel carries it out, not that runners keep it"
    return (Check(name, "A", float(worst), 0.0, 0.01, "", source, note=note),)


# --- Corners ---

HANNUN = "Hannun et al. (2022). PLoS ONE e0264635; sign only. (seen)"


def corner_rows(found: dict[str, corner.CornerSides]) -> tuple[Check, ...]:
    rows = []
    for kind, sides in found.items():
        slow, fast = sides.wished_m_s
        name = f"dense {kind}s round a corner, wish {fast:g} m/s: inner side slower by"
        note = FITTED if kind == "walker" else JUDGED
        rows.append(ordering(name, sides.slower_m_s[1], "m/s", HANNUN, note=note))
        name = f"dense {kind}s: inner side slower at {fast:g} m/s than at {slow:g} m/s, by more"
        more = sides.slower_m_s[1] - sides.slower_m_s[0]
        rows.append(ordering(name, more, "m/s", HANNUN, note="not fitted to"))
    return tuple(rows)


def twenty_rows(found: corner.CorridorCorner) -> tuple[Check, ...]:
    source = figure("crowd.corner_crossings").citation()
    note = "from the places alone, between two steps too"
    name = "people of 20 who arrive behind the corner of a 2 m corridor"
    return (
        against("crowd.corner_crossings", found.crossings, "A", note=note),
        Check(name, "A", found.arrived, 20, 20, "", source),
    )


def flip_rows(found: corner.Flip) -> tuple[Check, ...]:
    source = "A sharp turn is faster taken wide in the pack. (common practice)"
    name = f"{found.runners[-1]} runners, all others inside: the outside is faster by"
    return (ordering(name, found.difference_s[-1, -1], "s", source),)


# --- Queues ---


def closed_forms_rows(_: object) -> tuple[Check, ...]:
    arrival = hand_queue.line_arrivals_s(200, 100.0, 300.0, 5.0)
    delay = hand_queue.queue_delay_s(arrival, 16.0)
    free = hand_queue.free_straight_m(200, 5.0, 0.35, 16.0)
    per_m = figure("crowd.door_165_flow_per_s").value / 1.4
    door, hall = hand_queue.through_s(165, 1.4, per_m), hand_queue.through_s(200, 3.0, per_m)
    note = "a hand calculation: tests the formula, not the simulation"
    values = {
        "crowd.queue_last_through_s": (arrival + delay).max(),
        "crowd.queue_mean_delay_s": delay.mean(),
        "crowd.queue_largest_delay_s": delay.max(),
        "crowd.queue_free_straight_m": free,
        "crowd.door_165_s": door,
        "crowd.corridor_200_s": hall,
    }
    return tuple(against(key, value, "A", note=note) for key, value in values.items())


def instant_rows(found: queue.InstantArrival) -> tuple[Check, ...]:
    source = figure("crowd.queue_mean_delay_s").reference
    mean, reach = mean_and_reach(found.mean_ratio)
    name = "all at once at a throat: mean loss over (N - 1) / 2C"
    note = (
        "600 people; C from the same run, so this tests the straight line; 5 % for discrete bodies. "
        "With 300 people it is 0.94: those who stand in the opening from the first do not queue"
    )
    return (Check(name, "A", mean, 0.95, 1.05, "", f"{source} (computed)", reach, note),)


BOGENBERGER = "Bogenberger, Treiber and Malcolm (2025). Physica A 665; signs. (seen)"


def wider_rows(found: queue.Compared) -> tuple[Check, ...]:
    return (
        ordering(
            "line of 60 m instead of 30 m: less lost by", found.saved_s(0, 1), "s", BOGENBERGER
        ),
        ordering(
            "straight of 240 m instead of 60 m: less lost by", found.saved_s(0, 2), "s", BOGENBERGER
        ),
    )


def dispersion_rows(found: queue.Compared) -> tuple[Check, ...]:
    source = figure("crowd.queue_free_straight_m").citation()
    rows = {
        "straight of 400 m instead of 100 m: less lost by": (0, 1),
        "the same with half the spread of speeds": (2, 3),
        "half the spread of speeds, 100 m: more lost by": (2, 0),
        "half the spread of speeds, 400 m: more lost by": (3, 1),
    }
    note = (
        "one row on a line of 60 m; where six rows stand behind a line of 20 m the start wave decides, and "
        "the sign does not come out (356 m instead of 100 m: 0.24 s more lost)"
    )
    return tuple(
        ordering(name, found.saved_s(*pair), "s", source, note=note) for name, pair in rows.items()
    )


def exchanged_rows(found: queue.Compared) -> tuple[Check, ...]:
    mean, reach = mean_and_reach(found.saved_s(0, 1))
    name = "mean loss at a throat when the boxes' middle and ends change places: change"
    note = f"band: its own 95 % interval about 0; the loss itself is {found.loss_s[0].mean():.1f} s"
    source = f"{figure('crowd.queue_mean_delay_s').reference} (computed)"
    band = round(reach, 3)
    return (Check(name, "A", mean, -band, band, "s", source, reach, note),)


def half_closed_rows(found: queue.Openings) -> tuple[Check, ...]:
    note = "everybody is given an opening beforehand: a course has one way through"
    return (against("crowd.half_openings_factor", found.factor, "B", note=note),)


DELAYS_S = tuple(range(10, 101, 10))


def own_times_rows(moved: Array) -> tuple[Check, ...]:
    late = np.abs(moved - np.array(DELAYS_S)).max()
    source = figure("crowd.response_step_s").citation()
    name = "ten runners told to wait 10 to 100 s: largest error of setting off"
    step = figure("clock.step_s").value
    note = "one step, 0.05 s, is allowed"
    return (Check(name, "A", float(late), 0.0, step * (1 + 1e-6), "s", source, note=note),)


def even_start_rows(found: Sequence[float]) -> tuple[Check, ...]:
    crowd, alone = found
    note = f"not fitted to; 60 rows of runners on 4 m; where nobody minds anybody it is {alone:.3f}"
    return (against("crowd.gun_straightness", crowd, "B", note=note),)


def open_data_rows(found: tuple[float, float] | None) -> tuple[Check, ...]:
    if found is None:
        return ()
    note = "the data themselves, read anew: a saturated start gives a straight line"
    rate, straight = found
    return (
        against("crowd.gun_rate_per_s", rate, "B", note=note),
        against("crowd.gun_straightness", straight, "B", note=note),
    )
