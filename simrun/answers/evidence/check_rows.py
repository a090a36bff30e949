"""Which rows are read off an experiment? One function an experiment, and why what is missed is missed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simrun.answers.evidence.check_kinds import Check, against, caused, mean_and_reach, ordering
from simrun.answers.evidence.experiments import corner as corner
from simrun.answers.evidence.experiments import flow as flow
from simrun.answers.evidence.experiments import queue as queue
from simrun.answers.evidence.experiments.arena import Array
from simrun.sources import figure

# --- Flow ---

WALKER_DENSITIES = {
    0.5: "crowd.walkers_speed_at_half_m_s",
    1.0: "crowd.walkers_speed_at_1_m_s",
    2.0: "crowd.walkers_speed_at_2_m_s",
    3.0: "crowd.walkers_speed_at_3_m_s",
    4.0: "crowd.walkers_speed_at_4_m_s",
}
RUNNER_DENSITIES = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0)

WIDE_CAUSE = (
    "whoever is up to 0.2 m beside the body's width is followed with the full time gap, softened only "
    "in its acceleration: about 1.1 files of runners a metre of width run where 1.5 would fit (a time gap "
    "softened in the same way gives a saturation of 2.5 /s/m)"
)
PEAK_CAUSE = (
    "at the time gap of 0.7 s the closed corridor passes at most 1.3 /s/m, and so does Weidmann's own "
    "curve (1.2): both cannot be met with one time gap"
)


def walkers_corridor_rows(found: flow.SpeedDensity) -> tuple[Check, ...]:
    pairs = zip(found.density_per_m2, found.speed_m_s, strict=True)
    return tuple(against(WALKER_DENSITIES[density], speed, "B") for density, speed in pairs)


def runners_corridor_rows(found: flow.SpeedDensity) -> tuple[Check, ...]:
    most = found.saturation_per_s_m
    at = found.density_per_m2[found.flow_per_s_m.argmax()]
    note = f"largest flow in a closed corridor, at {at:g} a square metre"
    return (
        caused(against("crowd.runners_flow_per_s_m", most, "B", note=note), WIDE_CAUSE),
        caused(against("crowd.runners_flow_widest_per_s_m", most, "B", note=note), WIDE_CAUSE),
    )


def walkers_bottleneck_rows(found: flow.FlowWidth) -> tuple[Check, ...]:
    key = "crowd.walkers_bottleneck_per_s_m"
    rows = [
        against(key, each, "B", name=f"flow of walkers through {width:g} m, a metre of width")
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
    return tuple(caused(row, WIDE_CAUSE) for row in rows)


def start_waves_rows(found: dict[str, flow.StartWave]) -> tuple[Check, ...]:
    note = "rows 1 m apart, as in the boxes; runners 0.8 m apart 0.9 m/s, 1.2 m apart 2.2 m/s"
    return tuple(
        against(
            "crowd.start_wave_m_s",
            wave.speed_m_s,
            "B",
            name=f"start wave of standing {kind}s",
            note=note,
        )
        for kind, wave in found.items()
    )


def single_file_rows(found: flow.Following) -> tuple[Check, ...]:
    worst = np.abs(found.gap_m / found.law_m - 1).max()
    source = "Treiber, Hennecke and Helbing (2000), without the free-road term. (computed)"
    name = "gap in single file against s0 + T v, largest deviation"
    note = "the law by itself: shows that the kernel carries it out, not that runners keep it"
    return (Check(name, "A", float(worst), 0.0, 0.01, "", source, note=note),)


# --- Corners ---

HANNUN = "Hannun et al. (2022). PLoS ONE e0264635; sign only. (seen)"
SIDES_CAUSE = (
    "not understood; the outer files wait for inner ones that cut in at the corner. With the sideways push "
    "of the avoidance switched off the walkers' wrong sign is smaller, so that law is the first to look at"
)


def corner_rows(found: dict[str, corner.CornerSides]) -> tuple[Check, ...]:
    rows = []
    for kind, sides in found.items():
        slow, fast = sides.wished_m_s
        name = f"dense {kind}s round a corner, wish {fast:g} m/s: inner side slower by"
        rows.append(ordering(name, sides.slower_m_s[1], "m/s", HANNUN))
        name = f"dense {kind}s: inner side slower at {fast:g} m/s than at {slow:g} m/s, by more"
        more = sides.slower_m_s[1] - sides.slower_m_s[0]
        rows.append(ordering(name, more, "m/s", HANNUN))
    return tuple(caused(row, SIDES_CAUSE) for row in rows)


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
    arrival = queue.line_arrivals_s(200, 100.0, 300.0, 5.0)
    delay = queue.queue_delay_s(arrival, 16.0)
    free = queue.free_straight_m(200, 5.0, 0.35, 16.0)
    per_m = figure("crowd.door_165_flow_per_s").value / 1.4
    door, hall = queue.through_s(165, 1.4, per_m), queue.through_s(200, 3.0, per_m)
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


def open_data_rows(found: tuple[float, float] | None) -> tuple[Check, ...]:
    if found is None:
        return ()
    note = "the data themselves, read anew: a saturated start gives a straight line"
    rate, straight = found
    return (
        against("crowd.gun_rate_per_s", rate, "B", note=note),
        against("crowd.gun_straightness", straight, "B", note=note),
    )
