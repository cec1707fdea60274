"""What was really sown and seen: compared with the plan, late ones flagged, own waiting times learned. All invented."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

import cropdata
from cropdata.errors import InputError
from cropdata.season import Plan, PlannedSowing, plan_season
from cropdata.season.learning import learn, write_layer
from cropdata.season.records import Record, read_records

SEASON = """\
season: 2027
place:
  name: Reed Hollow (invented)
  last_spring_frost: {0.9: 04-10, 0.5: 04-28, 0.1: 05-15}
  bench_temperature_c: 20
packets:
  - {crop: tomato, variety: Gate Red, method: pot, plants: 6, packed: 2026}
  - {crop: lettuce, method: tray, sowings: 3, every_days: 14}
  - {crop: pea, method: in_place}
"""
D = datetime.date


def _plan(tmp_path: Path, rows: str, today: D | None = None) -> Plan:
    (tmp_path / "season.yaml").write_text(SEASON, encoding="utf-8")
    (tmp_path / "records.csv").write_text("sowing,event,date,count,note\n" + rows, encoding="utf-8")
    return plan_season(tmp_path / "season.yaml", records=tmp_path / "records.csv", today=today)


def test_records_stand_beside_the_plan(tmp_path: Path) -> None:
    plan = _plan(
        tmp_path,
        "tomato-gate-red,sow,2027-04-07,16,\n# a note of my own\nlettuce-1,sow,2027-02-15,,\n\ntomato-gate-red,seedlings,2027-04-15,11,slow\n",
    )
    seen = {(each.sowing, each.event): each for each in plan.seen}
    late = seen["tomato-gate-red", "sow"]  # its window is 20 March to 3 April
    assert late.late_days == 4 and late.text == "Sown 7 Apr, 4 days later than planned (20 Mar – 3 Apr); 16 counted."
    assert seen["lettuce-1", "sow"].late_days == -2  # 17 to 23 February
    # 7 to 13 days after the real sowing, not after the planned one.
    assert seen["tomato-gate-red", "seedlings"].late_days == 0
    assert seen["tomato-gate-red", "seedlings"].text.endswith("as planned (14 Apr – 20 Apr); 11 counted; slow.")
    assert [each.date for each in plan.seen] == sorted(each.date for each in plan.seen)


def test_later_dates_follow_from_the_real_sowing(tmp_path: Path) -> None:
    plan = _plan(tmp_path, "tomato-gate-red,sow,2027-04-20,,\ntomato-gate-red,plant_out,2027-06-05,6,\n")
    tomato = next(line for line in plan.sowings if line.crop_id == "tomato")
    assert tomato.sow is not None and tomato.sow.first == tomato.sow.last == D(2027, 4, 20)
    assert tomato.plant_out is not None and tomato.plant_out.first == D(2027, 6, 5)
    assert tomato.harvest is not None and tomato.harvest.first == D(2027, 8, 14)  # 70 days
    planted = next(each for each in plan.seen if each.event == "plant_out")
    assert planted.late_days == 0 and "6 counted, 6 wanted" in planted.text  # six to eight weeks: 1 to 15 June
    assert any(each.kind == "late" and "Tomato Gate Red" in each.text for each in plan.conflicts)


def test_a_sowing_that_was_forgotten_is_flagged(tmp_path: Path) -> None:
    plan = _plan(tmp_path, "lettuce-1,sow,2027-02-20,,\n", today=D(2027, 4, 10))
    late = {each.sowings[0]: each.text for each in plan.conflicts if each.kind == "late"}
    assert set(late) == {"tomato-gate-red", "lettuce-2", "lettuce-3"}
    assert "its window ended 3 Apr, 7 days ago" in late["tomato-gate-red"]
    without_today = _plan(tmp_path, "lettuce-1,sow,2027-02-20,,\n").conflicts
    assert not any("not sown by your records" in each.text for each in without_today)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("tomato,sow,2027-04-07,,\n", "row 2, sowing: the plan has no 'tomato'; did you mean tomato-gate-red?"),
        ("pea,sowed,2027-04-07,,\n", "row 2, event: found 'sowed'; allowed: test, buy"),
        ("pea,sow,7.4.2027,,\n", "row 2, date: found '7.4.2027'; allowed: YYYY-MM-DD"),
        ("pea,sow,2027-02-30,,\n", "row 2, date: found '2027-02-30'"),
        ("pea,sow,2027-04-07,many,\n", "row 2, count: found 'many'; allowed: a whole number"),
        ("pea,sow,2027-04-07,,\npea,sow,2027-04-09,,\n", "row 3: pea is sown in row 2 already"),
        ("pea,sow,2027-04-07,,cold, wet\n", "row 2: 1 cell more than the header"),
        (",sow,2027-04-07,,\n", "row 2, sowing: missing"),
        (
            "pea,sow,2027-06-20,,\npea,plant_out,2027-05-20,,\n",
            "row 3: plant_out of pea on 2027-05-20, but sow on 2027-06-20 (row 2); allowed: 2027-06-20 or later",
        ),
        (
            "pea,seedlings,2027-03-10,,\npea,sow,2027-03-10,,\n",
            "row 2: seedlings of pea on 2027-03-10, but sow on 2027-03-10 (row 3); allowed: 2027-03-11 or later",
        ),
        ("pea,nope,soon,,\npea,sow,never,x,\n", "4 mistakes"),
    ],
)
def test_a_mistake_names_its_row(tmp_path: Path, rows: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        _plan(tmp_path, rows)
    assert said in str(caught.value) and "records.csv" in str(caught.value)


@pytest.mark.parametrize("text", ["", "sowing,event\npea,sow\n", "sowing,event,date,colour\n", "a\0b\n"])
def test_a_file_that_holds_no_records(tmp_path: Path, text: str) -> None:
    (tmp_path / "r.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="r.csv"):
        read_records(tmp_path / "r.csv")


def test_own_waiting_times_become_a_layer_that_answers(tmp_path: Path) -> None:
    rows = (
        "lettuce-1,sow,2027-02-20,,\nlettuce-1,seedlings,2027-02-26,,\nlettuce-2,sow,2027-03-05,,\nlettuce-2,seedlings,2027-03-14,,\n"
        "lettuce-2,seedlings,2027-03-20,,\npea,sow,2027-03-10,,\n"
    )
    release = cropdata.open()
    plan = _plan(tmp_path, rows)
    few = learn(read_records(tmp_path / "records.csv"), plan.sowings)
    write_layer(str(tmp_path / "few"), few, release, "records.csv")
    beside = cropdata.open(layers=[tmp_path / "few"]).evidence_rows("days_to_emergence", "lettuce")
    assert len(beside) == len(release.evidence_rows("days_to_emergence", "lettuce")) + 1  # two sowings: one more source
    plan = _plan(tmp_path, rows + "lettuce-3,sow,2027-03-20,,\nlettuce-3,seedlings,2027-03-27,,\n")
    learned = learn(read_records(tmp_path / "records.csv"), plan.sowings)
    assert [(each.crop_id, each.low_days, each.high_days, each.sowings) for each in learned] == [("lettuce", 6, 9, 3)]
    write_layer(str(tmp_path / "own"), learned, release, "records.csv")
    assert cropdata.check(tmp_path / "own").ok
    own = cropdata.open(layers=[tmp_path / "own"])
    answer = own.crop("lettuce").emergence_range
    assert answer is not None and (answer.low, answer.high, answer.layer) == (6, 9, "own_waiting_times")
    assert release.crop("lettuce").emergence_range != answer
    again = plan_season(tmp_path / "season.yaml", own)
    line = next(line for line in again.sowings if line.id == "lettuce-1")
    assert line.emergence_days == (6, 9) and line.sow is not None and line.seedlings is not None
    assert line.seedlings.first == line.sow.first + datetime.timedelta(days=6)
    assert any("your layer own_waiting_times" in note for note in line.notes)
    # It is written anew next season, and never over a grower's own layer.
    write_layer(str(tmp_path / "own"), learned, release, "records.csv")
    (tmp_path / "own" / "layer.yaml").write_text("title: Mine\nauthor: me\nmade_for: 1.1.0\n", encoding="utf-8")
    with pytest.raises(InputError, match="is not empty, and no layer that --learn wrote"):
        write_layer(str(tmp_path / "own"), learned, release, "records.csv")


def test_nothing_to_learn_and_seedlings_before_their_sowing(tmp_path: Path) -> None:
    plan = _plan(tmp_path, "pea,sow,2027-03-10,,\n")
    with pytest.raises(InputError, match="nothing to learn from"):
        write_layer(
            str(tmp_path / "own"), learn(read_records(tmp_path / "records.csv"), plan.sowings), cropdata.open(), "r.csv"
        )
    assert not (tmp_path / "own").exists()
    same = D(2027, 3, 10)
    records = [Record(row, "pea", event, same, None, "") for row, event in ((2, "sow"), (3, "seedlings"))]
    with pytest.raises(InputError, match="row 3: seedlings of pea"):
        learn(records, plan.sowings)


def test_a_sowing_that_was_given_up_has_no_later_steps(tmp_path: Path) -> None:
    """Nothing is fed, hardened off, planted out or harvested of it; its pots are free from the day of giving up."""
    rows = "tomato-gate-red,sow,2027-03-25,16,\ntomato-gate-red,give_up,2027-04-20,,\n"
    plan = _plan(tmp_path, rows)
    tomato = next(line for line in plan.sowings if line.crop_id == "tomato")
    assert {step.kind for step in tomato.steps} <= {"test", "buy", "sow", "give_up"}
    assert (
        tomato.seedlings is None and tomato.plant_out is None and tomato.harvest is None and tomato.frost_left is None
    )
    assert tomato.shelf == (D(2027, 3, 25), D(2027, 4, 20))
    failed = next(each for each in plan.conflicts if each.kind == "failed")
    assert failed.text == "Tomato Gate Red: given up on 20 Apr by your records: sow again, or change the plan."
    # 13.36 days for the slowest of the middle, 1.44 times that and seven quiet days: 27 days after 25 March.
    seen = next(each for each in plan.seen if each.event == "give_up")
    assert seen.text == "Given up 20 Apr, 1 day earlier than planned (21 Apr)."
    # Seedlings that came after all: it was not lost.
    late = _plan(tmp_path, rows + "tomato-gate-red,seedlings,2027-04-24,9,\n")
    assert not any(each.kind == "failed" for each in late.conflicts)
    assert next(line for line in late.sowings if line.crop_id == "tomato").plant_out is not None


def test_whatever_comes_after_a_sowing_says_that_it_was_sown(tmp_path: Path) -> None:
    rows = "tomato-gate-red,seedlings,2027-04-09,,\nlettuce-1,plant_out,2027-04-02,,\nlettuce-2,test,2027-02-01,,\n"
    plan = _plan(tmp_path, rows, today=D(2027, 6, 1))
    assert {each.sowings[0] for each in plan.conflicts if each.kind == "late" and "not sown" in each.text} == {
        "lettuce-2", "lettuce-3", "pea",
    }  # fmt: skip


def test_planted_out_before_it_is_safe(tmp_path: Path) -> None:
    """Tomato waits for 15 May, one year in ten; on 28 April one year in two has a later frost."""
    plan = _plan(tmp_path, "tomato-gate-red,sow,2027-03-20,,\ntomato-gate-red,plant_out,2027-04-28,6,\n")
    early = next(each for each in plan.conflicts if each.kind == "early")
    assert (
        "planted out on 28 Apr" in early.text
        and "(15 May)" in early.text
        and "later frost 50 %: cover it" in early.text
    )
    fine = _plan(tmp_path, "tomato-gate-red,sow,2027-03-20,,\ntomato-gate-red,plant_out,2027-05-15,6,\n")
    assert not any(each.kind == "early" for each in fine.conflicts)


BED = [5.0] * 12  # a bed at 5 °C the year round


def _lettuce_and_pepper(own: cropdata.Catalog | None, bench: object, **place: object) -> list[PlannedSowing]:
    frost = {"last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"}, "soil_temperature_c": BED}
    season = {
        "season": 2027, "place": frost | {"bench_temperature_c": bench} | place,
        "packets": [
            {"crop": "lettuce", "method": "tray"}, {"crop": "pepper", "method": "tray"},
            {"crop": "lettuce", "method": "in_place", "sow": "2027-03-25"},
        ],
    }  # fmt: skip
    lines = {(line.crop_id, line.where): line for line in plan_season(season, own).sowings}
    return [lines["lettuce", "under cover"], lines["pepper", "under cover"], lines["lettuce", "in place"]]


def test_own_waits_hold_where_and_at_the_warmth_they_were_recorded(tmp_path: Path) -> None:
    """Three lettuce sowings of 4 days and one pepper of 10, all on a bench at 20 °C. In a bed at 5 °C lettuce takes 15
    days (Harrington and Minges): 0.87 times is 13.05, 1.67 times 25.05, full on days 14 and 26.
    """
    rows = "".join(
        f"lettuce-{number},sow,2027-0{number}-20,,\nlettuce-{number},seedlings,2027-0{number}-24,,\n"
        for number in (1, 2, 3)
    )
    (tmp_path / "r.csv").write_text(
        f"sowing,event,date,count,note\n{rows}pepper,sow,2027-03-10,,\npepper,seedlings,2027-03-20,,\n",
        encoding="utf-8",
    )
    season = {
        "season": 2027, "place": {"last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"}, "bench_temperature_c": 20},
        "packets": [
            {"crop": "lettuce", "method": "tray", "sowings": 3, "every_days": 14}, {"crop": "pepper", "method": "tray"},
        ],
    }  # fmt: skip
    plan = plan_season(season, records=tmp_path / "r.csv")
    learned = learn(read_records(tmp_path / "r.csv"), plan.sowings)
    assert {each.crop_id: each.warmth_c for each in learned} == {"lettuce": (20.0, 20.0), "pepper": (20.0, 20.0)}
    write_layer(str(tmp_path / "own"), learned, cropdata.open(), "r.csv")
    assert cropdata.check(tmp_path / "own").ok
    own = cropdata.open(layers=[tmp_path / "own"])

    tray, pepper, bed = _lettuce_and_pepper(own, 20)
    plain_tray, plain_pepper, plain_bed = _lettuce_and_pepper(None, 20)
    assert tray.emergence_days == (4, 4) != plain_tray.emergence_days
    # A bed is no bench, and one record beside the printed ones replaces no table by temperature.
    assert bed.emergence_days == plain_bed.emergence_days == (14, 26)
    assert bed.give_up_days == plain_bed.give_up_days
    assert pepper.emergence_days == plain_pepper.emergence_days
    # Nor does its harvest move: how much later than printed it comes up is counted from what the release prints.
    assert bed.harvest == plain_bed.harvest is not None
    # A bench of 12 °C is not the one that was recorded.
    cool, cool_pepper, _ = _lettuce_and_pepper(own, 12)
    plain_cool, plain_cool_pepper, _ = _lettuce_and_pepper(None, 12)
    assert (
        cool.emergence_days == plain_cool.emergence_days
        and cool_pepper.emergence_days == plain_cool_pepper.emergence_days
    )
    assert _lettuce_and_pepper(own, 21.5)[0].emergence_days == (4, 4)  # near enough


def test_a_range_of_ones_own_bench_is_none_for_the_bed(tmp_path: Path) -> None:
    """Kale has no table by temperature: where three sowings on the bench answer alone nothing is known of the bed."""
    folder = tmp_path / "own"
    folder.mkdir()
    (folder / "layer.yaml").write_text("title: Own\nauthor: me\n", encoding="utf-8")
    (folder / "days_to_emergence.csv").write_text(
        "crop_id,low,high,unit,temperature_low,temperature_high,temperature_unit,note,action\n"
        "kale,4,5,days,20,20,C,3 sowings under cover,override\n", encoding="utf-8"
    )  # fmt: skip
    place = {"last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"}, "bench_temperature_c": 20}
    packets = [{"crop": "kale", "method": "tray"}, {"crop": "kale", "method": "in_place"}]
    plan = plan_season({"season": 2027, "place": place, "packets": packets}, cropdata.open(layers=[folder]))
    by_where = {line.where: line for line in plan.sowings}
    assert by_where["under cover"].emergence_days == (4, 5)
    assert by_where["in place"].emergence_days is None and by_where["in place"].give_up_days is None
    assert any("elsewhere or at another warmth" in note for note in by_where["in place"].notes)


def test_what_planting_out_waits_for_is_said_until_it_is_planted() -> None:
    packet = {"crop": "tomato", "variety": "Gate Red", "method": "pot"}
    place = {"name": "Reed Hollow (invented)", "last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"}}
    season = {"season": 2027, "place": place, "packets": [packet]}
    record = Record(2, "tomato-gate-red", "plant_out", D(2027, 5, 20), None, "")
    waiting = "Planting out moved to 15 May, when the stated frost risk is reached."
    assert waiting in plan_season(season).sowings[0].notes
    assert waiting not in plan_season(season, records=(record,)).sowings[0].notes


def test_seedlings_that_come_late_move_what_follows(tmp_path: Path) -> None:
    """Sown 7 April, expected 14 to 20 April; up on 30 April, ten days late. Raised 6 to 8 weeks: 19 May to 2 June, now ten
    days on; hardened off from 14 days before.
    """
    rows = "tomato-gate-red,sow,2027-04-07,16,\n"
    early = next(line for line in _plan(tmp_path, rows).sowings if line.crop_id == "tomato")
    late = _plan(tmp_path, rows + "tomato-gate-red,seedlings,2027-04-30,3,\n", today=D(2027, 5, 1))
    line = next(line for line in late.sowings if line.crop_id == "tomato")
    assert early.plant_out == (D(2027, 5, 19), D(2027, 6, 2)) and early.seedlings == (D(2027, 4, 14), D(2027, 4, 20))
    assert line.plant_out == (D(2027, 5, 29), D(2027, 6, 12)) and line.seedlings == (D(2027, 4, 30), D(2027, 4, 30))
    assert next(step.first for step in line.steps if step.kind == "harden") == D(2027, 5, 15)
    few = [clash.text for clash in late.conflicts if clash.kind == "few"]
    assert few == [
        "Tomato Gate Red: 3 seedlings counted by your records, 6 plants wanted: sow more while there is time."
    ]


def test_a_sowing_that_shows_nothing_and_one_that_stands_too_long_are_told(tmp_path: Path) -> None:
    """Tomato sown 20 March, to be given up 27 days on, 16 April. Lettuce,
    raised for 4 to 6 weeks and not out before 31 March, for a week from then: gone by."""
    rows = "tomato-gate-red,sow,2027-03-20,,\nlettuce-1,sow,2027-02-17,,\nlettuce-1,seedlings,2027-02-22,,\n"
    told = {
        (clash.kind, clash.sowings[0]): clash.text
        for clash in _plan(tmp_path, rows, today=D(2027, 6, 1)).conflicts
        if clash.sowings
    }
    assert (
        "no seedlings by your records, 73 days after it was sown; it was to be given up on 16 Apr"
        in told["failed", "tomato-gate-red"]
    )
    assert "not planted out by your records; its window ended 7 Apr, 55 days ago" in told["late", "lettuce-1"]
    soon = _plan(tmp_path, rows, today=D(2027, 4, 10)).conflicts
    assert not any(clash.kind == "failed" for clash in soon)


def test_a_sowing_that_was_never_sown_is_reckoned_from_today(tmp_path: Path) -> None:
    """Its window ended on 3 April; sown on 10 April it is raised for 6 to 8 weeks."""
    plan = _plan(tmp_path, "lettuce-1,sow,2027-02-20,,\n", today=D(2027, 4, 10))
    line = next(line for line in plan.sowings if line.crop_id == "tomato")
    assert line.sow == (D(2027, 4, 10), D(2027, 4, 10)) and line.plant_out == (D(2027, 5, 22), D(2027, 6, 5))
    assert sum(line.id in clash.sowings and clash.kind == "late" for clash in plan.conflicts) == 1


@pytest.mark.parametrize("date", ["2019-04-07", "2190-04-07"])
def test_a_record_of_another_year_is_refused(tmp_path: Path, date: str) -> None:
    with pytest.raises(InputError, match=rf"row 2, date: found {date}; allowed: a day of 2026 to 2028"):
        _plan(tmp_path, f"tomato-gate-red,sow,{date},,\n")


def test_packets_that_are_alike_need_an_id_for_their_records() -> None:
    """Which of the two lettuces was sown? Only their order in the file would tell; a third set above them would move it."""
    place = {"name": "Reed Hollow (invented)", "last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"}}
    packets = [{"crop": "lettuce", "method": "tray"}, {"crop": "lettuce", "method": "pot"}]
    season = {"season": 2027, "place": place, "packets": packets}
    record = Record(2, "lettuce", "sow", D(2027, 3, 1), None, "")
    names = [clash.text for clash in plan_season(season).conflicts if clash.kind == "names"]
    assert names == [
        "2 packets are called lettuce: only their order in the file tells them apart in calendar and records; give each a variety or an id."
    ]
    with pytest.raises(InputError, match="row 2, sowing: lettuce may be any of several packets that are alike"):
        plan_season(season, records=(record,))
    packets[0]["id"] = "lettuce-early"
    packets[1]["id"] = "lettuce-late"
    mine = record._replace(sowing="lettuce-late")
    for order in (packets, packets[::-1]):
        plan = plan_season(season | {"packets": order}, records=(mine,))
        (sown,) = (line for line in plan.sowings if line.sow == (D(2027, 3, 1), D(2027, 3, 1)))
        assert sown.id == "lettuce-late" and sown.method == "pot"
        assert not any(clash.kind == "names" for clash in plan.conflicts)
    with pytest.raises(InputError, match=r"packets\[1\]\.id: found 'Early 1'; allowed: small letters"):
        plan_season(season | {"packets": [packets[0] | {"id": "Early 1"}]})
    with pytest.raises(InputError, match="the id twice stands at 2 packets"):
        plan_season(season | {"packets": [each | {"id": "twice"} for each in packets]})
