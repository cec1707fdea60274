"""The plan as iCalendar (RFC 5545): one all-day event a step, which a second import updates instead of doubling.

A calendar knows an event again by its UID, and takes the one with the higher SEQUENCE, or with the later DTSTAMP where
these are alike (RFC 5546, 2.1.5). The UID is made of place, season, sowing and step, never of a date, so that two
gardens keep apart; SEQUENCE counts the minutes from 2020 to the moment of making, so that no earlier file need be kept.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping
from typing import Any
from uuid import UUID, uuid5

from cropdata.errors import InputError, MissingExtraError
from cropdata.season.plan import Plan, PlannedSowing, Step
from cropdata.season.words import STEP_WORDS

_OURS = UUID("0d6a5f9c-6f0e-5c1e-9b57-2f3f5b1f7a60")  # drawn once for events of this package; never changed
_COUNTED_FROM = datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)


def calendar_text(plan: Plan, made: datetime.datetime, before: str | None = None) -> str:
    """The plan's steps as the text of an `.ics` file (CRLF line ends, to be written as they are).

    `made` is the moment of making, with its time zone: the same plan and moment give the same text. `before` is the
    text of the file made last: what stood there of this place and season and is no longer planned is sent as cancelled.

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
    stamps = {
        "dtstamp": made,
        "last-modified": made,
        "sequence": max(0, int((made - _COUNTED_FROM).total_seconds() // 60)),
    }
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//cropdata//season plan//EN")
    calendar.add("calscale", "GREGORIAN")
    season = f"{plan.place.name}, season {plan.year}"
    calendar.add("x-wr-calname", season)
    uids = set()
    for line in plan.sowings:
        seen: Counter[str] = Counter()
        for step in line.steps:
            seen[step.kind] += 1
            uid = event_uid(season, line.id, step.kind, seen[step.kind])
            uids.add(uid)
            calendar.add_component(_event(uid, line, step, season, plan.place.name, stamps))
    for event in _gone(before, uids, season):
        for name, value in stamps.items():
            event.pop(name, None)
            event.add(name, value)
        event["status"] = "CANCELLED"
        calendar.add_component(event)
    text: str = calendar.to_ical().decode("utf-8")
    return text


def event_uid(season: str, sowing: str, kind: str, number: int = 1) -> str:
    """The UID of a step: the same whenever the plan of that season is made again. `number` counts steps of one kind."""
    return str(uuid5(_OURS, f"{season}/{sowing}/{kind}/{number}"))


def _event(uid: str, line: PlannedSowing, step: Step, season: str, place: str, stamps: Mapping[str, Any]) -> Any:
    from icalendar import Event

    event = Event()
    event.add("uid", uid)
    for name, value in stamps.items():
        event.add(name, value)
    event.add("dtstart", step.first)
    event.add("dtend", step.last + datetime.timedelta(days=1))  # the first day that no longer belongs to it
    name = " ".join(part for part in (line.crop, line.variety) if part)
    event.add(
        "summary", f"{name}: {STEP_WORDS[step.kind].lower()}{f' ({line.number} of {line.of})' if line.of > 1 else ''}"
    )
    said = [step.text]
    if step.sources:
        said.append(f"Sources: {', '.join(step.sources)}.")
    event.add("description", "\n".join(said))
    event.add("categories", [STEP_WORDS[step.kind], line.crop])
    event.add("location", place)
    event.add("transp", "TRANSPARENT")  # all day, yet nobody is busy all day
    event.add("status", "CONFIRMED")
    event.add("x-cropdata-season", season)
    return event


def _gone(before: str | None, uids: set[str], season: str) -> list[Any]:
    """Events of this season in the file made last that are planned no longer; another season's are let be."""
    from icalendar import Calendar

    if before is None:
        return []
    try:
        old = Calendar.from_ical(before).walk("VEVENT")
    except (ValueError, IndexError):  # not ours, or spoilt: it is written anew
        return []
    ours = [event for event in old if str(event.get("x-cropdata-season")) == season]
    return [event for event in ours if str(event.get("uid")) not in uids]
