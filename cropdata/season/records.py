"""What was really sown and seen in a season: a CSV beside the plan, and how it compares with it.

Columns: `sowing` (the id that the plan shows), `event` (a step of the plan: sow, seedlings, plant_out …), `date`
(YYYY-MM-DD), and as you like `count` and `note`. `seedlings` is the day on which about half of the seedlings were up.
A sowing that was lost (`give_up`) may be sown again under its id: the plan follows the last one.
Blank lines and lines that begin with # say nothing.
"""

from __future__ import annotations

import contextlib
import csv
import datetime
import difflib
import os
from collections.abc import Iterable
from typing import NamedTuple

from cropdata.agronomy.windows import Window
from cropdata.errors import InputError, why_unreadable
from cropdata.season.drafting import counted
from cropdata.season.plan import STEPS, Conflict, PlannedSowing, Seen, last_round
from cropdata.season.words import Words

NEEDED, OPTIONAL = ("sowing", "event", "date"), ("count", "note")
YEARS = (1900, 2200)
DONE = {
    "test": "Tested", "buy": "Ordered", "chill": "Chilled from", "soak": "Soaked from", "sow": "Sown", "move": "Moved to mix",
    "seedlings": "Seedlings up", "give_up": "Given up", "feed": "Fed from", "pot_on": "Potted on", "harden": "Hardened off from",
    "plant_out": "Planted out", "harvest": "Harvested",
}  # fmt: skip
# The first record of the one comes no later than the first of the other; seedlings at least a day after the sowing.
ORDER = (
    ("chill", "sow"), ("soak", "sow"), *(("sow", later) for later in STEPS[STEPS.index("sow") + 1 :]),
    ("seedlings", "plant_out"), ("seedlings", "harvest"), ("pot_on", "plant_out"), ("harden", "plant_out"), ("plant_out", "harvest"),
)  # fmt: skip
_SHOWN = 8


class Record(NamedTuple):
    """One line of the records. `row` counts as a spreadsheet does: the header is 1. `number` is the column `count`."""

    row: int
    sowing: str
    event: str
    date: datetime.date
    number: int | None
    note: str


def read_records(path: str | os.PathLike[str]) -> tuple[Record, ...]:
    """The records in the order of the file.

    Raises InputError for a file that cannot be read or lacks a column, and, with their rows, for events that are no step,
    dates and counts that are none, a sowing that is sown twice without being given up between, and days of one sowing that
    are out of order.
    """
    file = os.fspath(path)
    try:
        with open(file, encoding="utf-8-sig", newline="") as stream:
            lines = list(csv.reader(stream, strict=True))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise InputError(why_unreadable(error), file=file) from error
    said = [(n, [cell.strip() for cell in line]) for n, line in enumerate(lines, start=1)]
    said = [(n, line) for n, line in said if any(line) and not line[0].startswith("#")]
    if not said:
        raise InputError(f"holds no records; needed: the columns {', '.join(NEEDED)}", file=file)
    header = said[0][1]
    unknown = [name for name in header if name not in (*NEEDED, *OPTIONAL)]
    if unknown or not set(NEEDED) <= set(header) or len(set(header)) < len(header):
        raise InputError(
            f"records need the columns {', '.join(NEEDED)}, and may have {' and '.join(OPTIONAL)}; found {', '.join(header)}",
            file=file, found=header, allowed=", ".join((*NEEDED, *OPTIONAL)),
        )  # fmt: skip
    mistakes: list[str] = []
    records = [
        _record(number, dict(zip(header, line, strict=False)), len(line) - len(header), mistakes)
        for number, line in said[1:]
    ]
    for found in _by_sowing(record for record in records if record is not None).values():
        while found:
            begins = last_round([record.event for record in found])
            mistakes += [*_sown_twice(found[begins:]), *_out_of_order(found[begins:])]
            found = found[:begins]
    if mistakes:
        more = f"\n  … and {len(mistakes) - _SHOWN} more" if len(mistakes) > _SHOWN else ""
        raise InputError(f"{counted(len(mistakes), 'mistake')}\n  " + "\n  ".join(mistakes[:_SHOWN]) + more, file=file)
    return tuple(record for record in records if record is not None)


def _by_sowing(records: Iterable[Record]) -> dict[str, list[Record]]:
    """In the order of days."""
    found: dict[str, list[Record]] = {}
    for record in sorted(records, key=lambda each: (each.date, each.row)):
        found.setdefault(record.sowing, []).append(record)
    return found


def last_rounds(records: Iterable[Record]) -> list[Record]:
    """The records in the order of days, without those of a sowing that was given up and then sown again."""
    found = (every[last_round([each.event for each in every]) :] for every in _by_sowing(records).values())
    return sorted((record for every in found for record in every), key=lambda each: (each.date, each.row))


def _sown_twice(records: list[Record]) -> list[str]:
    sown = [record for record in records if record.event == "sow"]
    return [
        f"row {again.row}: {again.sowing} is sown in row {sown[0].row} already; where the first was lost, write down before when it was given "
        "up (give_up); a new batch beside it is a packet of its own in the season file"
        for again in sown[1:]
    ]


def _out_of_order(records: list[Record]) -> list[str]:
    """Planted out before it was sown, and the like: where one of the two days is a slip, no later date can be trusted.

    `records`: of one sowing, in the order of days.
    """
    first: dict[str, Record] = {}
    for record in records:
        first.setdefault(record.event, record)
    found = []
    for earlier, later in ORDER:
        one, other = first.get(earlier), first.get(later)
        if one is None or other is None:
            continue
        least = one.date + datetime.timedelta(days=int(later == "seedlings"))
        if other.date < least:
            found.append(
                f"row {other.row}: {later} of {other.sowing} on {other.date}, but {earlier} on {one.date} (row {one.row}); allowed: {least} or later"
            )
    return found


def _record(number: int, row: dict[str, str], surplus: int, mistakes: list[str]) -> Record | None:
    before = len(mistakes)
    if surplus > 0:
        mistakes.append(
            f"row {number}: {counted(surplus, 'cell')} more than the header; put a text with commas in quotes"
        )
    if not row.get("sowing"):
        mistakes.append(f"row {number}, sowing: missing; allowed: the id of a sowing, as the plan shows it")
    event = row.get("event", "")
    if event not in STEPS:
        mistakes.append(f"row {number}, event: found {event!r}; allowed: {', '.join(STEPS)}")
    date = None
    with contextlib.suppress(ValueError):
        date = datetime.date.fromisoformat(row.get("date", ""))
    if date is None or not YEARS[0] <= date.year <= YEARS[1]:
        mistakes.append(f"row {number}, date: found {row.get('date', '')!r}; allowed: YYYY-MM-DD, such as 2027-03-15")
    count = row.get("count", "")
    if count and not count.isdecimal():
        mistakes.append(f"row {number}, count: found {count!r}; allowed: a whole number, 0 or more")
    if len(mistakes) > before or date is None:
        return None
    return Record(number, row["sowing"], event, date, int(count) if count else None, row.get("note", ""))


def check_records(
    records: Iterable[Record], known: Iterable[str], alike: Iterable[str], year: int, file: str | None
) -> None:
    """Raise InputError for records of sowings that the plan does not have, with near ones, of sowings that only the order
    of the file tells apart (`alike`), and of days outside the season's years.
    """
    ids, twins = tuple(known), set(alike)
    told = []
    for record in records:
        if record.sowing in twins:
            told.append(
                f"row {record.row}, sowing: {record.sowing} may be any of several packets that are alike; give each packet in the season "
                "file a variety or an id of its own"
            )
            continue
        if record.sowing in ids:
            if abs(record.date.year - year) > 1:
                told.append(
                    f"row {record.row}, date: found {record.date}; allowed: a day of {year - 1} to {year + 1}, the season's years"
                )
            continue
        near = difflib.get_close_matches(record.sowing, ids, n=3, cutoff=0.5)
        several = [
            each for each in ids if each.rpartition("-")[0] == record.sowing and each.rpartition("-")[2].isdecimal()
        ]
        hint = (
            f"its packet has several sowings: write {several[0]} for the first, to {several[-1]} for the last"
            if len(several) > 1
            else f"did you mean {' or '.join(near)}?"
            if near
            else f"the plan has {', '.join(ids[:_SHOWN])}{' …' if len(ids) > _SHOWN else ''}"
        )
        told.append(f"row {record.row}, sowing: the plan has no {record.sowing!r}; {hint}")
    if told:
        more = f"\n  … and {len(told) - _SHOWN} more" if len(told) > _SHOWN else ""
        raise InputError("\n  ".join(told[:_SHOWN]) + more, file=file)


class Real(NamedTuple):
    """What is known of one sowing: the days on which it was really sown, was up (and the most seedlings counted), was
    planted out, and was given up for good. `reached`: the place in STEPS of the furthest thing recorded, which proves all that
    comes before it; giving up proves nothing.
    """

    sown: datetime.date | None = None
    up: datetime.date | None = None
    counted: int | None = None
    planted: datetime.date | None = None
    given_up: datetime.date | None = None
    reached: int = -1

    @property
    def begun(self) -> bool:
        """Whether anything is recorded that comes with the sowing or after it."""
        return self.given_up is not None or self.reached >= STEPS.index("sow")

    @property
    def came_up(self) -> bool:
        """Whether the seedlings, or anything that is done with them, are recorded."""
        return self.reached >= STEPS.index("seedlings")

    @property
    def out(self) -> bool:
        """Whether it is planted out: that, or a harvest, is recorded."""
        return self.reached >= STEPS.index("plant_out")


def real_days(records: Iterable[Record]) -> dict[str, Real]:
    """By sowing: later dates of the plan are reckoned from these. Planted out on several days: the first.

    One that was given up and sown again is known from its last sowing on. A sowing of which anything that follows the sowing is recorded on a day after it was given up was not lost.
    """
    found: dict[str, Real] = {}
    for record in last_rounds(records):
        real = found.get(record.sowing, Real())
        if record.event == "sow":
            real = real._replace(sown=record.date)
        elif record.event == "plant_out" and real.planted is None:
            real = real._replace(planted=record.date)
        elif record.event == "seedlings":
            counts = [count for count in (real.counted, record.number) if count is not None]
            real = real._replace(up=real.up or record.date, counted=max(counts, default=None))
        if record.event == "give_up":
            real = real._replace(given_up=record.date)
        else:
            real = real._replace(reached=max(real.reached, STEPS.index(record.event)))
            if (
                real.given_up is not None
                and record.date > real.given_up
                and STEPS.index(record.event) > STEPS.index("sow")
            ):
                real = real._replace(given_up=None)
        found[record.sowing] = real
    return found


def seen_of(
    records: Iterable[Record], sowings: Iterable[PlannedSowing], planned: dict[str, dict[str, Window]], words: Words
) -> tuple[Seen, ...]:
    """Each record beside the plan, in the order of days.

    `planned` holds, by sowing and event, the windows to compare with: as they were planned before anything was recorded,
    for the other events as they follow from the real sowing.
    """
    lines = {line.id: line for line in sowings}
    every = tuple(records)
    lasting, found = set(last_rounds(every)), []
    for record in sorted(every, key=lambda each: (each.date, each.row)):
        line, lasts = lines[record.sowing], record in lasting
        # Of a sowing that was lost and sown again the plan knows the window, and no longer what followed from it.
        window = planned[record.sowing].get(record.event) if lasts or record.event == "sow" else None
        text = _told(record, line, window, words, lasts)
        found.append(Seen(record.sowing, record.event, record.date, _late(record.date, window), text))
    return tuple(found)


def _late(date: datetime.date, window: Window | None) -> int | None:
    """Days after the window's end, negative before its beginning, 0 within; None without a window."""
    if window is None:
        return None
    return max((date - window.last).days, 0) or min((date - window.first).days, 0)


def _told(record: Record, line: PlannedSowing, window: Window | None, words: Words, lasts: bool) -> str:
    text = f"{DONE[record.event]} {words.day(record.date)}"
    late = _late(record.date, window)
    if window is None or late is None:
        text += ", nothing was planned of it" if lasts else ", before it was sown again"
    elif late == 0:
        text += f", as planned ({words.span(*window)})"
    else:
        text += (
            f", {counted(abs(late), 'day')} {'later' if late > 0 else 'earlier'} than planned ({words.span(*window)})"
        )
    if record.number is not None:
        wanted = line.plants if record.event == "plant_out" else None
        text += f"; {record.number} counted" + (f", {wanted} wanted" if wanted is not None else "")
    return f"{text}{f'; {record.note}' if record.note else ''}."


def still_to_come(
    records: Iterable[Record], sowings: Iterable[PlannedSowing], today: datetime.date, words: Words
) -> list[Conflict]:
    """Records of days after the reader's: perhaps a slip, yet the plan follows them."""
    days: dict[str, list[datetime.date]] = {}
    for record in records:
        if record.date > today:
            days.setdefault(record.sowing, []).append(record.date)
    return [
        Conflict("records", min(found), max(found), (
            f"{line.name}: written down for {words.span(min(found), max(found))}, still to come on {words.day(today)}, the day of this plan: "
            "mend the date if it is a slip."
        ), (line.id,))
        for line in sowings if (found := days.get(line.id))
    ]  # fmt: skip


def behind(line: PlannedSowing, real: Real, today: datetime.date, words: Words) -> list[Conflict]:
    """A sowing that the records know as begun and that is late: nothing up when it should have been given up, too few up,
    or not planted out when its window is past.
    """
    found = []
    name = line.name
    if not real.came_up and line.sow is not None and line.give_up_days is not None:
        last = line.sow.last + datetime.timedelta(days=line.give_up_days)
        if last < today:
            found.append(Conflict("failed", last, today, (
                f"{name}: no seedlings by your records, {counted((today - line.sow.last).days, 'day')} after it was sown; it was to be given up on "
                f"{words.day(last)}: sow again, or write down when they came up."
            ), (line.id,)))  # fmt: skip
    if real.counted is not None and line.plants is not None and real.counted < line.plants and real.up is not None:
        found.append(Conflict("few", real.up, None, (
            f"{name}: {counted(real.counted, 'seedling')} counted by your records, {line.plants} plants wanted: sow more while there is time."
        ), (line.id,)))  # fmt: skip
    if real.came_up and not real.out and line.plant_out is not None and line.plant_out.last < today:
        found.append(Conflict("late", line.plant_out.last, today, (
            f"{name}: not planted out by your records; its window ended {words.day(line.plant_out.last)}, "
            f"{counted((today - line.plant_out.last).days, 'day')} ago."
        ), (line.id,)))  # fmt: skip
    return found
