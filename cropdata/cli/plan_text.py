"""The plan for the terminal: what to do next, what clashes, two tables, what to mind, where it comes from."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from cropdata.agronomy.windows import Window
from cropdata.cli.wording import columns, wrapped
from cropdata.season.plan import Assumption, Plan, PlannedSowing, Step, Total
from cropdata.season.words import NOTHING, Words

WIDTH = 110
NEXT = 10  # actions shown
_RECKONED = (
    "weeks count from the date with an even chance of a later frost, also where a source does not say which frost it means;",
    "frost left: chance of a later frost on the first day of planting out (in place: when the first seedlings are expected; autumn: "
    "of a frost before the last day of harvest), per year at that station. Leaves and hollows are colder than the screen on clear "
    "nights: read the forecast;",
    "seedlings: earliest from the first sowing day to latest from the last; give up: no seedling so long after sowing;",
    "warmth: best range for germination; seeds: for the plants wanted, with a percentage where the germination is assumed for want "
    "of a test of your own; plants = seeds x germination x share of the best at this warmth x what comes through;",
)
DO = (
    "test",
    "buy",
    "chill",
    "soak",
    "sow",
    "move",
    "give_up",
    "feed",
    "pot_on",
    "harden",
    "plant_out",
)  # not what one only expects


def plan_text(plan: Plan, words: Words, today: datetime.date) -> str:
    """The whole text, lines up to about 110 columns."""
    names = {line.id: f"{number}. {_name(line)}" for number, line in enumerate(plan.sowings, start=1)}
    parts = [
        _heading(plan, words),
        _next(plan, words, names, today),
        _listed("What does not go together:", (conflict.text for conflict in plan.conflicts)),
        _listed("What your records say:", (f"{names[seen.sowing]}: {seen.text}" for seen in plan.seen)),
        columns(_sowing_rows(plan, words)),
        columns(_growing_rows(plan, words)),
        _minding(plan),
        _taking(plan, words),
        _listed(
            "Cautions (the label, local rules and qualified advice come first; silence is no promise):",
            (f"{each.about}: {each.text}" for each in plan.cautions),
        ),
        _footing(plan, words),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part)


def _heading(plan: Plan, words: Words) -> list[str]:
    place = plan.place
    threshold = words.warmth((place.threshold_c, place.threshold_c))
    frost = f"Last frost ({threshold} in the screen): "
    if place.last_frost is None:
        frost += "less than one year in two has one"
    else:
        frost += f"one year in two after {words.day(place.last_frost)}"
    if place.risk_date is not None:
        frost += f"; {words.chance(place.risk)} of years after {words.day(place.risk_date)}"
    frost += "."
    if place.last_frost is None:
        frost += f" Weeks are counted from {words.day(place.counted_from)}, as you state."
    if place.first_frost is not None:
        frost += f" First frost: one year in two by {words.day(place.first_frost)}."
    if place.frost_source:
        frost += f" Dates: {place.frost_source}."
    lines = [f"Season {plan.year}, {place.name}", *wrapped(frost, WIDTH)]
    return lines + [f"Frost: {warning}." for warning in plan.warnings]


def _next(plan: Plan, words: Words, names: dict[str, str], today: datetime.date) -> list[str]:
    done = {(seen.sowing, seen.event) for seen in plan.seen}
    up = {seen.sowing for seen in plan.seen if seen.event == "seedlings"}  # nothing to give up
    coming = [
        (sowing, step) for sowing, step in plan.next_actions(today)
        if step.kind in DO and (sowing, step.kind) not in done and not (step.kind == "give_up" and sowing in up)
    ]  # fmt: skip
    if not coming:
        return []
    lines = [f"Next, from {words.day(today)} on:"]
    when = [_when(step, today, words) for _, step in coming[:NEXT]]
    width = max(len(text) for text in when)
    for text, (sowing, step) in zip(when, coming[:NEXT], strict=True):
        lines += wrapped(f"  {text.ljust(width)}  {names[sowing]}: {step.text}", WIDTH, hang=" " * (width + 4))
    if len(coming) > NEXT:
        lines.append(f"  … and {len(coming) - NEXT} more; the calendar and the page of --out DIR hold them all.")
    return lines


def _when(step: Step, today: datetime.date, words: Words) -> str:
    if step.first == step.last:
        return f"by {words.day(step.last)}"
    if step.first <= today:
        return f"now – {words.day(step.last)}"
    return words.span(step.first, step.last)


def _listed(head: str, texts: Iterable[str]) -> list[str]:
    lines = [line for text in texts for line in wrapped(f"- {text}", WIDTH, hang="  ")]
    return [head, *lines] if lines else []


def _name(line: PlannedSowing) -> str:
    name = f"{line.crop}{f' {line.variety}' if line.variety else ''}{', autumn' if line.autumn else ''}"
    return name if line.of == 1 else f"{name} {line.number}/{line.of}"


def _how(line: PlannedSowing) -> str:
    return (line.method or line.where).replace("_", " ")


def _span(words: Words, window: Window | None) -> str:
    return NOTHING if window is None else words.span(*window)


def _sowing_rows(plan: Plan, words: Words) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("", "crop", "where", "sow", "depth", "seeds", "have", "each", "cells", "trays")]
    for number, line in enumerate(plan.sowings, start=1):
        seeds = NOTHING if line.seeds is None else str(line.seeds)
        if line.seeds is not None and line.assumed_germination:
            seeds += f" at {100 * line.assumed_germination:.0f} %"
        rows.append((
            f"{number}.", _name(line), _how(line), _span(words, line.sow), words.depth(line.depth_mm),
            seeds, *(_number(value) for value in (line.seeds_on_hand, line.per_cell, line.cells, line.trays)),
        ))  # fmt: skip
    return _without_empty(rows, from_column=5)


def _growing_rows(plan: Plan, words: Words) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("", "crop", "warmth", "seedlings", "give up", "plant out", "frost left", "harvest")]
    for number, line in enumerate(plan.sowings, start=1):
        rows.append((
            f"{number}.", _name(line), words.warmth(line.best_c), _span(words, line.seedlings), words.days(line.give_up_after),
            _span(words, line.plant_out), words.chance(line.frost_left), _span(words, line.harvest),
        ))  # fmt: skip
    return rows


def _number(value: int | None) -> str:
    return NOTHING if value is None else str(value)


def _without_empty(rows: list[tuple[str, ...]], from_column: int) -> list[tuple[str, ...]]:
    """Columns in which nothing stands are left out."""
    full = [
        number for number in range(len(rows[0]))
        if number < from_column or any(row[number] != NOTHING for row in rows[1:])
    ]  # fmt: skip
    return [tuple(row[number] for number in full) for row in rows]


def _minding(plan: Plan) -> list[str]:
    """Notes, the same sentence once with all that it is about."""
    about: dict[str, list[str]] = {}
    first: dict[str, PlannedSowing] = {}
    for number, line in enumerate(plan.sowings, start=1):
        for note in line.notes:
            about.setdefault(note, []).append(str(number))
            first.setdefault(note, line)
    lines = ["Mind:"]
    for note, numbers in about.items():
        who = (
            f"{numbers[0]}. {first[note].crop}" if len(numbers) == 1 else ", ".join(f"{number}." for number in numbers)
        )
        lines += wrapped(f"{who}: {note}", WIDTH, hang="   ")
    return lines if about else []


def _taking(plan: Plan, words: Words) -> list[str]:
    rows = [
        (total.what, _amount(total, words), "" if total.per == "this year" else total.per, total.basis)
        for total in plan.totals
    ]
    return (
        ["What it takes:", *columns([(f"  {what}", much, per or basis) for what, much, per, basis in rows])]
        if rows
        else []
    )


def _amount(total: Total, words: Words) -> str:
    if total.unit == "litres":
        return words.litres((total.low, total.high))
    if total.unit == "not recorded":
        return total.unit
    low, high = (f"{value:,.2f}".removesuffix(".00") for value in (total.low, total.high))
    unit = total.unit.removesuffix("s") if low == high == "1" else total.unit
    return f"{low if low == high else f'{low}–{high}'} {unit}"


def _footing(plan: Plan, words: Words) -> list[str]:
    lines = ["How it is reckoned:"]
    for text in (*_RECKONED, *(_assumed(rule, words) for rule in plan.assumptions)):
        lines += wrapped(f"- {text}", WIDTH, hang="  ")
    if plan.layers:
        lines += wrapped(f"Laid over the release: {'; '.join(plan.layers)}.", WIDTH)
    return lines + wrapped(
        f"Figures: cropdata {plan.data_version}, {len(plan.citations)} sources; each value with its source: cropdata show CROP, cropdata why CROP TRAIT.",
        WIDTH,
    )


def _assumed(rule: Assumption, words: Words) -> str:
    who = {"common_practice": "common practice, no source", "from_memory": "from memory", "stated": "as you state"}.get(
        rule.basis, rule.source
    )
    low, high, unit = words.differing(rule.low, rule.high, rule.unit)
    value = f"{low:.3g}" if low == high else f"{low:.3g} to {high:.3g}"
    return f"{rule.meaning}: {value} {unit} ({who})"
