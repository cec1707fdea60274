"""What to do next, the table of sowings, and each sowing with all that the plan knows of it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence

from cropdata.season.drafting import figures
from cropdata.season.page.markup import (
    Reader,
    facts,
    items,
    kept,
    name,
    section,
    sources,
    sowings,
    table,
    tag,
    text,
    window,
)
from cropdata.season.plan import Action, Plan, PlannedSowing, Step
from cropdata.season.words import CLASH_WORDS, METHOD_WORDS, NOTHING, STEP_WORDS

SOON = datetime.timedelta(weeks=2)
AT_LEAST = 10  # steps shown, where the next weeks hold fewer
_CELLS = {"block": "blocks", "pot": "pots", "flat": "places"}


def next_actions(plan: Plan, reader: Reader) -> str:
    """What is overdue or open, what comes in the next two weeks, and a little more where this is not much."""
    coming = plan.next_actions(reader.today)
    lines = {line.id: line for line in plan.sowings}
    groups: dict[str, list[Action]] = {"Overdue": [], "Open now": [], "Within two weeks": [], "After that": []}
    for action in coming:
        if action.overdue:
            groups["Overdue"].append(action)
        elif action.step.first <= reader.today:
            groups["Open now"].append(action)
        elif action.step.first <= reader.today + SOON:
            groups["Within two weeks"].append(action)
        elif sum(map(len, groups.values())) < AT_LEAST:
            groups["After that"].append(action)
    body = "".join(
        f"<h3>{heading}</h3>\n{items((_action(lines[each.sowing], each, reader) for each in actions), 'actions')}\n"
        for heading, actions in groups.items()
        if actions
    )
    left = len(coming) - sum(map(len, groups.values()))
    if left:
        body += f'<p class="aside">{left} more {"step" if left == 1 else "steps"} later: see <a href="#each">each sowing</a>.</p>'
    return section(
        "next",
        "Next",
        body or "<p>Nothing of this plan is left to do.</p>",
        aside=f"from {text(reader.words.day(reader.today))}",
    )


def _action(line: PlannedSowing, action: Action, reader: Reader) -> str:
    number = reader.numbers[line.id]
    return (
        f'<span class="tick" aria-hidden="true"></span><span class="when">{_when(action, reader)}</span>'
        f'<span class="who"><a class="tag" href="#sowing-{number}">{number}</a> <strong>{name(line)}</strong></span>'
        f'<span class="what">{text(action.step.text)}</span>'
    )


def _when(action: Action, reader: Reader) -> str:
    step, words = action.step, reader.words
    if action.overdue:
        return text(f"overdue since {words.day(action.overdue)}")
    if step.first < reader.today < step.last:
        return kept(f"until {words.day(step.last)}")
    return kept(words.span(step.first, step.last))


def table_of_sowings(plan: Plan, reader: Reader) -> str:
    """One row a sowing, in the order of their dates."""
    heads = ("Sowing", "Where", "Sow", "Seedlings", "Plant out", "Harvest", "Plants, seeds")
    rows = [_row(line, reader) for line in plan.sowings]
    caption = "Depth and best warmth stand under the sowing, days after which to give up under the seedlings, chance of frost under planting out."
    return section("sowings", "Sowings", table(caption, heads, rows, kind="cards wide") if rows else "")


def _row(line: PlannedSowing, reader: Reader) -> tuple[str, ...]:
    words = reader.words
    number = reader.numbers[line.id]
    under_sowing = ", ".join(
        kept(part) for part in (words.depth(line.depth_mm), words.warmth(line.best_c)) if part != NOTHING
    )
    under_seedlings = kept(f"give up after {words.days(line.give_up_after)}") if line.give_up_after else ""
    chance = "" if line.frost_left is None else kept(f"frost {words.chance(line.frost_left)}")
    harvest_chance, out_chance = (chance, "") if line.autumn_frost else ("", chance)
    if not line.plant_out and not line.autumn_frost:  # sown in place: the chance is that on the day of the seedlings
        under_seedlings, out_chance = "<br>".join(part for part in (under_seedlings, chance) if part), ""
    plants = words.amount(line.plants, line.plants, "plants") if line.plants else NOTHING
    seeds = "" if line.seeds is None else words.amount(line.seeds, line.seeds, "seeds")
    return (
        f'<a class="tag" href="#sowing-{number}">{number}</a> {name(line)}',
        text(METHOD_WORDS.get(line.method or "", line.where)),
        _two(window(line.sow, reader), under_sowing),
        _two(window(line.seedlings, reader), under_seedlings),
        _two(window(line.plant_out, reader), out_chance),
        _two(window(line.harvest, reader), harvest_chance),
        _two(kept(plants), kept(seeds) if seeds else ""),
    )


def _two(main: str, under: str) -> str:
    return f'{main}<br><span class="under">{under}</span>' if under else main


def _where(line: PlannedSowing) -> str:
    method = METHOD_WORDS.get(line.method or "", line.method or "")
    return text(line.where if method in ("", line.where) else f"{line.where}, {method}")


def each_sowing(plan: Plan, reader: Reader) -> str:
    """All that the plan knows of a sowing: figures, steps, what to mind, what was really done, sources."""
    return section("each", "Each sowing", "\n".join(_sowing(plan, line, reader) for line in plan.sowings))


def _sowing(plan: Plan, line: PlannedSowing, reader: Reader) -> str:
    number = reader.numbers[line.id]
    done = [seen for seen in plan.seen if seen.sowing == line.id]
    kinds = {seen.event for seen in plan.lasting()[line.id]}
    count = len(line.sources)
    parts = [
        f'<h3 id="sowing-{number}-heading">{tag(number)} {name(line)}</h3>',
        facts(_facts(line, reader)),
        items((_step(step, step.kind in kinds, reader) for step in sorted(line.steps, key=lambda step: step[1:3])), "steps"),
        items((text(note) for note in line.notes), "notes"),
        items(_clashes_of(plan, line, reader), "notes"),
        items((f"<strong>Done</strong> {text(seen.text)}" for seen in done), "done"),
        f'<details class="aside"><summary>{count} source{"" if count == 1 else "s"}</summary>{sources(line.sources, reader)}</details>'
        if count else "",
    ]  # fmt: skip
    return (
        f'<article id="sowing-{number}" aria-labelledby="sowing-{number}-heading">\n'
        + "\n".join(part for part in parts if part)
        + "\n</article>"
    )


def _clashes_of(plan: Plan, line: PlannedSowing, reader: Reader) -> Iterator[str]:
    """A clash of this sowing alone in full; of one that others share only what it is about, and where it stands."""
    for number, conflict in enumerate(plan.conflicts, start=1):
        if conflict.sowings == (line.id,):
            yield f"Clash: {text(conflict.text)}"
        elif line.id in conflict.sowings:
            days = f", {reader.words.span(conflict.first, conflict.last)}" if conflict.first and conflict.last else ""
            said = f"{CLASH_WORDS.get(conflict.kind, conflict.kind)}{days}"
            yield f'Clash with others: <a href="#clash-{number}">{text(said)}</a>'


def _facts(line: PlannedSowing, reader: Reader) -> Sequence[tuple[str, str]]:
    """Figures of a sowing; a window that is one of its steps stands there."""
    words, stepped = reader.words, {step.kind for step in line.steps}

    def count(number: int | None, what: str) -> str:
        return "" if number is None else words.amount(number, number, what)

    seeds = count(line.seeds, "")
    if line.seeds is not None and line.assumed_germination is not None:
        seeds += f", if {100 * line.assumed_germination:.0f} % germinate (not tested)"
    cells = count(line.cells, _CELLS.get(line.method or "", "cells"))
    held = " in ".join(part for part in (cells, count(line.trays, "trays")) if part)
    if line.container:
        held += f" ({text(line.container_name or line.container)})"
    return [
        (what, value)
        for what, value in (
            ("Where", _where(line)),
            ("For", "autumn" if line.autumn else ""),
            ("Depth", words.depth(line.depth_mm)),
            ("Best warmth", words.warmth(line.best_c)),
            ("Light", _light(line.light)),
            ("Seedlings after", f"{figures(*line.emergence_days)} days" if line.emergence_days else ""),
            ("Give up after", words.days(line.give_up_after) if line.give_up_after else ""),
            *(
                (STEP_WORDS[kind], window(dates, reader))
                for kind, dates in (
                    ("sow", line.sow),
                    ("seedlings", line.seedlings),
                    ("plant_out", line.plant_out),
                    ("harvest", line.harvest),
                )
                if kind not in stepped
            ),
            (_frost_name(line), words.chance(line.frost_left)),
            ("Plants", count(line.plants or None, "")),
            ("Seeds", seeds),
            ("Seeds at hand", count(line.seeds_on_hand, "")),
            ("In each", count(line.per_cell, "seeds")),
            ("Held in", held),
            ("On the bench", window(line.shelf, reader)),
            ("Mix", words.litres(line.mix_litres)),
        )
        if value != NOTHING
    ]


def _frost_name(line: PlannedSowing) -> str:
    if line.autumn_frost:
        return "Frost by the end of harvest"
    return f"Later frost, at {'planting out' if line.plant_out else 'the seedlings'}"


def _light(light: str | None) -> str:
    return {None: "", "light": "wants light", "dark": "wants dark", "indifferent": "either"}.get(light, text(light))


def _step(step: Step, done: bool, reader: Reader) -> str:
    return (
        f'<span class="tick{" done" if done else ""}" aria-hidden="true"></span><span class="when">{kept(reader.words.span(step.first, step.last))}</span>'
        f'<span class="what">{text(step.text)} {sources(step.sources, reader)}</span>'
    )


def clashes(plan: Plan, reader: Reader) -> str:
    """What does not go together, with its sowings."""
    lines = "\n".join(
        f'<li id="clash-{number}">{text(conflict.text)} {sowings(conflict.sowings, reader)}</li>'
        for number, conflict in enumerate(plan.conflicts, start=1)
    )
    return section("clashes", "Clashes", f'<ul class="notes">\n{lines}\n</ul>' if lines else "")
