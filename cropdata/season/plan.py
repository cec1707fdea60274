"""What a plan holds: the sowings with their steps, what clashes, what it takes, what to mind, who says so.

Named tuples of plain values, so that the terminal, CSV, JSON, the calendar and the page all show one thing. Dates are
`datetime.date`, lengths millimetres, temperatures °C, volumes litres, money in the grower's own currency; chances are
shares of years. Whatever nothing is recorded of is None. The Attributes below are what the JSON Schema says of the fields.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import NamedTuple

from cropdata.season.planned_sowing import PLACES_TO_SOW as PLACES_TO_SOW
from cropdata.season.planned_sowing import STEPS as STEPS
from cropdata.season.planned_sowing import Factor as Factor
from cropdata.season.planned_sowing import PlannedSowing as PlannedSowing
from cropdata.season.planned_sowing import Step as Step
from cropdata.season.planned_sowing import last_round as last_round

CONFLICTS = (
    "early",
    "late",
    "cold",
    "heat",
    "bench",
    "autumn",
    "season",
    "mat",
    "shelf",
    "seeds",
    "failed",
    "few",
    "names",
    "records",
)
BASES = ("published", "common_practice", "from_memory", "derived", "computed", "stated", "tested", "assumed")
THIS_YEAR, A_YEAR = "this year", "a year over the years they last"


class Conflict(NamedTuple):
    """What does not go together: too early for the bench, two warmths on one mat, more trays than the shelf holds.

    Attributes:
        kind: what is at odds.
        first: first day of it; null where it has none.
        last: last day of it; null where it has none.
        text: a sentence in the reader's units and order of dates.
        sowings: ids of the sowings concerned.
    """

    kind: str
    first: datetime.date | None
    last: datetime.date | None
    text: str
    sowings: tuple[str, ...] = ()


class Total(NamedTuple):
    """One line of what the season takes: `low` to `high` of `unit`.

    Attributes:
        what: the thing.
        low: the least.
        high: the most.
        unit: unit, a currency for money; "not recorded" where nobody tells the amount.
        per: whether it is for this year, or for one of the years that things last.
        basis: how it is counted or known, in words.
        sources: ids of the sources that it rests on.
    """

    what: str
    low: float
    high: float
    unit: str
    per: str = THIS_YEAR
    basis: str = ""
    sources: tuple[str, ...] = ()


class Caution(NamedTuple):
    """A hazard of this season's crops or materials, and what is usual against it.

    Attributes:
        about: crop, material or device.
        text: hazard and advice.
        sources: ids of the sources that say so.
    """

    about: str
    text: str
    sources: tuple[str, ...] = ()


class Seen(NamedTuple):
    """A record of what was really done, beside the plan.

    Attributes:
        sowing: id of the sowing.
        event: which step was done or seen.
        date: day of it.
        late_days: days after the end of the planned window, negative before its beginning; null where none was planned.
        text: a sentence in the reader's units and order of dates.
    """

    sowing: str
    event: str
    date: datetime.date
    late_days: int | None
    text: str


class Assumption(NamedTuple):
    """A figure that the plan rests on besides the crops' own: what, how much, who says so.

    Attributes:
        rule_id: id of the rule, as in the data package.
        meaning: what it is.
        low: the least.
        high: the most.
        unit: unit of both.
        basis: how it is known; "stated" by the season file.
        source: id of the source, empty where the season file states it.
    """

    rule_id: str
    meaning: str
    low: float
    high: float
    unit: str
    basis: str
    source: str


class FrostDay(NamedTuple):
    """A day of the season with its chances of frost.

    Attributes:
        date: the day.
        spring_left: chance of a frost still to come in spring.
        autumn_come: chance that an autumn frost has come.
    """

    date: datetime.date
    spring_left: float | None
    autumn_come: float | None


class PlanPlace(NamedTuple):
    """The place as the plan shows it.

    Attributes:
        name: its name.
        frost_source: where its frost dates come from, as the season file says.
        threshold_c: minimum in the screen that counts as a frost, in °C.
        last_frost: day with an even chance of a later frost; null where frost comes in less than half of the years.
        risk: chance of a later frost that a tender crop is planted out at.
        risk_date: day from which on the chance is no more than that; null where it never is more.
        first_frost: day by which an autumn frost has come in half of the years.
        bench_c: warmth of the bench by night and by day, in °C.
        shelf_trays: trays that the bench holds.
        counted_from: day that weeks are counted from: `last_frost`, or the day stated where there is none.
    """

    name: str
    frost_source: str | None
    threshold_c: float
    last_frost: datetime.date | None
    risk: float
    risk_date: datetime.date | None
    first_frost: datetime.date | None
    bench_c: tuple[float, float] | None
    shelf_trays: int | None
    counted_from: datetime.date


class Cited(NamedTuple):
    """A source used, and how to name it.

    Attributes:
        source_id: id by which the plan refers to it.
        citation: how to cite it.
    """

    source_id: str
    citation: str


class Action(NamedTuple):
    """A step that is open. `overdue`: the day on which it should have been done at the latest; None while there is time."""

    sowing: str
    step: Step
    overdue: datetime.date | None = None


# They hold for every plan.
GENERAL = (
    Caution("Frost", "A chance is per year at that station, in a screen; leaves and hollows are colder on clear nights. "
        "Read the forecast before planting out."),
    Caution("Always", "The label, local rules and qualified advice come first; silence is no promise."),
)  # fmt: skip
RECKONED = (
    "weeks count from the date with an even chance of a later frost, or where frost is rarer from the day that you state; also "
    "where a source does not say which frost it means",
    "frost left: chance of a later frost on the first day of planting out (in place: when the first seedlings are expected; "
    "autumn: of a frost before the last day of harvest)",
    "seedlings: earliest from the first sowing day to latest from the last; give up: no seedling so long after sowing",
    "warmth: best range for germination",
    "seeds: for the plants wanted, with a percentage where the germination is assumed for want of a test of your own; "
    "plants = seeds x germination x share of the best at this warmth x what comes through",
)


class Plan(NamedTuple):
    """A season's plan.

    Attributes:
        format: number of this format.
        data_version: edition of the data package.
        year: year of the last spring frost that the plan is made around.
        place: the place.
        sowings: in the order of their dates.
        conflicts: what does not go together, in the order of its days.
        totals: what the season takes and costs.
        cautions: hazards of this season's crops and materials.
        frost: chance of frost day by day.
        seen: what the records say.
        assumptions: figures that the plan rests on besides the crops' own.
        citations: every source used.
        warnings: what is poor about the frost dates.
        layers: what was laid over the release, in order.
        general_cautions: cautions that hold for every plan.
        reckoned: how the figures are to be read.
    """

    format: int
    data_version: str
    year: int
    place: PlanPlace
    sowings: tuple[PlannedSowing, ...]
    conflicts: tuple[Conflict, ...]
    totals: tuple[Total, ...]
    cautions: tuple[Caution, ...]
    frost: tuple[FrostDay, ...]
    seen: tuple[Seen, ...]
    assumptions: tuple[Assumption, ...]
    citations: tuple[Cited, ...]
    warnings: tuple[str, ...]
    layers: tuple[str, ...] = ()
    general_cautions: tuple[Caution, ...] = GENERAL
    reckoned: tuple[str, ...] = RECKONED

    def next_actions(self, today: datetime.date) -> tuple[Action, ...]:
        """What is left to do on that day of what is `unsettled`, overdue first, then soonest first; what one only expects is left out.

        A step is over when its days are. Testing and ordering stay, as overdue, while the sowing is still to come, and so does
        a sowing that the records, where there are any, do not know; all of them go with the last day of the sowing's steps.
        """
        found, unsettled = [], self.unsettled(today)
        for line in self.sowings:
            over = max((step.last for step in line.steps), default=today) < today
            to_come = line.sow is not None and (line.sow.last >= today or bool(self.seen))
            for step in unsettled[line.id]:
                if step.kind == "seedlings" or over:
                    continue
                if step.last >= today:
                    found.append(Action(line.id, step))
                elif step.kind in ("test", "buy", "sow") and to_come:
                    found.append(Action(line.id, step, step.last))
        return tuple(sorted(found, key=lambda each: (
            each.overdue is None, each.overdue or max(each.step.first, today), STEPS.index(each.step.kind), each.sowing
        )))  # fmt: skip

    def unsettled(self, today: datetime.date) -> dict[str, tuple[Step, ...]]:
        """By sowing the steps that the records leave open, whether or not their days are past.

        Whatever comes before the latest thing recorded is past, and nothing is given up once seedlings were seen. Where
        records are kept and a sowing is not in them though its days are over, what follows from it waits.
        """
        lasting = self.lasting()
        return {
            line.id: tuple(self._open(line, {seen.event for seen in lasting[line.id]}, today)) for line in self.sowings
        }

    def lasting(self) -> dict[str, tuple[Seen, ...]]:
        """By sowing what was seen of it since it was last sown: a sowing that was given up and sown again begins anew."""
        found: dict[str, list[Seen]] = {line.id: [] for line in self.sowings}
        for seen in self.seen:
            found.setdefault(seen.sowing, []).append(seen)
        return {sowing: tuple(every[last_round([seen.event for seen in every]) :]) for sowing, every in found.items()}

    def _open(self, line: PlannedSowing, events: set[str], today: datetime.date) -> Iterator[Step]:
        sowing = STEPS.index("sow")
        reached = max((STEPS.index(event) for event in events if event in STEPS), default=-1)
        waits = bool(self.seen) and reached < sowing and line.sow is not None and line.sow.last < today
        for step in line.steps:
            place = STEPS.index(step.kind)
            if place <= reached or (waits and place > sowing) or (step.kind == "give_up" and "seedlings" in events):
                continue
            yield step
