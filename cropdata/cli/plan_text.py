"""The plan for the terminal: what to do next, what clashes, two tables, what to mind, where it comes from."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from cropdata.agronomy.windows import Window
from cropdata.cli.wording import columns, wrapped
from cropdata.season.plan import THIS_YEAR, Action, Assumption, Plan, PlannedSowing
from cropdata.season.words import BASIS_WORDS, METHOD_WORDS, NOTHING, Words

WIDTH = 110
NEXT = 10  # actions shown


def plan_text(plan: Plan, words: Words, today: datetime.date) -> str:
    """The whole text, lines up to about 110 columns."""
    names = {line.id: f"{number}. {line.name}" for number, line in enumerate(plan.sowings, start=1)}
    parts = [
        _heading(plan, words),
        _next(plan, words, names, today),
        _listed("What does not go together:", (conflict.text for conflict in plan.conflicts)),
        _listed("What your records say:", (f"{names[seen.sowing]}: {seen.text}" for seen in plan.seen)),
        columns(_sowing_rows(plan, words)),
        columns(_growing_rows(plan, words)),
        _minding(plan),
        _taking(plan, words),
        _listed("Cautions:", (f"{each.about}: {each.text}" for each in (*plan.general_cautions, *plan.cautions))),
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
    coming = plan.next_actions(today)
    if not coming:
        return [f"Next: nothing of this plan is left to do from {words.day(today)} on."]
    lines = [f"Next, from {words.day(today)} on:"]
    when = [_when(action, today, words) for action in coming[:NEXT]]
    width = max(len(text) for text in when)
    for text, action in zip(when, coming[:NEXT], strict=True):
        lines += wrapped(
            f"  {text.ljust(width)}  {names[action.sowing]}: {action.step.text}", WIDTH, hang=" " * (width + 4)
        )
    if len(coming) > NEXT:
        lines.append(f"  … and {len(coming) - NEXT} more; the page of --out DIR holds them all.")
    return lines


def _when(action: Action, today: datetime.date, words: Words) -> str:
    step = action.step
    if action.overdue:
        return f"overdue since {words.day(action.overdue)}"
    if step.first == step.last:
        return f"by {words.day(step.last)}"
    if step.first <= today:
        return f"now – {words.day(step.last)}"
    return words.span(step.first, step.last)


def _listed(head: str, texts: Iterable[str]) -> list[str]:
    lines = [line for text in texts for line in wrapped(f"- {text}", WIDTH, hang="  ")]
    return [head, *lines] if lines else []


def _how(line: PlannedSowing) -> str:
    return METHOD_WORDS.get(line.method or "", line.where)


def _span(words: Words, window: Window | None) -> str:
    return NOTHING if window is None else words.span(*window)


def _sowing_rows(plan: Plan, words: Words) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("", "crop", "where", "sow", "depth", "seeds", "have", "each", "cells", "trays")]
    for number, line in enumerate(plan.sowings, start=1):
        seeds = _number(line.seeds)
        if line.seeds is not None and line.assumed_germination:
            seeds += f" at {100 * line.assumed_germination:.0f} %"
        rows.append((
            f"{number}.", line.name, _how(line), _span(words, line.sow), words.depth(line.depth_mm),
            seeds, *(_number(value) for value in (line.seeds_on_hand, line.per_cell, line.cells, line.trays)),
        ))  # fmt: skip
    return _without_empty(rows, from_column=5)


def _growing_rows(plan: Plan, words: Words) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("", "crop", "warmth", "seedlings", "give up", "plant out", "frost left", "harvest")]
    for number, line in enumerate(plan.sowings, start=1):
        rows.append((
            f"{number}.", line.name, words.warmth(line.best_c), _span(words, line.seedlings), words.days(line.give_up_after),
            _span(words, line.plant_out), words.chance(line.frost_left), _span(words, line.harvest),
        ))  # fmt: skip
    return rows


def _number(value: int | None) -> str:
    return NOTHING if value is None else f"{value:,}"


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
        (f"  {total.what}", words.amount(total.low, total.high, total.unit), total.basis if total.per == THIS_YEAR else total.per)
        for total in plan.totals
    ]  # fmt: skip
    return ["What it takes:", *columns(rows)] if rows else []


def _footing(plan: Plan, words: Words) -> list[str]:
    lines = ["How it is reckoned:"]
    for text in (*plan.reckoned, *(_assumed(rule, words) for rule in plan.assumptions)):
        lines += wrapped(f"- {text}", WIDTH, hang="  ")
    if plan.layers:
        lines += wrapped(f"Laid over the release: {'; '.join(plan.layers)}.", WIDTH)
    return lines + wrapped(
        f"Figures: cropdata {plan.data_version}, {len(plan.citations)} sources; each value with its source: cropdata show CROP, cropdata why CROP TRAIT.",
        WIDTH,
    )


def _assumed(rule: Assumption, words: Words) -> str:
    named = rule.basis in ("published", "derived", "computed") and rule.source
    who = rule.source if named else BASIS_WORDS.get(rule.basis, rule.basis)
    return f"{rule.meaning}: {words.assumed(rule.low, rule.high, rule.unit)} ({who})"
