"""What does not go together in a plan: days against the season, seeds against the packet, batches against the bench."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from cropdata.agronomy.windows import Window, days_after
from cropdata.season import waiting
from cropdata.season.crop_part import CropPart
from cropdata.season.drafting import counted
from cropdata.season.plan import Conflict, PlannedSowing
from cropdata.season.season_parts import Packet
from cropdata.season.site import Site
from cropdata.season.totals import trays_if_shared
from cropdata.season.words import Words

Parts = Mapping[tuple[str, bool, bool], CropPart]
Thing = TypeVar("Thing")
SHOWN = 3  # names in one sentence


def failed(line: PlannedSowing, day: datetime.date, words: Words) -> Conflict:
    """A sowing that the records know as given up."""
    return Conflict("failed", day, None, f"{line.name}: given up on {words.day(day)} by your records: sow again, or change the plan.", (line.id,))  # fmt: skip


def held_up(line: PlannedSowing, usual: Window, words: Words) -> Conflict:
    """A bench on which seedlings come too late for their planting out, `usual`."""
    assert line.seedlings is not None and line.plant_out is not None
    text = (
        f"{line.name}: at this warmth its seedlings come {words.span(*line.seedlings)}, some too late to be planted out {words.span(*usual)}: "
        f"reckoned with {words.span(*line.plant_out)}, when they have true leaves. Keep it warmer."
    )
    return Conflict("bench", usual.first, line.plant_out.last, text, (line.id,))


def namesakes(name: str, packets: Sequence[Packet]) -> Conflict:
    """Packets that only their order in the file tells apart."""
    text = (
        f"{counted(len(packets), 'packet')} are called {name}: only their order in the file tells them apart in calendar and records; "
        "give each a variety or an id."
    )
    return Conflict("names", None, None, text)


def date_clashes(
    line: PlannedSowing, part: CropPart, words: Words, window: Window | None, overdue: str = "",
    *, usual: Window | None = None, late: int = 0, sown: bool = False,
) -> list[Conflict]:  # fmt: skip
    """A sowing against the season: too early for the bench or for the cold outside, or too late before the frost.

    `window`: the reckoned one, where the day is the grower's own, stated or recorded; else None. `overdue`: why it is
    reckoned from another day than planned, where it is overdue. `usual`: its planting out, before it is held back
    for true leaves; None once it is planted. `late`: days by which its seedlings came later than expected, by the records; `sown`:
    by them too.
    """
    found: list[Conflict] = []
    if line.sow is None:
        return found
    name, sow, site = line.name, line.sow, part.site

    def add(kind: str, first: datetime.date, last: datetime.date | None, text: str) -> None:
        found.append(Conflict(kind, first, last, f"{name}: {text}", (line.id,)))

    safe = part.timing.safe_from
    if line.plant_out is not None and safe is not None and line.plant_out.first < safe and not part.autumn:
        add("early", line.plant_out.first, safe, (  # only a recorded day can be so early
            f"planted out on {words.day(line.plant_out.first)}, before it is safe from frost, cold nights and cold soil ({words.day(safe)}); chance "
            f"of a later frost {words.chance(site.frost_left(line.plant_out.first))}: cover it."
        ))  # fmt: skip
    weeks = part.crop.weeks_to_raise
    if window is not None:
        if usual is not None and weeks is not None:
            too_soon = (usual.first - sow.first).days - late - round(7 * weeks.high)
            if too_soon > 0:
                advice = "pot it on and keep it longer" if sown else "sow later, or pot on and keep it longer"
                add("early", sow.first, usual.first, (
                    f"sown on {words.day(sow.first)} it is ready {counted(too_soon, 'day')} before it can go out "
                    f"({words.day(usual.first)}): {advice}."
                ))  # fmt: skip
        if overdue:
            add("late", min(window.last, sow.first), sow.first, overdue)
        elif sow.first > window.last:
            add("late", window.last, sow.first, f"sown on {words.day(sow.first)}, later than its window ({words.span(*window)}).")  # fmt: skip
        if part.in_place and sow.first < window.first:
            add("early", sow.first, window.first, f"sown on {words.day(sow.first)}, before its window begins ({words.day(window.first)}).")  # fmt: skip
    warmth = _cold_and_heat(line, part, words, name)
    found += warmth
    if line.seedlings is None and part.in_place and not warmth and _none_come_up(line, part):
        add("cold", sow.first, sow.last, f"sown on {words.span(*sow)} no seedlings can be counted on: the soil is colder or warmer then than it comes up in.")  # fmt: skip
    timed = part.timing.sow
    if window is None and part.autumn and line.number > 1 and timed is not None and sow.first > timed.last:
        add("late", timed.last, sow.first, f"sown on {words.day(sow.first)}, later than the window counted back from the first frost ({words.span(*timed)}).")  # fmt: skip
    found += _autumn(line, part, words, name, own=window is not None)
    return found


def _autumn(line: PlannedSowing, part: CropPart, words: Words, name: str, *, own: bool) -> list[Conflict]:
    """A sowing that is caught by the autumn: outside only after the first frost, or not ripe before it.

    A hardy crop may well be harvested after it in its usual window; where it is sown later than that (`own`, or one of
    several sowings) nobody says that it still ripens.
    """
    site, outside, harvest = part.site, line.plant_out or line.seedlings or line.sow, line.harvest
    frost = site.first_frost
    if frost is None or outside is None:
        return []
    day = words.day(frost)
    when = f"the first frost of one year in two ({day})"
    begins = harvest is not None and harvest.first > frost
    if outside.first > frost:
        at, text = (
            outside.first,
            f"outside from {words.day(outside.first)} on, after {when}: sow earlier, or leave it out.",
        )
    elif harvest is not None and begins and part.tender:
        at, text = harvest.first, f"tender, and its harvest begins about {words.day(harvest.first)}, after {when}."
    elif harvest is not None and begins and (own or line.number > 1):
        at, text = (
            harvest.first,
            f"its harvest begins about {words.day(harvest.first)}, after {when}: growth is slow by then.",
        )
    elif harvest is not None and part.tender and (come := site.frost_come(harvest.last) or 0) > site.risk + 0.005:
        at, text = (
            harvest.last,
            f"tender, and ready by {words.day(harvest.last)} at the latest; chance of a frost before: {words.chance(come)}.",
        )
    else:
        return []
    return [Conflict("autumn", min(frost, at), max(frost, at), f"{name}: {text}", (line.id,))]


def _none_come_up(line: PlannedSowing, part: CropPart) -> bool:
    """Whether a source found that none come up at this warmth; where nobody tried it, a note on the sowing says so."""
    estimate = None if line.warmth_c is None else part.crop.days_to_emergence(line.warmth_c)
    return estimate is not None and not bool(estimate.extrapolated)


def _cold_and_heat(line: PlannedSowing, part: CropPart, words: Words, name: str) -> list[Conflict]:
    """A bench or soil on which it does not come up: below the least, above the greatest warmth, or where nobody tried it."""
    assert line.sow is not None
    if part.warmth is not None:
        mean, why = sum(part.warmth) / 2, part.on(line.sow.first)[0].unfit
        if not why or line.seedlings is not None or line.plant_out is not None:  # the grower has seen otherwise
            return []
        place = f"the {'mat' if part.on_mat else 'bench'} ({words.warmth((mean, mean))})"
        kind = "bench" if part.best is None else "cold" if mean < sum(part.best) / 2 else "heat"
        keep = {"cold": " Keep it warmer.", "heat": " Keep it cooler.", "bench": ""}[kind]
        lost = "no seedlings can be counted on, and no planting out, harvest or number of seeds is reckoned"
        return [Conflict(kind, line.sow.first, line.sow.last, f"{name}: {place} is {why}: {lost}.{keep}", (line.id,))]
    if not part.in_place or part.site.soil is None:
        return []
    ends = sorted((part.site.soil.on(line.sow.first), part.site.soil.on(line.sow.last)))
    for kind, temp in (("cold", ends[1]), ("heat", ends[0])):  # told only where no day of the window will do
        why = waiting.beyond(part.crop, temp, words)
        if why and why.startswith("colder") == (kind == "cold"):
            text = f"{name}: the soil ({words.warmth((temp, temp))}) is {why}."
            return [Conflict(kind, line.sow.first, line.sow.last, text, (line.id,))]
    return []


def shared_clashes(sowings: Iterable[PlannedSowing], parts: Parts, site: Site, words: Words) -> tuple[Conflict, ...]:
    """Batches against each other: warmths on the mats, trays on the shelf."""
    lines = list(sowings)
    return (*_mat_clashes(lines, parts, site, words), *_shelf_clashes(lines, site, words))


def _mat_clashes(lines: list[PlannedSowing], parts: Parts, site: Site, words: Words) -> list[Conflict]:
    """Times in which more different warmths are wanted, or reckoned with, than there are mats."""
    on_mat: list[tuple[PlannedSowing, tuple[float, float]]] = []
    reckoned: dict[str, float] = {}
    for line in lines:
        part = parts[line.crop_id, line.where == "in place", line.autumn]
        if part.on_mat and part.best is not None and part.warmth is not None and line.sow is not None:
            on_mat.append((line, part.best))
            reckoned[line.id] = part.warmth[0]
    found = []
    if site.place.mat_c is not None:
        for line, best in on_mat:
            if line.seedlings is None:  # told already
                continue
            if not best[0] - 0.5 <= site.place.mat_c <= best[1] + 0.5 and line.sow is not None:
                text = f"{line.name}: the mat at {words.warmth((site.place.mat_c,) * 2)} is outside its best range ({words.warmth(best)})."
                found.append(Conflict("mat", line.sow.first, line.sow.last, text, (line.id,)))
        return found
    spans = [(line.sow.first, (line.seedlings or line.sow).last, line, best) for line, best in on_mat if line.sow]
    for first, last, standing in _stretches([(start, end, (line, best)) for start, end, line, best in spans]):
        groups = _warmths([best for _, best in standing])
        if len(groups) <= site.place.mats:
            by_warmth = {reckoned[line.id]: line for line, _ in standing}
            if len(by_warmth) > site.place.mats:
                names = _listed(
                    [f"{line.name} at {words.warmth((mat, mat))}" for mat, line in sorted(by_warmth.items())]
                )
                text = f"{words.span(first, last)}: {len(by_warmth)} warmths reckoned on {counted(site.place.mats, 'mat')}, as they shared it with others before: {names}. Their best ranges meet: set one warmth and look for seedlings a little sooner or later."
                found.append(Conflict("mat", first, last, text, tuple(line.id for line, _ in standing)))
            continue
        names = _listed([f"{line.name} {words.warmth(best)}" for line, best in _first_of_each(standing)])
        text = f"{words.span(first, last)}: {len(groups)} warmths wanted on {counted(site.place.mats, 'mat')}: {names}."
        found.append(Conflict("mat", first, last, text, tuple(line.id for line, _ in standing)))
    return found


def _first_of_each(
    standing: list[tuple[PlannedSowing, tuple[float, float]]],
) -> list[tuple[PlannedSowing, tuple[float, float]]]:
    """One batch of each warmth."""
    by_best: dict[tuple[float, float], tuple[PlannedSowing, tuple[float, float]]] = {}
    for each in standing:
        by_best.setdefault(each[1], each)
    return [by_best[best] for best in sorted(by_best)]


def _warmths(ranges: list[tuple[float, float]]) -> list[float]:
    """The fewest warmths that lie in every range: the classical greedy choice by the ends."""
    chosen: list[float] = []
    for low, high in sorted(set(ranges), key=lambda each: each[1]):
        if not chosen or chosen[-1] < low:
            chosen.append(high)
    return chosen


def _shelf_clashes(lines: list[PlannedSowing], site: Site, words: Words) -> list[Conflict]:
    """Times in which more trays stand on the bench than it holds."""
    room = site.place.shelf_trays
    if room is None:
        return []
    spans = [(line.shelf.first, line.shelf.last, line) for line in lines if line.shelf is not None and line.trays]
    over = [
        (first, last, trays, standing) for first, last, standing in _stretches(spans)
        if (trays := sum(line.trays or 0 for line in standing)) > room
    ]  # fmt: skip
    found = []
    for run in _runs(over):
        first, last = run[0][0], run[-1][1]
        start, end, trays, standing = max(run, key=lambda each: each[2])
        most = "" if len(run) == 1 else f", most {words.span(start, end)}"
        shared = trays_if_shared(standing, site.catalog)
        sharing = f" ({shared} where sowings share a tray)" if shared < trays else ""
        text = f"{words.span(first, last)}: up to {counted(trays, 'tray')}{sharing} on the shelf, room for {room}{most}: {_listed([line.name for line in standing])}."
        found.append(Conflict("shelf", first, last, text, tuple(line.id for line in standing)))
    return found


Over = tuple[datetime.date, datetime.date, int, list[PlannedSowing]]


def _runs(over: list[Over]) -> list[list[Over]]:
    """Stretches that follow on one another, together."""
    runs: list[list[Over]] = []
    for each in over:
        if runs and days_after(runs[-1][-1][1], 1) == each[0]:
            runs[-1].append(each)
        else:
            runs.append([each])
    return runs


def _stretches(
    spans: list[tuple[datetime.date, datetime.date, Thing]],
) -> Iterable[tuple[datetime.date, datetime.date, list[Thing]]]:
    """Stretches of days in which the same things stand, with what stands, in order of time."""
    changes = sorted({start for start, _, _ in spans} | {days_after(end, 1) for _, end, _ in spans})
    for first, after in itertools.pairwise(changes):
        standing = [thing for start, end, thing in spans if start <= first <= end]
        if standing:
            yield first, days_after(after, -1), standing


def _listed(names: list[str]) -> str:
    more = len(names) - SHOWN
    return ", ".join(names[:SHOWN]) + (f" and {more} more" if more > 0 else "")
