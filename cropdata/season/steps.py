"""The steps of one sowing, counted back from its window and on from it: what to do, what to expect, from when to when."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import NamedTuple

from cropdata.agronomy.windows import Window, days_after
from cropdata.catalog import Range
from cropdata.catalog.evidence import Evidence
from cropdata.season.crop_part import CropPart, Days
from cropdata.season.drafting import figures
from cropdata.season.kit import Stay
from cropdata.season.plan import STEPS, PlannedSowing, Step
from cropdata.season.seed_numbers import SeedNumbers
from cropdata.season.words import LEAST_TOLD, Words

TEST_DAYS = 14  # of a germination test where nothing tells: common practice, no source
WEEK = 7  # potted on for less than that: common practice, no source
OVER_MONTHS = 28  # days to emergence or of chilling: such kinds come up over months: common practice, no source
LENGTH = {"metric": (1.0, "cm"), "imperial": (2.54, "in")}  # from cm


class Sown(NamedTuple):
    """What the steps of one sowing are counted from."""

    part: CropPart
    days: Days
    numbers: SeedNumbers
    method: str | None
    sow: Window
    seedlings: Window | None
    plant_out: Window | None
    harvest: Window | None
    frost_left: float | None
    autumn_frost: bool  # frost_left is the chance of a frost before the harvest's end, not of a later one
    test_because: str | None
    stay: Stay | None
    up: datetime.date | None = None  # when the seedlings came up by the records
    moved: int = 0  # days by which it is reckoned later than planned, as it is overdue
    came_up: bool = False  # by the records, also where only what was done with them is recorded


def steps_of(sown: Sown) -> tuple[Step, ...]:
    """The steps in the order of a season; those that nothing is recorded for are left out."""
    found = [*_before(sown), _sowing(sown), *_waiting(sown), *_growing(sown)]
    return tuple(sorted((step for step in found if step is not None), key=lambda step: STEPS.index(step.kind)))


def harvest_of(part: CropPart, start: Window | None, up: datetime.date | None = None) -> Window | None:
    """Harvest by the days that count from this start: planting out under cover, sowing in place; never mixed.

    To them come the days that slow growth costs in autumn, with which the sowing was counted back, and in place those by
    which the seedlings come later in this soil than is printed, or came `up` by the records. None where nobody can say when
    these come, or how late they came that were up only when it was to be ripe; an autumn sowing without soil temperatures
    is harvested as it was counted back.
    """
    if start is None or part.ready is None:
        return None
    if part.in_place and up is not None:  # where only the seedlings are recorded it was sown by then
        start = Window(min(start.first, up), min(start.last, up))
    elif (
        part.in_place and not (part.autumn and part.site.soil is None) and any(day.in_doubt for day in part.ends(start))
    ):
        return None
    slow, (first, last) = slow_growth(part), held_back(part, start, up)
    begins = days_after(start.first, part.ready.low + slow + first)
    if part.in_place and up is not None and begins <= up:
        return None
    return Window(begins, max(begins, days_after(start.last, part.ready.high + slow + last)))


def with_order(line: PlannedSowing, because: str, lead_days: float) -> PlannedSowing:
    """The sowing with the day by which its seed is to be ordered, so long before the first thing that wants the seed was
    planned: `lead_days`.
    """
    day = days_after(min(step.first for step in line.steps if step.kind in ("chill", "soak", "sow")), -lead_days)
    steps = (*line.steps, Step("buy", day, day, f"Order seed by now: {because}."))
    return line._replace(steps=tuple(sorted(steps, key=lambda step: STEPS.index(step.kind))))


def slow_growth(part: CropPart) -> float:
    """Days that the harvest of an autumn sowing takes longer."""
    return 7 * part.site.rule("autumn_slow_growth") if part.autumn else 0.0


def held_back(part: CropPart, sow: Window, up: datetime.date | None = None) -> tuple[float, float]:
    """Days by which seedlings in place come later than printed, on the first and the last day of sowing, or came `up`."""
    printed = part.printed_wait
    if not part.in_place or printed is None:
        return 0.0, 0.0
    if up is not None:
        return max((up - sow.first).days - printed.low, 0.0), max((up - sow.last).days - printed.high, 0.0)
    first, last = (days.wait for days in part.ends(sow))
    if first is None:
        return 0.0, 0.0
    return max(first[0] - printed.low, 0.0), max((last or first)[1] - printed.high, 0.0)


def given_up(line: PlannedSowing, day: datetime.date, words: Words) -> PlannedSowing:
    """A sowing that was given up: what would have come of it is gone, and its trays are free from that day on."""
    kept = tuple(step for step in line.steps if STEPS.index(step.kind) <= STEPS.index("sow"))
    text = f"Given up on {words.day(day)} by your records: sow again, or change the plan."
    shelf = line.shelf and Window(line.shelf.first, max(line.shelf.first, min(line.shelf.last, day)))
    return line._replace(
        steps=(*kept, Step("give_up", day, day, text)), seedlings=None, plant_out=None, harvest=None, frost_left=None, shelf=shelf
    )  # fmt: skip


def _before(sown: Sown) -> list[Step | None]:
    """Testing, chilling and soaking, each by the day that leaves time for the next."""
    part, steps = sown.part, []
    start = sown.sow.first
    for kind, words in (("chill", "Chill the seed, damp, in the refrigerator"), ("soak", "Soak the seed")):
        rows = [row for row in part.treatments if row["treatment"] == kind and row["high_days"] is not None]
        if rows:
            low = min(float(row["low_days"] or row["high_days"]) for row in rows)  # type: ignore[arg-type]
            high = max(float(row["high_days"]) for row in rows)  # type: ignore[arg-type]
            first, last = days_after(sown.sow.first, -high), days_after(sown.sow.last, -low)
            steps.append(
                _step(
                    kind,
                    first,
                    last,
                    f"{words} for {figures(low, high)} day{'' if high == 1 else 's'} before sowing.",
                    rows=rows,
                )
            )
            start = min(start, first)
    if sown.test_because:
        count = part.crop.trait("germination_tests")
        takes, told = _count_days(part, count)
        by = days_after(start, -part.site.rule("order_lead_days", "high") - takes - sown.moved)
        text = f"Test ten seeds or more by now ({sown.test_because}; {told}), so that new seed can still be ordered."
        steps.append(Step("test", by, by, text, sources=tuple(count.sources) if count is not None else ()))
    return list(steps)


def _count_days(part: CropPart, prescribed: object) -> tuple[float, str]:
    """How long a test takes, and who says so: the official final count, else the slow end of coming up and quiet days."""
    if isinstance(prescribed, Range):
        return prescribed.high, f"the count takes {prescribed.high:.0f} days"
    plain = part.crop.emergence_range
    if plain is None:
        return TEST_DAYS, f"how long the count takes is not recorded, {TEST_DAYS} days are assumed"
    takes = plain.high + part.site.rule("give_up_quiet_days")
    return takes, f"how long the count takes is not recorded, {takes:.0f} days are assumed from its days to seedlings"


def _sowing(sown: Sown) -> Step:
    part, numbers, words = sown.part, sown.numbers, sown.part.words
    seeds = f"{numbers.seeds} seeds" if numbers.seeds else "the seed"
    parts = [f"Sow {seeds}"]
    units = {"tray": "cells", "block": "blocks", "pot": "pots"}.get(sown.method or "")
    if numbers.cells and units:
        thin = ", to be thinned to one" if numbers.per_cell and numbers.per_cell > 1 else ""
        each = f"{numbers.per_cell} in each of " if numbers.per_cell else "in at least "
        parts.append(f"{each}{numbers.cells} {units}{thin}")
    if numbers.cells and sown.method == "flat":
        parts.append(f"to be thinned to {numbers.cells}")
    if sown.method == "towel":
        parts = [f"Lay {seeds} in a damp towel"]
    elif part.depth is not None:
        depth = words.depth(part.depth)
        parts.append("on the surface, not covered" if depth == "surface" else f"{depth} deep")
    if part.in_place:
        in_row, between = part.spacing
        parts += [f"rows {_lengths(between, words.units)} apart"] if between else []
        parts += [f"thin to {_lengths(in_row, words.units)}"] if in_row else []
    if part.warmth is not None and part.best is not None:
        parts.append(f"best at {words.warmth(part.best)}")
    text = ", ".join(parts) + "."
    covered = part.depth is not None and words.depth(part.depth) != "surface" and sown.method != "towel"
    if part.light == "light":
        text += (
            " Sources also say that it needs light: cover it as thinly as you can."
            if covered
            else " Needs light to germinate."
        )
    elif part.light == "dark":
        text += (
            " Germinates in the dark: cover it."
            if covered or part.depth is None
            else " Germinates in the dark: cover the tray."
        )
    coats = [row for row in part.treatments if row["treatment"] == "scarify"]
    if coats:
        text += " Nick or scrape the hard coat first."
    overnight = [row for row in part.treatments if row["treatment"] == "soak" and row["high_days"] is None]
    if overnight:
        text += f" Soak it first ({overnight[0]['note'] or 'length not printed'})."
    return _step("sow", *sown.sow, text, rows=[*coats, *overnight])


def _waiting(sown: Sown) -> list[Step | None]:
    part, site = sown.part, sown.part.site
    steps: list[Step | None] = []
    if sown.method == "towel" and not sown.days.unfit:
        steps.append(_moving(sown))
    ends = part.ends(sown.sow)
    as_printed = " where it is as warm as printed" if not part.in_place and part.warmth is None else ""
    if sown.seedlings is not None and (sown.days.wait is not None or sown.up is not None):
        after = _after(sown, [figures(*days.wait) if days.wait else None for days in ends])
        text = (
            f"Expect seedlings, {after}{as_printed}{', as if sown in mix at once' if sown.method == 'towel' else ''}."
        )
        if sown.up is not None:
            text = f"Up on {part.words.day(sown.up)} by your records."
        if not part.in_place:
            hours = figures(site.rule("raising_light_hours"), site.rule("raising_light_hours", "high"))
            text += f" Bright light as soon as they show, or lamps {hours} hours a day."
        steps.append(Step("seedlings", *sown.seedlings, text))
        if not part.in_place:
            low, high = site.rule("true_leaves_days"), site.rule("true_leaves_days", "high")
            feed = Window(days_after(sown.seedlings.first, low), days_after(sown.seedlings.last, high))
            if sown.plant_out is not None:
                feed = Window(feed.first, max(feed.first, min(feed.last, sown.plant_out.last)))
            if sown.plant_out is None or feed.first < sown.plant_out.first:
                until = "" if sown.plant_out is None else " until planting out"
                text = f"Begin to feed weakly, once a week{until}, if the mix holds no food."
                steps.append(Step("feed", *feed, text))
    known = [(day, days.give_up) for day, days in zip(sown.sow, ends, strict=True) if days.give_up is not None]
    if known and not sown.came_up:
        first = days_after(*known[0])
        last = max(first, days_after(*known[-1]))
        after = _after(sown, [f"{days.give_up}" if days.give_up is not None else None for days in ends])
        plain = part.crop.emergence_range
        slow = max(plain.high if plain else 0, part.treatment_days[1]) >= OVER_MONTHS
        what = "root or seedling has shown" if sown.method == "towel" else "seedling is up"
        text = f"If no {what} {after} it has failed: sow again or change the plan."
        if slow:
            text = f"Do not give up before: it can come up over months ({after})."
        elif as_printed:
            text = f"Do not give up before: {after}{as_printed}, later where it is colder."
        elif sown.plant_out is not None and first > sown.plant_out.first:
            text += " Planting out begins before that is known: a warmer bench tells sooner."
        steps.append(Step("give_up", first, last, text))
    return steps


def _after(sown: Sown, days: Sequence[str | None]) -> str:
    """Days after sowing, as they are for the first and for the last day of its window; None: not known."""
    first, last = days
    if first == last or sown.sow.first == sown.sow.last:
        return f"{first} days after sowing"
    words = sown.part.words
    if first and last:
        return f"{first} days after a sowing on {words.day(sown.sow.first)}, {last} after one on {words.day(sown.sow.last)}"
    known, other = sown.sow if first else reversed(sown.sow)
    return f"{first or last} days after a sowing on {words.day(known)} (of one on {words.day(other)} it is not known)"


def _moving(sown: Sown) -> Step | None:
    """From the towel to mix when the root shows: by the crop's own days to it at that warmth, else looked for daily from the
    first look that sources tell for seed in general, to the end of a test.
    """
    part, tells = sown.part, sown.part.site.catalog.materials
    length = tells.span("move_root_length", method="towel")
    root = "" if length is None else f" and is {figures(length.low, length.high)} mm long at most"
    text = f"Look daily: move each seed to mix as soon as its root shows{root}."
    estimate = None if part.warmth is None else part.crop.days_to_radicle(sum(part.warmth) / 2)
    if estimate is not None and float(estimate.expected) > 0:
        first = days_after(sown.sow.first, float(estimate.first))
        last = days_after(sown.sow.last, max(float(estimate.last), float(estimate.first)))
        return Step("move", first, last, text, sources=(*estimate.sources, *(length.sources if length else ())))
    look = tells.span("first_check", method="towel")
    if look is None:
        return None
    ends, _ = _count_days(part, part.crop.trait("germination_tests"))
    first, last = days_after(sown.sow.first, look.low), days_after(sown.sow.last, max(ends, look.high))
    return Step("move", first, last, f"{text} How soon it shows in this kind is not recorded.", sources=look.sources)


def _growing(sown: Sown) -> list[Step | None]:
    part, words, site = sown.part, sown.part.words, sown.part.site
    steps: list[Step | None] = []
    if sown.stay is not None:
        days, why, sources = sown.stay
        by, last = days_after(sown.sow.first, days), days_after(sown.sow.last, days)
        # Less than a week before planting out begins they go out instead.
        if sown.plant_out is None or (sown.plant_out.first - by).days >= WEEK:
            if sown.plant_out is not None:
                last = min(last, sown.plant_out.first)
            steps.append(Step("pot_on", by, max(by, last), f"Pot on by now: {why}.", sources=sources))
    if sown.plant_out is not None:
        least, most = site.rule("hardening_days"), site.rule("hardening_days", "high")
        first, last = days_after(sown.plant_out.first, -most), days_after(sown.plant_out.last, -least)
        printed = part.crop.emergence_range
        up = sown.seedlings.first if sown.seedlings else days_after(sown.sow.first, printed.low if printed else 1)
        first = max(first, up)
        last = max(first, last)
        height = part.raising.get("harden_at_height")
        tall = f" Ready at about {_lengths((height.low, height.high), words.units)} tall." if height else ""
        steps.append(
            Step("harden", first, last, f"Begin to harden off, {figures(least, most)} days before planting out.{tall}")
        )
        text = f"Plant out{_apart(sown)}."
        leaves = part.raising.get("plant_at_leaves")
        if leaves is not None:
            text += f" Ready at {figures(leaves.low, leaves.high)} true leaves."
        if not part.autumn and any(row["signal"] == "bolts_after_cold" for row in part.habits):
            text += " Cold after that can make it bolt."
        # Where the autumn's frost is the one to fear, spring's is told only while it is not over.
        later = site.frost_left(sown.plant_out.first)
        frost = None if (part.autumn or sown.autumn_frost) and later <= LEAST_TOLD else later
        if frost is not None:
            text += f" Chance of a later frost: {words.chance(frost)}; read the forecast."
        steps.append(Step("plant_out", *sown.plant_out, text, frost, leaves.sources if leaves else ()))
    if sown.harvest is not None and part.ready is not None:
        start = "sowing" if part.in_place else "planting out"
        text = f"Harvest from about now: {figures(part.ready.low, part.ready.high)} days from {start}"
        if slow := slow_growth(part):
            text += f", {slow:.0f} more for slow growth in autumn"
        if any(late := held_back(part, sown.sow, sown.up)):
            slow_to = "is slow to come up in this soil" if sown.up is None else "came up later than printed"
            text += f", {figures(*sorted(late))} more as it {slow_to}"
        text += "."
        frost = None
        if sown.autumn_frost and sown.frost_left is not None:
            frost = sown.frost_left
            text += f" Chance of a frost before the end: {words.chance(frost)}."
        steps.append(Step("harvest", *sown.harvest, text, frost, part.ready.sources))
    return steps


def _apart(sown: Sown) -> str:
    in_row, between = sown.part.spacing
    units = sown.part.words.units
    told = [f"{_lengths(in_row, units)} apart"] if in_row else []
    told += [f"rows {_lengths(between, units)} apart"] if between else []
    return f", {', '.join(told)}" if told else ""


def _lengths(low_high_cm: tuple[float, float], units: str) -> str:
    """Low to high of a distance in whole cm or in."""
    per, unit = LENGTH[units]
    low, high = (max(1, round(value / per)) for value in low_high_cm)
    return f"{low if low == high else f'{low} to {high}'} {unit}"


def _step(kind: str, first: datetime.date, last: datetime.date, text: str, rows: Sequence[Evidence] = ()) -> Step:
    sources = tuple(sorted({str(row["source_id"]) for row in rows}))
    return Step(kind, first, max(first, last), text, sources=sources)
