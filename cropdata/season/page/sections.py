"""What to do next, the table of sowings, and each sowing with all that the plan knows of it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

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
from cropdata.season.plan import Conflict, Plan, PlannedSowing, Step
from cropdata.season.words import METHOD_WORDS, NOTHING, STEP_WORDS

SOON = datetime.timedelta(weeks=2)
_CELLS = {"block": "block", "pot": "pot", "flat": "place"}
AT_LEAST = 10  # steps shown, where the next weeks hold fewer


def next_actions(plan: Plan, reader: Reader) -> str:
    """Steps that are open, those of the next two weeks, and a few more where these are few."""
    coming = plan.next_actions(reader.today)
    lines = {line.id: line for line in plan.sowings}
    until = reader.today + SOON
    groups: dict[str, list[tuple[str, Step]]] = {"Open now": [], "Within two weeks": [], "After that": []}
    for sowing, step in coming:
        if step.first <= reader.today:
            groups["Open now"].append((sowing, step))
        elif step.first <= until:
            groups["Within two weeks"].append((sowing, step))
        elif sum(map(len, groups.values())) < AT_LEAST:
            groups["After that"].append((sowing, step))
    body = "".join(
        f"<h3>{heading}</h3>\n{items((_action(lines[sowing], step, reader) for sowing, step in steps), 'actions')}\n"
        for heading, steps in groups.items()
        if steps
    )
    left = len(coming) - sum(map(len, groups.values()))
    if left:
        body += f'<p class="aside">{left} more {"step" if left == 1 else "steps"} later: see <a href="#each">each sowing</a>.</p>'
    return section(
        "next",
        "Next",
        body or "<p>No step of this plan is still to come.</p>",
        aside=f"from {text(reader.words.day(reader.today))}",
    )


def _action(line: PlannedSowing, step: Step, reader: Reader) -> str:
    number = reader.numbers[line.id]
    return (
        f'<span class="tick" aria-hidden="true"></span><span class="when">{_when(step, reader)}</span>'
        f'<span class="who"><a class="tag" href="#sowing-{number}">{number}</a> <strong>{name(line)}</strong></span>'
        f'<span class="what">{text(step.text)}</span>'
    )


def _when(step: Step, reader: Reader) -> str:
    if step.first < reader.today < step.last:
        return kept(f"until {reader.words.day(step.last)}")
    return kept(reader.words.span(step.first, step.last))


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
    plants = f"{line.plants} plants" if line.plants else ""
    return (
        f'<a class="tag" href="#sowing-{number}">{number}</a> {name(line)}',
        text(METHOD_WORDS.get(line.method or "", line.where)),
        _two(window(line.sow, reader), under_sowing),
        _two(window(line.seedlings, reader), under_seedlings),
        _two(window(line.plant_out, reader), out_chance),
        _two(window(line.harvest, reader), harvest_chance),
        _two(kept(plants) if plants else NOTHING, "" if line.seeds is None else kept(f"{line.seeds} seeds")),
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
    clashes = [conflict.text for conflict in plan.conflicts if line.id in conflict.sowings]
    done = [seen for seen in plan.seen if seen.sowing == line.id]
    kinds = {seen.event for seen in done}
    parts = [
        f'<h3 id="sowing-{number}-heading">{tag(number)} {name(line)}</h3>',
        facts(_facts(line, reader)),
        items((_step(step, step.kind in kinds, reader) for step in line.steps), "steps"),
        items((text(note) for note in line.notes), "notes"),
        items((f"Clash: {text(clash)}" for clash in clashes), "notes"),
        items((f"<strong>Done</strong> {text(seen.text)}" for seen in done), "done"),
        f'<p class="aside">Sources {sources(line.sources, reader)}</p>' if line.sources else "",
    ]
    return (
        f'<article id="sowing-{number}" aria-labelledby="sowing-{number}-heading">\n'
        + "\n".join(part for part in parts if part)
        + "\n</article>"
    )


def _facts(line: PlannedSowing, reader: Reader) -> Sequence[tuple[str, str]]:
    """Figures of a sowing; a window that is one of its steps stands there."""
    words, stepped = reader.words, {step.kind for step in line.steps}
    seeds = "" if line.seeds is None else f"{line.seeds}"
    if line.seeds is not None and line.assumed_germination is not None:
        seeds += f", if {100 * line.assumed_germination:.0f} % germinate (not tested)"
    held = " in ".join(
        part for part in (_count(line.cells, _CELLS.get(line.method or "", "cell")), _count(line.trays, "tray")) if part
    )
    if line.container:
        held += f" ({text(line.container)})"
    return [
        (what, value)
        for what, value in (
            ("Where", _where(line)),
            ("For", "autumn" if line.autumn else ""),
            ("Depth", words.depth(line.depth_mm)),
            ("Best warmth", words.warmth(line.best_c)),
            ("Light", _light(line.light)),
            ("Seedlings after", f"{_figures(line.emergence_days)} days" if line.emergence_days else ""),
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
            ("Plants", f"{line.plants}" if line.plants else ""),
            ("Seeds", seeds),
            ("Seeds at hand", "" if line.seeds_on_hand is None else f"{line.seeds_on_hand}"),
            ("In each", _count(line.per_cell, "seed")),
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


def _figures(pair: tuple[float, float]) -> str:
    low, high = (f"{value:.0f}" for value in pair)
    return low if low == high else f"{low}–{high}"


def _count(number: int | None, what: str) -> str:
    return "" if number is None else f"{number} {what}{'' if number == 1 else 's'}"


def _step(step: Step, done: bool, reader: Reader) -> str:
    return (
        f'<span class="tick{" done" if done else ""}" aria-hidden="true"></span><span class="when">{kept(reader.words.span(step.first, step.last))}</span>'
        f'<span class="what">{text(step.text)} {sources(step.sources, reader)}</span>'
    )


def _days(conflict: Conflict, reader: Reader) -> str:
    if conflict.first and conflict.last:
        return kept(reader.words.span(conflict.first, conflict.last))
    if conflict.first or conflict.last:
        day = reader.words.day(conflict.first or conflict.last)  # type: ignore[arg-type]
        return kept(f"{'from' if conflict.first else 'by'} {day}")
    return "all season"


def clashes(plan: Plan, reader: Reader) -> str:
    """What does not go together, with its days and sowings."""
    lines = []
    for conflict in plan.conflicts:
        when = _days(conflict, reader)
        said = conflict.text
        if conflict.first and conflict.last:  # the days stand before it
            said = said.removeprefix(f"{reader.words.span(conflict.first, conflict.last)}: ")
        lines.append(
            f'<span class="when">{when}</span><span class="what">{text(said)} {sowings(conflict.sowings, reader)}</span>'
        )
    return section("clashes", "Clashes", items(lines, "clashes"))
