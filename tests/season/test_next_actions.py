"""What is left to do from a day: settled by the records, overdue, over; reckoned by hand from made_plan.py."""

from __future__ import annotations

import datetime

from made_plan import CARROT, PLAN, TOMATO, day

from cropdata.cli.plan_text import plan_text
from cropdata.season.page import page_html
from cropdata.season.plan import STEPS, Plan, PlannedSowing, Seen, Step
from cropdata.season.words import Words


def plan_of(*sowings: PlannedSowing, seen: tuple[tuple[str, str, str], ...] = ()) -> Plan:
    records = tuple(Seen(sowing, event, day(date), 0, f"{event} on {date}") for sowing, event, date in seen)
    return PLAN._replace(sowings=sowings, seen=records, conflicts=())


def left(plan: Plan, date: datetime.date) -> list[tuple[str, bool]]:
    return [(each.step.kind, each.overdue is not None) for each in plan.next_actions(date)]


def test_done_and_earlier_steps_are_settled() -> None:
    plan = plan_of(TOMATO, seen=((TOMATO.id, "sow", "3-25"), (TOMATO.id, "pot_on", "4-12")))
    assert left(plan, day("4-13")) == [("harden", False), ("plant_out", False), ("harvest", False)]


def test_nothing_is_given_up_once_seedlings_were_seen() -> None:
    seen = (TOMATO.id, "sow", "3-25"), (TOMATO.id, "seedlings", "4-2")
    assert ("give_up", False) in left(plan_of(TOMATO, seen=seen[:1]), day("4-21"))
    assert ("give_up", False) not in left(plan_of(TOMATO, seen=seen), day("4-21"))


def test_the_same_is_left_in_terminal_and_page() -> None:
    plan = plan_of(TOMATO, seen=((TOMATO.id, "sow", "3-25"), (TOMATO.id, "seedlings", "4-2")))
    for date in (day("4-10"), day("4-21"), day("5-16")):
        wanted = [each.step.text for each in plan.next_actions(date)]
        coming = plan_text(plan, Words(year=2027), date).split("Next, from")[1].split("\n\n")[0]
        shown = page_html(plan, None, date).split('<section id="next"')[1].split("</section>")[0].replace("\u00a0", " ")
        for step in TOMATO.steps:
            assert (step.text in " ".join(coming.split())) == (step.text in shown) == (step.text in wanted), step


def test_an_order_stays_overdue_until_it_is_sown() -> None:
    """Carrot: seed to buy by 1 February, sown 3 April to 15 May."""
    nothing = plan_of(CARROT, TOMATO)
    assert left(plan_of(CARROT), day("2-1"))[0] == ("buy", False)
    assert left(plan_of(CARROT), day("4-20"))[0] == ("buy", True)
    assert nothing.next_actions(day("4-20"))[0].overdue == day("2-1")
    for event in ("buy", "sow"):
        assert ("buy", True) not in left(plan_of(CARROT, seen=((CARROT.id, event, "4-10"),)), day("4-20"))
    assert ("buy", True) not in left(plan_of(CARROT), day("5-16"))  # no records: taken as sown when its days are over


def test_a_sowing_that_the_records_do_not_know_is_not_tended() -> None:
    """Tomato, to be sown by 3 April, is not in the records on 21 April: to pot it on makes no sense."""
    plan = plan_of(CARROT, TOMATO, seen=((CARROT.id, "sow", "4-10"),))
    of_tomato = [(each.step.kind, each.overdue) for each in plan.next_actions(day("4-21")) if each.sowing == TOMATO.id]
    assert of_tomato == [("sow", day("4-3"))]
    assert left(plan, day("8-25"))[:1] != [("sow", True)]  # its last step was on 24 August: over


def test_a_step_before_the_latest_record_is_past_wherever_its_days_are() -> None:
    steps = tuple(Step(kind, day("6-1"), day("6-2"), kind) for kind in STEPS)
    line = TOMATO._replace(steps=steps)
    for number, event in enumerate(STEPS):
        open_kinds = [kind for kind in STEPS[number + 1 :] if kind != "seedlings"]
        if event == "seedlings":
            open_kinds.remove("give_up")
        plan = plan_of(line._replace(sow=None), seen=((line.id, event, "5-1"),))
        assert [kind for kind, _ in left(plan, day("5-2"))] == open_kinds


def test_after_the_season_the_terminal_says_so() -> None:
    for seen in ((), ((CARROT.id, "sow", "4-10"),)):
        text = plan_text(plan_of(CARROT, TOMATO, seen=seen), Words(year=2027), day("12-1"))
        assert "Next: nothing of this plan is left to do from 1 Dec on." in text
