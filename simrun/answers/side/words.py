"""Can we get to the good side? In sentences: who arrives there, what crossing costs, where it is too late."""

from __future__ import annotations

from simrun.answers.side.side_arms import BEHIND_M, CROSS, KEEP, OTHER, PAPER, TURN_LINES
from simrun.answers.side.side_found import Late, SideFound
from simrun.base.units import length_text
from simrun.pages.numbers import NOTHING_SEEN, mean_and_ends, the_mark
from simrun.pages.sure_words import short_inputs_words, sure_difference, turned_round
from simrun.pages.text import paragraphs, table_text
from simrun.trials.how_sure import Sure

READING = (
    "Whoever passes left of the middle of the narrowing passes it on the left. Told to cross, our runners "
    "aim from the gun for the third of it on the good side; told to keep, for the third on the side of their "
    "box. Told to cross later, each keeps their own place across the course up to a mark. All is told to the "
    "same people in the same races, and a cost is that of one order against another."
)

LAST = (
    "Each of ours keeps their own place across the course up to the mark and crosses from there. The last "
    "place to cross is the last mark from which at least half of ours get over."
)

NEAR_LANDMARK_M = 30.0
INSIDE = next(iter(TURN_LINES))
PEOPLE = 10


def sentence_of(found: SideFound) -> str:
    """Who of ours arrives on the good side, what crossing costs, and where it is too late."""
    if found.team is None:
        return _boxes_words(found)
    if found.on_good_side_already:
        good = f"the good side already, the {found.places.good} at {_narrowing(found)}"
        alone = _of_ten(found.our_share(PAPER))
        return f"Box {found.our_box} is on {good}: {alone} of ours pass it there as on paper."
    return " ".join([_arrive_words(found), cost_words(found), last_words(found)])


def _boxes_words(found: SideFound) -> str:
    """Without a box of ours: from which boxes most arrive, and from which fewest."""
    shares = {box: found.box_share(box) for box in found.day.start.open_boxes}
    known = {box: share for box, share in shares.items() if share.mean == share.mean}
    best, worst = (pick(known, key=lambda box: known[box].mean) for pick in (max, min))
    return (
        f"The good side at {_narrowing(found)} is the {found.places.good}: from box {best} "
        f"{_of_ten(known[best])} arrive there, from box {worst} {_of_ten(known[worst])}."
    )


def _arrive_words(found: SideFound) -> str:
    alone, told = found.our_share(PAPER), found.our_share(CROSS)
    good = f"the good side, the {found.places.good}, at {_narrowing(found)}"
    here = f"From box {found.our_box}, {_of_ten(alone)} of ours reach {good} as on paper"
    return f"{here}, and {_of_ten(told)} when told to cross."


def cost_words(found: SideFound) -> str:
    """What crossing costs against keeping to their own side, in seconds and places."""
    seconds, places = found.cost(CROSS, KEEP)
    by = f"by {found.places.behind}"
    told = [
        sure_difference(seconds, "s", "slower", "faster"),
        sure_difference(places, "places", "further back", "further up"),
    ]
    seen = [words for words in told if words != NOTHING_SEEN]
    own = OTHER[found.places.good]
    if not seen:
        alone = turned_round(seconds, "s", "slower", "faster")
        more = f" ({alone})" if alone else f" ({_limits(seconds)})"
        nothing = f"{NOTHING_SEEN} in seconds or places"
        return f"Crossing instead of keeping {own}: {nothing} {by}{more}."
    return f"Crossing instead of keeping {own}, each of ours is {' and '.join(seen)} {by}."


def _limits(found: Sure) -> str:
    """How large a difference may be that cannot be seen."""
    if found.low != found.low or abs(found.low) == float("inf"):
        return "too few races"
    ends = [
        f"{abs(end):.1f} s {'slower' if end > 0 else 'faster'}" for end in (found.low, found.high)
    ]
    return f"{ends[0]} to {ends[1]}"


def last_words(found: SideFound) -> str:
    """Where to begin to cross at the latest."""
    if not found.where:
        return ""
    last = found.last_place
    if last is None:
        first = found.where[0]
        return f"From {_at(found, first)} it is too late: {_of_ten(first.over)} still get over."
    if last is found.where[-1]:
        return f"Even from {_at(found, last)}, the last place tried, {_of_ten(last.over)} still get over."
    after = [one for one in found.where if one.at_m > last.at_m]
    more = f"; from {_at(found, after[0])} {_of_ten(after[0].over)}" if after else ""
    still = f"{_of_ten(last.over)} still get over from there{more}"
    return f"Cross from {_at(found, last)} at the latest: {still}."


def _at(found: SideFound, one: Late) -> str:
    """ "100 m (20 m beyond the tea tent)"."""
    units = found.day.units
    metres = length_text(one.at_m, units)
    marks = [m for m in found.day.strip.landmarks if abs(m.station_m - one.at_m) <= NEAR_LANDMARK_M]
    if not marks:
        return metres
    mark = min(marks, key=lambda m: abs(m.station_m - one.at_m))
    off = one.at_m - mark.station_m
    if abs(off) < 1.0:
        return f"{the_mark(mark.name)} ({metres})"
    way = "beyond" if off > 0 else "before"
    return f"{metres} ({length_text(abs(off), units)} {way} {the_mark(mark.name)})"


def turn_words(found: SideFound) -> str:
    """Entry, apex and exit of the first turn: what other lines cost against the inside all through."""
    if found.team is None or found.places.turn is None:
        return ""
    parts, same = [], []
    for word in list(TURN_LINES)[1:]:
        told = sure_difference(found.cost(word, INSIDE)[0], "s", "slower", "faster")
        if told == NOTHING_SEEN:
            same.append(word)
        else:
            parts.append(f"{word} is {told}")
    if same:
        parts.append(f"{NOTHING_SEEN} for {' or '.join(same)}")
    turn = found.places.turn.name
    behind = length_text(BEHIND_M, found.day.units)
    return f"At {the_mark(turn)}, against the inside all through, {behind} behind it: {'; '.join(parts)}."


def _narrowing(found: SideFound) -> str:
    return the_mark(found.places.narrowing.name)


def _of_ten(share: Sure) -> str:
    """ "6 of ten (4 to 8)"."""
    if share.mean != share.mean:
        return "nobody"
    told = f"{PEOPLE * share.mean:.0f} of ten"
    if abs(share.low) == float("inf"):
        return told
    ends = sorted(PEOPLE * min(1.0, max(0.0, end)) for end in (share.low, share.high))
    low, high = (f"{end:.0f}" for end in ends)
    return told if low == high else f"{told} ({low} to {high})"


def about_words(found: SideFound) -> str:
    """What was run."""
    invented = "Invented world. " if found.day.invented else ""
    good = f"The good side is the {found.places.good}"
    why = f", the inside of {the_mark(found.places.turn.name)}" if found.places.turn else ""
    return f"{invented}{found.day.name}: {len(found.seeds)} races an order. {good}{why}."


def box_rows(found: SideFound) -> list[list[str]]:
    """A row a box, its head first."""
    head = [["box", f"of ten, {found.places.good} at {found.places.narrowing.name}"]]
    return head + [[str(box), _of_ten(found.box_share(box))] for box in found.day.start.open_boxes]


def our_rows(found: SideFound) -> list[list[str]]:
    """A row an order to ours, its head first."""
    rows = [["ours told", "on the good side", "against", "seconds", "places"]]
    for arm in (CROSS, *(TURN_LINES if found.places.turn else ())):
        against = KEEP if arm == CROSS else INSIDE
        seconds, places = found.cost(arm, against)
        cells = ["-", "-"] if arm == against else list(map(mean_and_ends, (seconds, places)))
        rows.append([arm, _of_ten(found.our_share(arm)), against, *cells])
    return rows


def where_rows(found: SideFound) -> list[list[str]]:
    """A row a mark behind which ours cross, its head first."""
    rows = [["cross from", "get over", "seconds against not crossing", "places"]]
    for one in found.where:
        at = length_text(one.at_m, found.day.units)
        rows.append([at, _of_ten(one.over), mean_and_ends(one.seconds), mean_and_ends(one.places)])
    return rows


def text_of(found: SideFound) -> str:
    """The whole answer as a terminal shows it."""
    return paragraphs(
        sentence_of(found),
        turn_words(found),
        about_words(found),
        table_text(box_rows(found)),
        READING,
        short_inputs_words(found.day),
    )


CHART_ALT = "Of ten who stand in each box, how many pass the narrowing on the good side"


def title_of(found: SideFound) -> str:
    """What the page is called."""
    if found.our_box is None:
        return f"{found.day.name}: who gets to the good side?"
    return f"{found.team}: can we get to the good side from box {found.our_box}?"
