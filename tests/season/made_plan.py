"""A plan made by hand, so that what is shown can be told from what is reckoned. Place, packets and dates are invented."""

from __future__ import annotations

import datetime
from statistics import NormalDist

from cropdata.agronomy.windows import Window
from cropdata.season.plan import (
    Assumption,
    Caution,
    Cited,
    Conflict,
    FrostDay,
    Plan,
    PlannedSowing,
    PlanPlace,
    Seen,
    Step,
    Total,
)


def day(text: str, year: int = 2027) -> datetime.date:
    month, number = text.split("-")
    return datetime.date(year, int(month), int(number))


def window(first: str, last: str) -> Window:
    return Window(day(first), day(last))


def step(kind: str, first: str, last: str, text: str, frost_left: float | None = None, *sources: str) -> Step:
    return Step(kind, day(first), day(last), text, frost_left, sources)


TOMATO = PlannedSowing(
    "tomato-gate-red-1", "tomato", "Tomato", "Gate Red", "under cover", "block", 1, 1, False,
    window("3-20", "4-3"), (12.7, 12.7), (20, 27), "indifferent", (6, 12), window("3-27", "4-16"), 31,
    window("5-15", "5-22"), 0.1, window("7-20", "8-24"), 12, 19, 40, 0.75, 1, "block_50mm", 19, 1, window("3-20", "5-15"), (2.1, 2.6),
    (
        step("sow", "3-20", "4-3", "Sow 19 seeds, 13 mm deep, one to a block; keep at 20–27 °C.", None, "ext_a"),
        step("seedlings", "3-27", "4-16", "The first seedlings come up."),
        step("give_up", "4-20", "5-4", "Nothing up 31 days after sowing: sow again."),
        step("pot_on", "4-17", "5-1", "Pot on into 10 cm pots at the first true leaf.", None, "ext_b"),
        step("harden", "5-1", "5-14", "Set out by day, a little longer each day.", None, "ext_b"),
        step("plant_out", "5-15", "5-22", "Plant out 12, 60 cm apart. Chance of a later frost: 10 %; read the forecast.", 0.1, "ext_a", "ext_b"),
        step("harvest", "7-20", "8-24", "First fruit.", None, "ext_b"),
    ),
    ("Planting out moved to 15 May, when the stated frost risk is reached.",),
    ("ext_a", "ext_b"),
    container_name="Block of 5 cm",
)  # fmt: skip
LETTUCE = tuple(
    PlannedSowing(
        f"lettuce-{number}", "lettuce", "Lettuce", "Lanterne des Trois Jardins", "under cover", "tray", number, 3, False,
        window(sow[0], sow[1]), (3.175, 6.35), (4, 21), "light", (4, 9), window(up[0], up[1]), 21,
        window(out[0], out[1]), frost, window(pick[0], pick[1]), 8, 14, 200, None, 1, "cell_72", 14, 1, window(sow[0], out[0]), (0.5, 0.7),
        (
            step("sow", sow[0], sow[1], "Sow 14 seeds on the surface, one to a cell; they want light.", None, "ext_a"),
            step("plant_out", out[0], out[1], f"Plant out 8, 25 cm apart. Chance of a later frost: {100 * frost:.0f} %.", frost),
            step("harvest", pick[0], pick[1], "Cut heads."),
        ),
        (),
        ("ext_a",),
    )
    for number, sow, up, out, frost, pick in (
        (1, ("3-6", "3-13"), ("3-10", "3-22"), ("4-10", "4-17"), 0.88, ("5-25", "6-12")),
        (2, ("3-27", "4-3"), ("3-31", "4-12"), ("5-1", "5-8"), 0.42, ("6-15", "7-3")),
        (3, ("4-17", "4-24"), ("4-21", "5-3"), ("5-22", "5-29"), 0.04, ("7-6", "7-24")),
    )
)  # fmt: skip
CARROT = PlannedSowing(
    "carrot-1", "carrot", "Carrot", None, "in place", "in_place", 1, 1, False,
    window("4-3", "5-15"), (3.2, 25), (7, 29), None, (9, 26), window("4-29", "6-10"), 64, None, 0.47, window("7-10", "9-1"),
    200, 386, 350, 0.55, None, None, None, None, None, None,
    (
        step("buy", "2-1", "2-1", "Buy 36 more seeds: 386 are needed, 350 are there."),
        step("sow", "4-3", "5-15", "Sow 386 seeds in rows 30 cm apart.", None, "ext_a"),
        step("seedlings", "4-29", "6-10", "The first seedlings come up.", 0.47),
        step("harvest", "7-10", "9-1", "Pull as wanted."),
    ),
    ("Seed is 3 years old; sources give it 3 to 4 years: test before sowing.",),
    ("ext_a",),
)  # fmt: skip
GARLIC = PlannedSowing(
    "garlic-1", "garlic", "Garlic", "Café d'été", "in place", "in_place", 1, 1, True,
    None, None, None, None, None, None, None, None, None, None, 30, None, None, None, None, None, None, None, None, None,
    (), ("Direct sowing time is not recorded: no sowing date can be reckoned.",), (),
)  # fmt: skip
KALE = PlannedSowing(
    "kale-1", "kale", "Kale", "Shore Black", "in place", "in_place", 1, 1, True,
    window("7-10", "7-31"), (6, 13), (7, 29), None, (4, 8), window("7-14", "8-8"), 20, None, 0.05, window("9-20", "11-10"),
    12, 20, None, None, None, None, None, None, None, None,
    (
        step("sow", "7-10", "7-31", "Sow 20 seeds, thin to 12.", None, "ext_a"),
        step("harvest", "9-20", "11-10", "Pick leaves. Chance of a frost before the end: 5 %.", 0.05),
    ),
    (),
    ("ext_a",),
)  # fmt: skip
_SPRING, _AUTUMN = NormalDist(day("4-28").toordinal(), 14), NormalDist(day("10-19").toordinal(), 15)


def _frost() -> tuple[FrostDay, ...]:
    days = []
    for ordinal in range(day("1-1").toordinal(), day("12-31").toordinal() + 1):
        later, come = 1 - _SPRING.cdf(ordinal), _AUTUMN.cdf(ordinal)
        days.append(FrostDay(datetime.date.fromordinal(ordinal), later, come))
    return tuple(days)


PLAN = Plan(
    1, "1.1.0", 2027,
    PlanPlace("Alder Bank (invented)", "invented", 0.0, day("4-28"), 0.1, day("5-15"), day("10-19"), (18, 24), 2, day("4-28")),
    (LETTUCE[0], TOMATO, LETTUCE[1], CARROT, LETTUCE[2], KALE, GARLIC),
    (
        Conflict("shelf", day("4-17"), day("5-1"), "3 trays on a shelf that holds 2.", ("tomato-gate-red-1", "lettuce-2", "lettuce-3")),
        Conflict("warmth", day("3-27"), day("4-3"), "Tomato wants 20–27 °C, lettuce 4–21 °C: one mat serves one of them.", ("tomato-gate-red-1", "lettuce-2")),
    ),
    (
        Total("Seed-starting mix", 3.6, 4.7, "l", "this year", "published", ("ext_b",)),
        Total("Trays of 72 cells", 3, 3, "trays", "this year", "reckoned"),
        Total("Trays, over the years they last", 1.2, 2.5, "money", "a year", "stated by you"),
    ),
    (
        Caution("Perlite and peat", "The dust harms the lungs: damp it first and wear a mask.", ("ext_b",)),
        Caution("Tomato", "Leaves and stems are poisonous.", ("ext_a",)),
    ),
    _frost(),
    (Seen("lettuce-1", "sow", day("3-15"), 2, "Sown 15 Mar, 2 days after the window."),),
    (
        Assumption("planting_out_risk", "chance of a later frost that a tender crop is planted out at", 0.1, 0.1, "share of years", "common_practice", "memory"),
        Assumption("hardening_days", "days of hardening off before planting out", 7, 14, "days", "published", "ext_b"),
    ),
    (
        Cited("ext_a", "Invented Extension (2020). Vegetables from seed. Bulletin 1."),
        Cited("ext_b", "Invented Extension (2021). Raising seedlings. https://example.org/raising"),
    ),
    ("only 12 years of record",),
)  # fmt: skip
