"""The plan as iCalendar (RFC 5545): one all-day event a step, which a second import updates instead of doubling.

A calendar knows an event again by its UID, and takes the one with the higher SEQUENCE, or with the later DTSTAMP where
these are alike (RFC 5546, 2.1.5). SEQUENCE counts the seconds from 2020 to the moment at which the event was last changed,
so that an earlier file need not be kept (it fits the 32 bits of an iCalendar integer until 2088).

The UID is made of garden, year, sowing and step, never of a date. The garden is a key that stands in the file and is
taken on by the file that replaces it, so that a place can be renamed: see `_garden`. Gardens of one name are one garden.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterator
from typing import Any
from uuid import UUID, uuid5

from cropdata.errors import InputError, MissingExtraError
from cropdata.season.plan import Plan, PlannedSowing, Seen, Step
from cropdata.season.words import STEP_WORDS

_OURS = UUID("0d6a5f9c-6f0e-5c1e-9b57-2f3f5b1f7a60")  # drawn once for events of this package; never changed
_COUNTED_FROM = datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)
_STAMPS = ("dtstamp", "last-modified", "sequence")


def calendar_text(
    plan: Plan, made: datetime.datetime, before: str | None = None, today: datetime.date | None = None
) -> str:
    """The plan's steps as the text of an `.ics` file (CRLF line ends, to be written as they are).

    What is done stands on the day on which it was done; what the records settle otherwise (`Plan.unsettled`) on `today`
    (the day of `made` where it is left out) is not in it.

    `made` is the moment of making, with its time zone: the same plan and moment give the same text. `before` is the
    text of the file made last: what has not changed since keeps its stamps, and what stood there of this garden and year
    and is no longer planned is sent as cancelled.

    Raises MissingExtraError without the library icalendar, InputError for a moment without a time zone.
    """
    try:
        from icalendar import Calendar
    except ImportError as error:
        raise MissingExtraError("a calendar file", "calendar") from error
    if made.tzinfo is None:
        raise InputError(
            "the moment of making has no time zone", found=made, hint="such as datetime.datetime.now(datetime.UTC)"
        )
    made = made.astimezone(datetime.UTC).replace(microsecond=0)
    last = _read(before)
    same_year = last is not None and str(last.get("x-cropdata-season")) == str(plan.year)
    garden = _garden(plan, last if same_year else None)
    same = same_year and str(last.get("x-cropdata-garden")) == garden
    old = {str(event.get("uid")): event for event in last.walk("VEVENT")} if same else {}
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//cropdata//season plan//EN")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-calname", _title(plan))
    calendar.add("x-cropdata-garden", garden)
    calendar.add("x-cropdata-season", str(plan.year))
    planned = dict(_planned(plan, garden, today or made.date()))
    planned |= {uid: _cancelled(event) for uid, event in old.items() if uid not in planned}
    for uid, event in planned.items():
        _stamp(event, old.get(uid), made)
        calendar.add_component(event)
    text: str = calendar.to_ical().decode("utf-8")
    return text


def event_uid(garden: str, year: int, sowing: str, kind: str, number: int = 1) -> str:
    """The UID of a step: the same whenever the plan of that season is made again. `number` counts steps of one kind."""
    return str(uuid5(_OURS, f"{garden}/{year}/{sowing}/{kind}/{number}"))


def _title(plan: Plan) -> str:
    return f"{plan.place.name}, season {plan.year}"


def _steps(plan: Plan, garden: str) -> Iterator[tuple[str, PlannedSowing, Step]]:
    for line in plan.sowings:
        count: Counter[str] = Counter()
        for step in line.steps:
            count[step.kind] += 1
            yield event_uid(garden, plan.year, line.id, step.kind, count[step.kind]), line, step


def _garden(plan: Plan, last: Any) -> str:
    """The key of the garden: that of the file made last, if it is the same garden's; else one made of the place's name.

    It is the same where the name is, or where at least half of what stands in the file would be in it again under its key:
    then the place was renamed. Another garden's plan that is written over it shares less.
    """
    fresh = str(uuid5(_OURS, plan.place.name))
    if last is None or last.get("x-cropdata-garden") is None:
        return fresh
    key = str(last.get("x-cropdata-garden"))
    uids = {str(event.get("uid")) for event in last.walk("VEVENT") if event.get("status") != "CANCELLED"}
    again = uids & {uid for uid, _, _ in _steps(plan, key)}
    return key if str(last.get("x-wr-calname")) == _title(plan) or 2 * len(again) >= len(uids) else fresh


def _planned(plan: Plan, garden: str, today: datetime.date) -> Iterator[tuple[str, Any]]:
    done = {(seen.sowing, seen.event): seen for lasting in plan.lasting().values() for seen in reversed(lasting)}
    unsettled = plan.unsettled(today)
    for uid, line, step in _steps(plan, garden):
        seen = done.get((line.id, step.kind))
        if seen is not None or step in unsettled[line.id]:
            yield uid, _event(uid, line, step, seen, plan.place.name)


def _event(uid: str, line: PlannedSowing, step: Step, seen: Seen | None, place: str) -> Any:
    from icalendar import Event

    event = Event()
    event.add("uid", uid)
    first, last, said = (seen.date, seen.date, [seen.text]) if seen else (step.first, step.last, [step.text])
    event.add("dtstart", first)
    event.add("dtend", last + datetime.timedelta(days=1))  # the first day that no longer belongs to it
    event.add("summary", f"{line.name}: {STEP_WORDS[step.kind].lower()}")
    if step.sources and not seen:
        said.append(f"Sources: {', '.join(step.sources)}.")
    event.add("description", "\n".join(said))
    event.add("categories", [STEP_WORDS[step.kind], line.kind_name])
    event.add("location", place)
    event.add("transp", "TRANSPARENT")  # all day, yet nobody is busy all day
    event.add("status", "CONFIRMED")
    return event


def _cancelled(event: Any) -> Any:
    event = event.copy()
    event["status"] = "CANCELLED"
    return event


def _stamp(event: Any, old: Any, made: datetime.datetime) -> None:
    """The stamps of the file made last where nothing changed, else those of this moment, above the last ones."""
    sequence = int((made - _COUNTED_FROM).total_seconds())
    if old is not None:
        if _content(event) == _content(old):
            for name in _STAMPS:
                event[name] = old[name]
            return
        sequence = max(sequence, int(str(old["sequence"])) + 1)
    for name, value in zip(_STAMPS, (made, made, max(0, sequence)), strict=True):
        event.pop(name, None)
        event.add(name, value)


def _content(event: Any) -> bytes:
    event = event.copy()
    for name in _STAMPS:
        event.pop(name, None)
    content: bytes = event.to_ical()
    return content


def _read(before: str | None) -> Any:
    """The calendar made last; None where there is none, or what there is is not ours or spoilt: it is written anew."""
    from icalendar import Calendar

    if before is None:
        return None
    try:
        calendar = Calendar.from_ical(before)
        stamps = [
            int(str(event["sequence"]))
            for event in calendar.walk("VEVENT")
            if event["dtstamp"] and event["last-modified"]
        ]
    except (ValueError, IndexError, KeyError):
        return None
    return calendar if len(stamps) == len(calendar.walk("VEVENT")) else None
