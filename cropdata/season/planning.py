"""From a season to its plan: for each packet where and when to sow, what to expect, when to plant out, at what risk."""

from __future__ import annotations

import datetime
import os
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from cropdata.agronomy.windows import Window
from cropdata.catalog import Catalog, Crop, open_catalog
from cropdata.season import timing
from cropdata.season.clashes import date_clashes, failed, held_up, namesakes, shared_clashes
from cropdata.season.crop_part import UNKNOWN, CropPart
from cropdata.season.dates import days_late, late_by, planned_dates, sowing_dates, usual_window, with_leaves
from cropdata.season.drafting import Draft
from cropdata.season.hazards import cautions_of
from cropdata.season.kit import Equipment
from cropdata.season.mats import set_mats
from cropdata.season.money import costs_of
from cropdata.season.orders import Order, order_of
from cropdata.season.overdue import Before, Overdue, overdue_of
from cropdata.season.plan import Assumption, Cited, Conflict, Plan, PlannedSowing
from cropdata.season.records import Real, Record, behind, check_records, read_records, real_days, seen_of, still_to_come
from cropdata.season.season_file import read_season, season_of
from cropdata.season.season_parts import UNDER_COVER, Packet, Season
from cropdata.season.seed_numbers import NOTHING, age_note, seed_numbers
from cropdata.season.site import Site
from cropdata.season.steps import Sown, given_up, harvest_of, steps_of, with_order
from cropdata.season.totals import totals_of
from cropdata.season.words import Words

FORMAT = 1
STATED = "stated"  # by the grower, in the season file
RULES = (
    "emergence_error_low", "emergence_error_high", "emergence_last", "give_up_quiet_days", "planting_out_risk",
    "plant_minus_screen", "seedling_confidence", "cells_filled", "raising_survival", "field_survival", "order_lead_days",
    "raising_light_hours", "true_leaves_days", "hardening_days", "storage_life_share", "autumn_slow_growth", "autumn_frost_tender",
)  # fmt: skip
FAR = datetime.date.max


def plan_season(
    season: Season | Mapping[str, Any] | str | os.PathLike[str],
    catalog: Catalog | None = None,
    *,
    words: Words | None = None,
    records: str | os.PathLike[str] | Sequence[Record] = (),
    today: datetime.date | None = None,
) -> Plan:
    """Plan a season (read from a file where a path is given).

    Args:
        season: a Season, the path of its file, or a mapping with the keys of a season file.
        catalog: the catalog with the grower's layers; the shipped release when None.
        words: the reader's units and order of dates, for the sentences; figures stay metric, dates `datetime.date`.
        records: what was really sown and seen (see `records`), or the path of its CSV; later dates follow from it.
        today: with records, what is late by then, or written down for a later day, is told; a sowing whose window is past and that is not recorded is
            reckoned as if sown on that day, while its season lasts.

    The average last frost is the date with an even chance of a later one; weeks in the evidence count from it,
    also where a source does not say which frost it means. A tender crop is planted out no earlier than the date
    at which the chance of a later frost has fallen to the stated risk.

    Raises InputError for a season file or records with mistakes.
    """
    catalog = catalog or open_catalog()
    if isinstance(season, (str, os.PathLike)):
        season = read_season(season, catalog)
    elif not isinstance(season, Season):
        season = season_of(season, catalog)
    words = (words or Words())._replace(year=season.year)
    if isinstance(records, (str, os.PathLike)):
        return _Planner(season, catalog, words, read_records(records), os.fspath(records), today).plan()
    return _Planner(season, catalog, words, tuple(records), None, today).plan()


class _Planner:
    """One run: the place, and what packets of one crop share, are worked out once."""

    def __init__(
        self, season: Season, catalog: Catalog, words: Words, records: tuple[Record, ...], file: str | None,
        today: datetime.date | None,
    ) -> None:  # fmt: skip
        self.season, self.catalog, self.words, self.records, self.file = season, catalog, words, records, file
        self.real = real_days(records)
        self.today = today if records else None
        bases = Counter(packet.base for packet in season.packets)
        self.alike = {packet.base for packet in season.packets if packet.id is None and bases[packet.base] > 1}
        self.twins: set[str] = set()
        self.planned: dict[str, dict[str, Window]] = {}
        self.overdue: dict[str, Overdue] = {}
        self.site = Site(season, catalog)
        self.kit = Equipment(catalog, season.kit, words)
        self.parts: dict[tuple[str, bool, bool], CropPart] = {}
        self.names: Counter[str] = Counter()
        self.conflicts: list[Conflict] = []
        self.orders: list[Order] = []

    def plan(self) -> Plan:
        """The whole plan."""
        self._share_mats()
        lines = [line for packet in self.season.packets for line in self._packet(packet)]
        lines.sort(key=lambda line: (line.sow.first if line.sow else FAR, line.crop, line.id))
        sowings = tuple(lines)
        check_records(self.records, (line.id for line in sowings), self.twins, self.season.year, self.file)
        self.conflicts += [
            namesakes(name, [packet for packet in self.season.packets if packet.base == name])
            for name in sorted(self.alike)
        ]
        if self.today is not None:
            self.conflicts += still_to_come(self.records, sowings, self.today, self.words)
        seen = seen_of(self.records, sowings, self.planned, self.words)
        conflicts = (*self.conflicts, *shared_clashes(sowings, self.parts, self.site, self.words))
        dates = [date for line in sowings for step in line.steps for date in (step.first, step.last)]
        assumptions = tuple(self._assumptions())
        used = {source for line in sowings for source in line.sources}
        totals = (
            *totals_of(sowings, self.season, self.catalog),
            *costs_of(sowings, self.season, self.catalog, self.orders),
        )
        cautions = cautions_of(
            sowings, {part.crop.id: part.crop for part in self.parts.values()}.values(), self.season, self.catalog
        )
        used |= {source for total in totals for source in total.sources} | {
            source for caution in cautions for source in caution.sources
        }
        used |= {assumption.source for assumption in assumptions}
        known = self.catalog.sources
        return Plan(
            FORMAT, self.catalog.version, self.season.year, self.site.as_place(), sowings,
            tuple(sorted(conflicts, key=lambda each: (each.first or FAR, each.kind, each.text))),
            totals, cautions, self.site.frost_days(min(dates), max(dates)) if dates else (), seen, assumptions,
            tuple(Cited(name, known[name].citation) for name in sorted(used) if name in known), self.site.warnings,
            tuple(layer.label() for layer in self.catalog.layers),
        )  # fmt: skip

    def _assumptions(self) -> list[Assumption]:
        """The rules that plans rest on; where the season file states another figure, that one."""
        stated = {
            "planting_out_risk": self.season.place.risk,
            "plant_minus_screen": self.season.place.plant_minus_screen_c,
        }
        found = []
        for row in (self.catalog.rule(rule_id) for rule_id in RULES):
            low, high, basis, source = float(row["low"]), float(row["high"]), row["basis"], row["source_id"]
            if (own := stated.get(row["rule_id"])) is not None:
                low, high, basis, source = own, own, STATED, ""
            found.append(Assumption(row["rule_id"], row["meaning"], low, high, row["unit"], basis, source))
        return found

    # One packet

    def _share_mats(self) -> None:
        """Crops that stand on one mat are reckoned at one warmth, so it is chosen before any of them is planned."""
        standing: dict[CropPart, Window] = {}
        for packet in self.season.packets if self.season.place.mats else ():
            part = self._part(packet, _in_place(packet))
            if not part.on_mat:
                continue
            for number in range(1, packet.sowings + 1):
                sow = planned_dates(packet, part, number).sow
                if sow is not None:
                    known = standing.get(part, sow)
                    standing[part] = Window(min(known.first, sow.first), max(known.last, sow.last))
        set_mats(standing)

    def _part(self, packet: Packet, in_place: bool) -> CropPart:
        key = (packet.crop.id, in_place, packet.autumn)
        if key not in self.parts:
            self.parts[key] = CropPart(packet.crop, self.site, self.words, in_place=in_place, autumn=packet.autumn)
        return self.parts[key]

    def _packet(self, packet: Packet) -> list[PlannedSowing]:
        crop, draft = packet.crop, Draft(self.words)
        in_place = _in_place(packet)
        if packet.method in UNDER_COVER and crop.status("weeks_to_raise") == "not_applicable":
            saying = crop.not_done("weeks_to_raise")
            sources = ", ".join(saying.sources) if saying else ""
            draft.say(
                f"Sources say that it is sown in place and not raised under cover ({sources}): your method stands, but nothing is recorded to "
                "reckon its dates from; state a day (sow), or weeks to raise in a layer of your own."
            )
        part = self._part(packet, in_place)
        test_because = age_note(packet, part, draft)
        base = self._unique(packet.base)
        lines: list[PlannedSowing] = []
        before: Before | None = None
        for number in range(1, packet.sowings + 1):
            own = Draft(self.words)
            own.take(draft)
            sowing_id = base if packet.sowings == 1 else self._unique(f"{base}-{number}")
            if packet.id is None and packet.base in self.alike:
                self.twins.add(sowing_id)
            before = self._mind_overdue(packet, part, number, sowing_id, before)
            lines.append(self._sowing(packet, part, number, sowing_id, test_because if number == 1 else None, own))
        first, live = self._live(lines)
        order = order_of(packet, part, live) if live else None
        if order is not None:
            if live[0].sow is not None:
                self.orders.append(order)
                moved = self.overdue[live[0].id].days if live[0].id in self.overdue else 0
                lines[first] = with_order(live[0], order.because, self.site.rule("order_lead_days", "high") + moved)
            if order.clash is not None:
                self.conflicts.append(order.clash)
        return lines

    def _unique(self, name: str) -> str:
        """A name of its own: the second packet of the same name gets a 2."""
        self.names[name] += 1
        return name if self.names[name] == 1 else self._unique(f"{name}-{self.names[name]}")

    def _sowing(
        self, packet: Packet, part: CropPart, number: int, sowing_id: str, test_because: str | None, draft: Draft
    ) -> PlannedSowing:
        method = "in_place" if part.in_place else packet.method
        real = self.real.get(sowing_id)
        planned, (sow, plant_out) = sowing_dates(packet, part, number, real)
        overdue = self.overdue.get(sowing_id)
        past = overdue is not None and overdue.day is None
        if past:
            sow = plant_out = None
        elif overdue is not None:
            real = Real(sown=overdue.day)
            _, (sow, plant_out) = sowing_dates(packet, part, number, real)
        never = part.timing.never if sow is None and not past else ""
        days, of_day = part.on(sow.first if sow else None)
        seedlings = part.seedlings(sow) if sow else None
        # Nothing is reckoned on from seedlings that cannot be counted on; what the grower has seen counts.
        unfit = bool(days.unfit) and seedlings is None and (real is None or not real.came_up)
        if unfit:
            plant_out = None
        late = days_late(seedlings, real)
        if plant_out is not None and real is not None and not real.out:
            plant_out = late_by(plant_out, sow, part, late)
        usual = plant_out
        if real is not None and real.up is not None:
            planned |= {"seedlings": seedlings} if seedlings else {}
            seedlings = Window(real.up, real.up)
        if plant_out is not None and seedlings is not None and (real is None or not real.out):
            plant_out = with_leaves(plant_out, seedlings, part)
        numbers = NOTHING if never or unfit or past else seed_numbers(packet, part, method, days, draft)
        choice = self.kit.choose(packet, part.crop, part.raising, method)
        container = choice.container if choice else None
        trays, mix = self.kit.standing(container, numbers.cells) if container else (None, None)
        if choice is not None and choice.because and numbers.cells is not None:
            draft.say(choice.because)
            draft.sources.update(choice.sources)
        if method is None and packet.plants is not None:
            draft.say("No method given: what it is raised in is not reckoned; it counts neither on the shelf nor in mix and cost.")  # fmt: skip
        up, came_up = (real.up, real.came_up) if real is not None else (None, False)
        harvest = harvest_of(part, sow if part.in_place else plant_out, up)
        outside = plant_out or (seedlings if part.in_place else None) or (sow if part.in_place else None)
        autumn_frost, frost_left = self._frost_left(part, outside, harvest)
        draft.take(part.draft)
        # Why the window is as it is: later ones of several are so by the grower's days between them.
        first = number == 1 or sow is None
        if packet.sow is None and (real is None or real.sown is None) and not past and first:
            draft.take(part.window)
        timed = part.timing.sow
        if (
            number > 1
            and not part.autumn
            and packet.sow is None
            and sow is not None
            and timed is not None
            and sow.first > timed.last
        ):
            draft.say(f"Sown later than sources sow it ({self.words.span(*timed)}), as one of several sowings.")
        if (
            not unfit
            and usual is not None
            and usual.first == part.timing.safe_from
            and (real is None or real.planted is None)
        ):
            draft.take(part.waits)
        if sow is not None and days.in_doubt and up is not None:
            draft.sources |= of_day.sources  # when they come is known now
        elif sow is not None:
            draft.take(of_day)
            draft.take(part.in_part(sow))
        elif unfit:
            draft.say(f"The bench is {days.unfit}: no number of seeds is reckoned.")
        if outside is not None:
            draft.take(part.outside(outside.first))
        steps = () if sow is None else steps_of(Sown(
            part, days, numbers, method, sow, seedlings, plant_out, harvest, frost_left, autumn_frost, test_because,
            None if unfit else self.kit.stay(part.crop, part.raising, container), up,
            overdue.days if overdue is not None else 0, came_up,
        ))  # fmt: skip
        for step in steps:
            draft.sources.update(step.sources)
        if sowing_id in self.real:
            self.planned[sowing_id] = {step.kind: Window(step.first, step.last) for step in steps} | planned
        wait, give_up, least_give_up = _waits(part, sow)
        if came_up:
            give_up = least_give_up = None
        line = PlannedSowing(
            sowing_id, part.crop.id, part.crop.name, packet.variety, "in place" if part.in_place else "under cover", method,
            number, packet.sowings, packet.autumn, sow, part.depth, part.best, part.light, wait, seedlings, give_up,
            plant_out, frost_left, harvest, packet.plants, numbers.seeds, packet.seeds, numbers.assumed, numbers.per_cell,
            container.container_id if container else None, numbers.cells, trays, _on_the_bench(part, sow, plant_out),
            mix, steps, tuple(draft.notes), tuple(sorted(draft.sources)), numbers.factors, numbers.expected,
            days.warmth_c if sow else None, least_give_up, container.name if container else None, self._kind(part.crop),
        )  # fmt: skip
        if never and number == 1:
            self.conflicts.append(Conflict("season", None, None, f"{part.crop.name}: {never}", (sowing_id,)))
        if past and overdue is not None:
            text = f"{line.name}: {overdue.because}"
            self.conflicts.append(Conflict("late", overdue.planned.last, self.today, text, (sowing_id,)))
        if usual is not None and line.plant_out != usual:
            self.conflicts.append(held_up(line, usual, self.words))
        if real is not None and real.given_up is not None:
            line = given_up(line, real.given_up, self.words)
            self.conflicts.append(failed(line, real.given_up, self.words))
            return line
        if real is not None and real.begun and self.today is not None:
            self.conflicts += behind(line, real, self.today, self.words)
        self.conflicts += date_clashes(
            line, part, self.words, usual_window(packet, part, number, real), overdue.because if overdue else "",
            usual=None if real is not None and real.out else usual, late=late, sown=overdue is None and real is not None and real.begun,
        )  # fmt: skip
        return line

    def _kind(self, crop: Crop) -> str | None:
        """The name of the crop that a variety of a layer belongs to."""
        if crop.parent_id is None or crop.layer == "release":
            return None
        return self.catalog.crop(crop.parent_id).name

    def _mind_overdue(
        self, packet: Packet, part: CropPart, number: int, sowing_id: str, before: Before | None
    ) -> Before | None:  # fmt: skip
        """Note where a sowing is overdue; what the packet's next one is to be kept apart from."""
        real = self.real.get(sowing_id)
        if real is not None and real.sown is not None:
            return Before(real.sown, reckoned=False)
        if self.today is None:
            return None
        overdue = overdue_of(packet, part, number, real, before, self.today, self.words)
        if overdue is None:
            return None
        self.overdue[sowing_id] = overdue
        return before if overdue.day is None else Before(overdue.day, reckoned=True)

    def _live(self, lines: list[PlannedSowing]) -> tuple[int, list[PlannedSowing]]:
        """The sowings of a packet whose season is not past by the records, and the number of the first of them."""
        over = {sowing_id for sowing_id, overdue in self.overdue.items() if overdue.day is None}
        live = [number for number, line in enumerate(lines) if line.id not in over]
        return min(live, default=0), [lines[number] for number in live]

    def _frost_left(
        self, part: CropPart, outside: Window | None, harvest: Window | None
    ) -> tuple[bool, float | None]:  # fmt: skip
        """Whether the autumn's frost is the one to fear, and the chance: of a later one in spring, of an earlier one then."""
        turn = self.site.turn
        if part.autumn or (outside is not None and turn is not None and outside.first >= turn):
            return True, self.site.frost_come(harvest.last) if harvest else None
        return False, self.site.frost_left(outside.first) if outside else None


def _in_place(packet: Packet) -> bool:
    """As the grower wants it; without a method, what sources say nothing of raising is sown in place."""
    return packet.method == "in_place" if packet.method else not timing.is_raised(packet.crop)


def _waits(part: CropPart, sow: Window | None) -> tuple[tuple[float, float] | None, int | None, int | None]:
    """Days to seedlings, and most and fewest to giving up, of any day of the window; nothing where it is not sown."""
    ends = part.ends(sow) if sow is not None else (UNKNOWN, UNKNOWN)
    if ends[0] is ends[1]:
        return ends[0].wait, ends[0].give_up, ends[0].give_up
    waits = [each.wait for each in ends if each.wait is not None] if ends[0].wait is not None else []
    wait = (min(low for low, _ in waits), max(high for _, high in waits)) if waits else None
    give_up = [each.give_up for each in ends if each.give_up is not None]
    return wait, max(give_up, default=None), min(give_up, default=None)


def _on_the_bench(part: CropPart, sow: Window | None, plant_out: Window | None) -> Window | None:
    """The days on the shelf: from the first sowing to the first planting out."""
    if part.in_place or sow is None or plant_out is None or plant_out.first < sow.first:
        return None
    return Window(sow.first, plant_out.first)
