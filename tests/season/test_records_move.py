"""What follows from a grower's records, and what does not: windows that move, steps that go. All invented, by hand."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from cropdata.errors import InputError
from cropdata.season import Plan, PlannedSowing, plan_season
from cropdata.season.learning import learn
from cropdata.season.records import Record, read_records

PLACE: dict[str, object] = {
    "name": "Reed Hollow (invented)",
    "last_spring_frost": {0.9: "04-09", 0.5: "04-28", 0.1: "05-15"},
    "first_autumn_frost": {0.1: "10-01", 0.5: "10-19", 0.9: "11-11"},
    "bench_temperature_c": 20,
}
SOIL = [0, 0, 2, 7, 13, 18, 21, 21, 17, 11, 6, 2]


def day(text: str, year: int = 2027) -> datetime.date:
    return datetime.date.fromisoformat(f"{year}-{text}")


def records(*lines: str) -> tuple[Record, ...]:
    """ "tomato sow 04-10", with a count as a fourth word."""
    said = [line.split() for line in lines]
    return tuple(
        Record(row, sowing, event, day(date), int(count[0]) if count else None, "")
        for row, (sowing, event, date, *count) in enumerate(said, start=2)
    )


def plan_of(packets: list[dict[str, object]], *lines: str, today: str | None = None, **place: object) -> Plan:
    season = {"season": 2027, "place": PLACE | place, "packets": packets}
    return plan_season(season, records=records(*lines), today=None if today is None else day(today))


def line_of(plan: Plan, sowing: str) -> PlannedSowing:
    return next(line for line in plan.sowings if line.id == sowing)


def kinds_of(line: PlannedSowing) -> set[str]:
    return {step.kind for step in line.steps}


def told(plan: Plan, sowing: str) -> list[str]:
    return [clash.text for clash in plan.conflicts if sowing in clash.sowings]


def test_seedlings_in_place_move_the_harvest() -> None:
    """Spinach: 6 to 8 days to seedlings and 35 to 55 to the harvest are printed, from sowing. Sown 3 April and up after 46
    days it is 40 days later than the soonest and 38 than the slowest: 75 to 93 days from sowing.
    """
    packets: list[dict[str, object]] = [{"crop": "spinach", "method": "in_place"}]
    sown = "spinach sow 04-03"
    late = line_of(plan_of(packets, sown, "spinach seedlings 05-19", soil_temperature_c=SOIL), "spinach")
    assert late.harvest == (day("06-17"), day("07-05"))
    harvest = next(step for step in late.steps if step.kind == "harvest")
    assert (
        harvest.text
        == "Harvest from about now: 35 to 55 days from sowing, 38 to 40 more as it came up later than printed."
    )
    # Up as soon as printed it is as printed, however cold the soil was reckoned to be.
    soon = line_of(plan_of(packets, sown, "spinach seedlings 04-09", soil_temperature_c=SOIL), "spinach")
    assert soon.harvest == (day("05-08"), day("05-28"))
    # Without soil temperatures all the same; without a record of the sowing from what is recorded: 46 days after 3 April.
    assert line_of(plan_of(packets, sown, "spinach seedlings 05-19"), "spinach").harvest == late.harvest
    alone = line_of(plan_of(packets, "spinach seedlings 05-19", soil_temperature_c=SOIL), "spinach")
    assert alone.harvest is not None and alone.harvest.first == day("06-17")


def test_no_harvest_before_the_seedlings() -> None:
    """However late they come, in spring and in autumn, with and without soil temperatures."""
    for crop in (
        "spinach",
        "carrot",
        "radish",
        "turnip",
        "beet",
        "cilantro",
        "arugula",
        "snap bean",
        "cosmos",
        "mustard",
    ):
        for autumn in (False, True):
            for place in ({}, {"soil_temperature_c": SOIL}):
                packets: list[dict[str, object]] = [{"crop": crop, "method": "in_place", "autumn": autumn, "id": "x"}]
                plain = line_of(plan_of(packets, **place), "x")
                if plain.sow is None:
                    continue
                sown = f"{plain.sow.first:x sow %m-%d}"
                for days in (1, 20, 110):
                    up = plain.sow.first + datetime.timedelta(days=days)
                    line = line_of(plan_of(packets, sown, f"{up:x seedlings %m-%d}", **place), "x")
                    assert line.harvest is None or line.harvest.first > up, (crop, autumn, place, days)


def test_a_later_event_proves_the_earlier_one() -> None:
    """Tomato sown 20 March is to be given up 27 days on, and its planting out ended 22 May; on 1 July all of that is past."""
    packets: list[dict[str, object]] = [{"crop": "tomato", "method": "pot"}]
    missing = "no seedlings by your records"

    def said(*events: str) -> str:
        return " ".join(told(plan_of(packets, "tomato sow 03-20", *events, today="07-01"), "tomato"))

    assert missing in said() and "not planted out" not in said()
    for event in ("feed", "pot_on", "harden"):
        only = said(f"tomato {event} 04-10")
        assert missing not in only and "not planted out by your records" in only
    for event in ("plant_out", "harvest"):
        only = said(f"tomato {event} 06-10")
        assert missing not in only and "not planted out by your records" not in only
    assert missing in said("tomato move 03-24")  # a root in the towel is no seedling


def test_nothing_is_given_up_that_came_up() -> None:
    packets: list[dict[str, object]] = [{"crop": "tomato", "method": "pot"}]
    sown = "tomato sow 03-20"
    waiting = line_of(plan_of(packets, sown), "tomato")
    assert "give_up" in kinds_of(waiting) and waiting.give_up_days == 27  # as in test_season_records
    up = line_of(plan_of(packets, sown, "tomato seedlings 03-30"), "tomato")
    seedlings = next(step for step in up.steps if step.kind == "seedlings")
    assert seedlings.text.startswith("Up on 30 Mar by your records.") and "Expect" not in seedlings.text
    for line in (up, line_of(plan_of(packets, sown, "tomato pot_on 04-10"), "tomato")):
        assert "give_up" not in kinds_of(line)
        assert line.give_up_days is line.least_give_up_days is line.give_up_after is None


def test_late_is_not_told_as_early() -> None:
    """Tomato is raised for 6 to 8 weeks and goes out from 15 May. Sown 30 March it is expected by 12 April, up 20 May it is 38
    days late: 11 May and 38 days are 18 June. Sown 1 February it is ready by 29 March, 47 days too soon.
    """
    packets: list[dict[str, object]] = [{"crop": "tomato", "method": "pot"}]
    late = plan_of(packets, "tomato sow 03-30", "tomato seedlings 05-20", today="05-21")
    line = line_of(late, "tomato")
    assert line.plant_out is not None and line.plant_out.first == day("06-18")
    assert told(late, "tomato") == []
    by_hand = ["tomato sow 02-01", "tomato seedlings 02-10", "tomato plant_out 07-20"]
    early = told(plan_of(packets, *by_hand[:2], today="02-11"), "tomato")
    assert early == [
        "Tomato: sown on 1 Feb it is ready 47 days before it can go out (15 May): pot it on and keep it longer."
    ]
    planted = told(plan_of(packets, *by_hand, today="07-21"), "tomato")
    assert not any("before it can go out" in each for each in planted)
    # 14 February was expected at the latest; up 40 days later it is still 7 days too soon, for the same day outside.
    slow = plan_of(packets, by_hand[0], "tomato seedlings 03-26", today="03-27")
    assert told(slow, "tomato")[0].startswith("Tomato: sown on 1 Feb it is ready 7 days before it can go out (15 May)")
    assert line_of(slow, "tomato").plant_out == line_of(plan_of(packets, *by_hand[:2]), "tomato").plant_out
    stated = plan_of([packets[0] | {"sow": day("02-01")}])
    assert "sow later, or pot on" in told(stated, "tomato")[0]


LETTUCES: list[dict[str, object]] = [{"crop": "lettuce", "method": "tray", "sowings": 3, "every_days": 14}]


def test_a_succession_recorded_as_planned_stays() -> None:
    """Lettuce goes out from 31 March (4 weeks before 28 April) and is raised for 4 to 6 weeks: sown 17 February, 3 and
    17 March it goes out from 31 March, 14 and 28 April, and is cut 50 days later at the soonest.
    """
    plan = plan_of(LETTUCES)
    dates = [("02-17", "03-31", "05-20"), ("03-03", "04-14", "06-03"), ("03-17", "04-28", "06-17")]
    rows = [f"lettuce-{number} sow {sow}" for number, (sow, _, _) in enumerate(dates, start=1)]
    recorded = plan_of(LETTUCES, *rows)
    for number, (sow, out, cut) in enumerate(dates, start=1):
        before, after = line_of(plan, f"lettuce-{number}"), line_of(recorded, f"lettuce-{number}")
        assert before.sow is not None and before.sow.first == day(sow)
        for line in (before, after):
            assert line.plant_out is not None and line.plant_out.first == day(out)
            assert line.harvest is not None and line.harvest.first == day(cut)
    # A week sooner than planned it goes out a week sooner; a month later by its own weeks: 15 April and 4 to 6 weeks.
    moved = plan_of(LETTUCES, "lettuce-3 sow 03-10", "lettuce-2 sow 04-15")
    sooner, later = line_of(moved, "lettuce-3").plant_out, line_of(moved, "lettuce-2").plant_out
    assert sooner is not None and sooner.first == day("04-21")
    assert later == (day("05-13"), day("05-27"))
    # Days that the grower states are raised as they are, recorded or not.
    stated = [LETTUCES[0] | {"sow": day("03-01")}]
    planned, same = line_of(plan_of(stated), "lettuce-2"), line_of(plan_of(stated, "lettuce-2 sow 03-15"), "lettuce-2")
    assert planned.plant_out == same.plant_out is not None


def test_sown_late_where_weeks_to_raise_are_not_known() -> None:
    """Delphinium: sown 8 to 12 weeks before 28 April, out 4 to 2 before it, 14 to 28 days to seedlings printed. Sown 24 March,
    21 days after 3 March, it goes out 21 April to 5 May and comes up on 7 April at the soonest.
    """
    packets: list[dict[str, object]] = [{"crop": "delphinium", "method": "tray"}]
    planned = line_of(plan_of(packets), "delphinium")
    assert planned.sow == (day("02-03"), day("03-03")) and planned.plant_out == (day("03-31"), day("04-14"))
    assert line_of(plan_of(packets, "delphinium sow 02-10"), "delphinium").plant_out == planned.plant_out
    late = line_of(plan_of(packets, "delphinium sow 03-24"), "delphinium")
    assert late.plant_out == (day("04-21"), day("05-05"))
    assert next(step.first for step in late.steps if step.kind == "harden") == day("04-07")
    # Sweet pea, 8.5 days to seedlings at the soonest: sown from 17 March it goes out 7 April, 14 days before is 24 March.
    pea = line_of(plan_of([{"crop": "sweet pea", "method": "tray"}]), "sweet-pea")
    assert pea.sow is not None and pea.sow.first == day("03-17") and pea.plant_out is not None
    assert pea.plant_out.first == day("04-07")
    assert next(step.first for step in pea.steps if step.kind == "harden") == day("03-25")


def test_an_overdue_sowing_is_reckoned_from_today_while_its_season_lasts() -> None:
    """Tomato, six weeks to raise and 70 days to the harvest at the soonest: sown 25 June it is ripe by 15 October, sown 1 July
    by 21 October, after the frost of 19 October. Leek, ten weeks, 150 days and hardy: sown 12 April it is out by 21 June,
    sown 25 July by 3 October. Snap bean: 50 days.
    """
    packets: list[dict[str, object]] = [
        {"crop": "tomato", "method": "pot", "plants": 6, "packed": 2026}, {"crop": "leek", "method": "tray", "plants": 6},
        {"crop": "snap bean", "method": "in_place", "plants": 6}, {"crop": "pea", "method": "in_place"},
    ]  # fmt: skip

    def sown(sowing: str, today: str, **place: object) -> datetime.date | None:
        plan = plan_of(packets, "pea sow 04-05", today=today, **place)
        line = line_of(plan, sowing)
        past = any("and its season is past: leave it out." in text for text in told(plan, sowing))
        assert past == (line.sow is None)
        if line.sow is None:
            assert line.steps == () and line.shelf is line.seeds is line.plant_out is line.harvest is None
            assert not any(action.sowing == sowing for action in plan.next_actions(day(today)))
            return None
        return line.sow.first

    for sowing, last, first in (
        ("tomato", "06-25", "07-01"),
        ("leek", "04-12", "07-25"),
        ("bean-snap", "08-20", "09-20"),
    ):
        assert sown(sowing, last) == day(last) and sown(sowing, first) is None and sown(sowing, "12-20") is None
    # A place without an autumn frost: half a year after 3 April, the last day of its window, is 2 October.
    assert sown("tomato", "10-02", first_autumn_frost=None) == day("10-02")
    assert sown("tomato", "10-03", first_autumn_frost=None) is None


def test_overdue_successions_keep_their_days_apart_and_orders_their_day() -> None:
    """Sowings from 17 February, 3 and 17 March, of a week each. On 12 March the first two are overdue: 12 and 26 March, and
    the third, not overdue itself, 9 April. Seed was to be ordered 21 days before 17 February.
    """
    packets = [LETTUCES[0] | {"plants": 8, "packed": 2026}, {"crop": "pea", "method": "in_place"}]
    plan = plan_of(packets, "pea test 03-01", today="03-12")
    lines = [line_of(plan, f"lettuce-{number}") for number in (1, 2, 3)]
    assert [line.sow and line.sow.first for line in lines] == [day("03-12"), day("03-26"), day("04-09")]
    assert [step.first for step in lines[0].steps if step.kind == "buy"] == [day("01-27")]
    late = {clash.sowings[0]: clash.text for clash in plan.conflicts if clash.kind == "late"}
    assert late["lettuce-1"].endswith("its window ended 23 Feb, 17 days ago: reckoned as if sown today.")
    assert late["lettuce-2"].endswith("3 days ago: reckoned as if sown on 26 Mar, 14 days after the one before.")
    assert late["lettuce-3"].endswith(
        "the one before it is late: reckoned as if sown on 9 Apr, 14 days after the one before."
    )
    # The first was sown: the second waits for it, the third has its own days.
    plan = plan_of(packets, "lettuce-1 sow 03-05", today="03-12")
    assert [line_of(plan, f"lettuce-{n}").sow for n in (2, 3)] == [
        (day("03-19"), day("03-19")),
        (day("04-02"), day("04-02")),
    ]


def test_a_sowing_that_was_given_up_may_be_sown_again(tmp_path: Path) -> None:
    """Carrot, sown 5 April, lost, sown again on 30 May: the plan is that of the second sowing alone, 70 days to the harvest."""
    packets: list[dict[str, object]] = [{"crop": "carrot", "method": "in_place"}]
    rows = ["carrot sow 04-05", "carrot give_up 05-28"]
    lost, again = (
        plan_of(packets, *rows, today="05-29", soil_temperature_c=SOIL),
        plan_of(packets, *rows, "carrot sow 05-30", today="05-31", soil_temperature_c=SOIL),
    )
    assert any("given up on 28 May" in text for text in told(lost, "carrot"))
    assert not any("given up" in text or "failed" in text for text in told(again, "carrot"))
    line, only = (
        line_of(again, "carrot"),
        line_of(plan_of(packets, "carrot sow 05-30", today="05-31", soil_temperature_c=SOIL), "carrot"),
    )
    assert line == only and line.harvest is not None and line.harvest.first == day("08-08")
    assert [(seen.event, seen.text.split(",")[0]) for seen in again.seen] == [
        ("sow", "Sown 5 Apr"), ("give_up", "Given up 28 May"), ("sow", "Sown 30 May"),
    ]  # fmt: skip
    assert again.seen[1].text == "Given up 28 May, before it was sown again."
    assert "harvest" in {action.step.kind for action in again.next_actions(day("06-10"))}
    # What came before is not learned from: 10 days from 30 May, not 65.
    last = records(*rows, "carrot sow 05-30", "carrot seedlings 06-09")
    assert [each.low_days for each in learn(last, again.sowings)] == [10]
    # From a file: in any order of rows; twice without giving up is a slip, and so is what is out of order in one of the two.
    file = tmp_path / "r.csv"

    def read(*lines: str) -> int:
        file.write_text("sowing,event,date\n" + "".join(f"carrot,{each}\n" for each in lines), encoding="utf-8")
        return len(read_records(file))

    assert read("sow,2027-05-30", "sow,2027-04-05", "give_up,2027-05-28", "soak,2027-05-29") == 4
    with pytest.raises(InputError, match=r"row 3: carrot is sown in row 2 already; .*when it was given up \(give_up\)"):
        read("sow,2027-04-05", "sow,2027-05-30")
    with pytest.raises(InputError, match="row 5: seedlings of carrot on 2027-05-30, but sow on 2027-05-30"):
        read("sow,2027-04-05", "give_up,2027-05-28", "sow,2027-05-30", "seedlings,2027-05-30")
    with pytest.raises(InputError, match="row 4: carrot is sown in row 2 already"):  # it came up after all
        read("sow,2027-04-05", "give_up,2027-05-28", "sow,2027-05-30", "seedlings,2027-05-29")


def test_a_record_of_a_day_to_come_is_told() -> None:
    packets: list[dict[str, object]] = [{"crop": "carrot", "method": "in_place"}, {"crop": "pea", "method": "in_place"}]
    rows = ["carrot sow 06-30", "carrot seedlings 07-09", "pea sow 05-21"]

    def to_come(today: str | None) -> list[str]:
        return [clash.text for clash in plan_of(packets, *rows, today=today).conflicts if clash.kind == "records"]

    assert to_come("05-21") == [
        "Carrot: written down for 30 Jun – 9 Jul, still to come on 21 May, the day of this plan: mend the date if it is a slip."
    ]
    assert to_come("07-09") == to_come(None) == []


def test_records_of_a_packet_with_several_sowings_name_the_first() -> None:
    with pytest.raises(
        InputError, match="no 'lettuce'; its packet has several sowings: write lettuce-1 for the first, to lettuce-3"
    ):
        plan_of(LETTUCES, "lettuce sow 02-20")
    with pytest.raises(InputError, match="no 'lettuce-4'; did you mean lettuce-"):
        plan_of(LETTUCES, "lettuce-4 sow 02-20")
