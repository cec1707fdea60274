"""The calendar file, read back by another library (vobject) and held against the plan event by event."""

from __future__ import annotations

import datetime
import sys

import pytest
import vobject
from made_plan import GARLIC, LETTUCE, PLAN, TOMATO, day

from cropdata.errors import InputError, MissingExtraError
from cropdata.season.calendar_file import calendar_text
from cropdata.season.plan import Seen
from cropdata.season.words import STEP_WORDS

NOW = datetime.datetime(2026, 11, 26, 3, 0, tzinfo=datetime.UTC)
LATER = NOW + datetime.timedelta(hours=1)


def events(text):
    return {event.uid.value: event for event in vobject.readOne(text).vevent_list}


UNSEEN = PLAN._replace(seen=())  # nothing recorded: every step is an event


def test_every_step_is_an_event_and_every_event_a_step():
    read = sorted(
        (event.dtstart.value, event.dtend.value, event.summary.value, event.description.value.splitlines()[0])
        for event in events(calendar_text(UNSEEN, NOW)).values()
    )
    one_day = datetime.timedelta(days=1)
    planned = sorted(
        (
            step.first,
            step.last + one_day,  # RFC 5545, 3.6.1: DTEND is not part of the event
            f"{line.crop}{f' {line.variety}' if line.variety else ''}{', autumn' if line.autumn else ''}"
            + f"{f' {line.number}/{line.of}' if line.of > 1 else ''}: {STEP_WORDS[step.kind].lower()}",
            step.text,
        )
        for line in UNSEEN.sowings
        for step in line.steps
    )
    assert read == planned
    assert len(read) == 22  # counted in made_plan.py: 7 of tomato, 3 of each lettuce, 4 of carrot, 2 of kale


def test_events_say_all_that_the_step_says_and_their_kind():
    text = calendar_text(PLAN, NOW)
    plant_out = next(event for event in events(text).values() if event.summary.value == "Tomato Gate Red: plant out")
    assert plant_out.description.value == (
        "Plant out 12, 60 cm apart. Chance of a later frost: 10 %; read the forecast.\nSources: ext_a, ext_b."
    )
    assert plant_out.categories.value == ["Plant out", "Tomato"]


def test_a_changed_plan_keeps_its_uids_and_counts_on():
    week = datetime.timedelta(days=7)
    moved = TOMATO._replace(
        steps=tuple(step._replace(first=step.first + week, last=step.last + week) for step in TOMATO.steps)
    )
    changed = PLAN._replace(sowings=tuple(moved if line is TOMATO else line for line in PLAN.sowings))
    first, second = events(calendar_text(PLAN, NOW)), events(calendar_text(changed, LATER))
    assert set(first) == set(second)
    for uid, event in second.items():
        assert int(event.sequence.value) > int(first[uid].sequence.value)
        assert event.dtstamp.value > first[uid].dtstamp.value
        shift = week if "Tomato" in event.summary.value else datetime.timedelta(0)
        assert event.dtstart.value - first[uid].dtstart.value == shift


def test_a_second_later_the_sequence_is_higher():
    first, second = (calendar_text(PLAN, NOW + datetime.timedelta(seconds=after)) for after in (0, 1))
    uid, event = next(iter(events(second).items()))
    assert int(event.sequence.value) == int(events(first)[uid].sequence.value) + 1
    assert int(event.sequence.value) < 2**31  # RFC 5545, 3.3.8


def test_what_has_not_changed_keeps_its_stamps():
    before = calendar_text(PLAN, NOW)
    assert calendar_text(PLAN, LATER, before) == before
    later = TOMATO._replace(steps=(TOMATO.steps[0]._replace(text="Sow 20."), *TOMATO.steps[1:]))
    plan = PLAN._replace(
        sowings=tuple(later if line is TOMATO else line for line in PLAN.sowings if line is not LETTUCE[2])
    )
    old, new = events(before), events(calendar_text(plan, NOW, before))  # within the same second
    changed = {uid for uid in new if new[uid].sequence.value != old[uid].sequence.value}
    assert {new[uid].summary.value for uid in changed} == {
        "Tomato Gate Red: sow", *(f"Lettuce Lanterne des Trois Jardins 3/3: {kind}" for kind in ("sow", "plant out", "harvest")),
    }  # fmt: skip
    assert all(int(new[uid].sequence.value) == int(old[uid].sequence.value) + 1 for uid in changed)
    once = calendar_text(plan, NOW, before)
    assert "STATUS:CANCELLED" in once and calendar_text(plan, LATER, once) == once  # not cancelled anew


def test_what_is_planned_again_is_no_longer_cancelled():
    fewer = PLAN._replace(sowings=tuple(line for line in PLAN.sowings if line is not LETTUCE[2]))
    gone = calendar_text(fewer, NOW, calendar_text(PLAN, NOW))
    again = events(calendar_text(PLAN, LATER, gone))
    assert {event.status.value for event in again.values()} == {"CONFIRMED"}
    assert all(int(event.sequence.value) >= int(events(gone)[uid].sequence.value) for uid, event in again.items())


def test_a_place_that_is_renamed_keeps_its_events():
    before = calendar_text(PLAN, NOW)
    renamed = PLAN._replace(place=PLAN.place._replace(name="Alder Bank and the new bed (invented)"))
    after = calendar_text(renamed, LATER, before)
    assert set(events(after)) == set(events(before))
    assert {event.status.value for event in events(after).values()} == {"CONFIRMED"}
    # And from then on, though the key was made of the first name.
    assert set(events(calendar_text(renamed, LATER, after))) == set(events(before))


def test_another_garden_written_over_the_file_cancels_nothing():
    """Of its own sowings the new garden shares one, kale, with the garden that the file was made for."""
    before = calendar_text(PLAN._replace(sowings=PLAN.sowings[:6]), NOW)
    kale = next(line for line in PLAN.sowings if line.crop == "Kale")
    other = PLAN._replace(place=PLAN.place._replace(name="Elm Row (invented)"), sowings=(kale,), seen=())
    after = events(calendar_text(other, LATER, before))
    assert not set(after) & set(events(before)) and len(after) == len(kale.steps)


def test_what_the_records_settle_leaves_the_calendar():
    """Recorded: seedlings and potting on. Given up is nothing then; what was done stands on its day."""
    seen = tuple(
        Seen(TOMATO.id, event, day(date), 0, f"{event} by the records")
        for event, date in (("sow", "3-25"), ("seedlings", "4-2"), ("pot_on", "4-12"))
    )
    before = calendar_text(UNSEEN, NOW)
    after = events(calendar_text(UNSEEN._replace(seen=seen, sowings=(TOMATO,)), LATER, before, day("4-13")))
    tomato = {
        event.summary.value.split(": ")[1]: (event.status.value, event.dtstart.value)
        for event in after.values() if event.summary.value.startswith("Tomato")
    }  # fmt: skip
    assert tomato == {
        "sow": ("CONFIRMED", day("3-25")), "seedlings": ("CONFIRMED", day("4-2")), "give up": ("CANCELLED", day("4-20")),
        "pot on": ("CONFIRMED", day("4-12")), "harden off": ("CONFIRMED", day("5-1")), "plant out": ("CONFIRMED", day("5-15")),
        "harvest": ("CONFIRMED", day("7-20")),
    }  # fmt: skip


def test_what_is_planned_no_longer_is_cancelled():
    before = calendar_text(PLAN, NOW)
    fewer = PLAN._replace(sowings=tuple(line for line in PLAN.sowings if line is not LETTUCE[2]))
    after = events(calendar_text(fewer, LATER, before=before))
    cancelled = [event for event in after.values() if event.status.value == "CANCELLED"]
    assert {event.summary.value for event in cancelled} == {
        f"Lettuce Lanterne des Trois Jardins 3/3: {kind}" for kind in ("sow", "plant out", "harvest")
    }
    assert all(int(event.sequence.value) > int(events(before)[event.uid.value].sequence.value) for event in cancelled)
    assert len(after) == 22


def test_two_seasons_and_two_gardens_keep_apart():
    uids = set(events(calendar_text(PLAN, NOW)))
    other_year = calendar_text(PLAN._replace(year=2028), NOW, before=calendar_text(PLAN, NOW))
    other_place = calendar_text(PLAN._replace(place=PLAN.place._replace(name="Elm Row (invented)")), NOW)
    for text in (other_year, other_place):
        assert not uids & set(events(text))
        assert len(events(text)) == 22  # and nothing of the other is cancelled


def test_a_spoilt_earlier_file_is_written_anew():
    for spoilt in ("", "no calendar", "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n", "BEGIN:VCARD\r\nEND:VCARD\r\n"):
        assert calendar_text(PLAN, NOW, before=spoilt) == calendar_text(PLAN, NOW)


def test_two_steps_of_one_kind_are_two_events():
    twice = TOMATO._replace(steps=(TOMATO.steps[0], TOMATO.steps[0]._replace(text="Sow the rest.")))
    assert len(events(calendar_text(PLAN._replace(sowings=(twice,)), NOW))) == 2


def test_lines_are_folded_and_texts_survive():
    hostile = 'Café d\'été; 20,5 °C \\ "quoted": ' + "Größe, " * 30 + "\nEND:VEVENT\nBEGIN:VALARM"
    line = GARLIC._replace(steps=(TOMATO.steps[0]._replace(text=hostile),))
    text = calendar_text(PLAN._replace(sowings=(line,)), NOW)
    assert max(len(part.encode()) for part in text.split("\r\n")) <= 75  # RFC 5545, 3.1: octets, not letters
    assert "\n" not in text.replace("\r\n", "")
    (event,) = events(text).values()
    assert event.description.value.startswith(hostile)
    assert event.summary.value == "Garlic Café d'été, autumn: sow"


def test_the_same_plan_and_moment_give_the_same_bytes_in_any_time_zone():
    zone = datetime.timezone(datetime.timedelta(hours=5))
    assert calendar_text(PLAN, NOW) == calendar_text(PLAN, NOW.astimezone(zone))


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(InputError, match="time zone"):
        calendar_text(PLAN, datetime.datetime(2026, 11, 26))


def test_without_the_library_the_install_line_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "icalendar", None)  # Python's own mark for a module that cannot be imported
    with pytest.raises(MissingExtraError, match=r"pip install 'cropdata\[calendar\]'"):
        calendar_text(PLAN, NOW)
