"""The few pieces of HTML that every part of the page is made of. Whatever comes from a plan goes through `text`."""

from __future__ import annotations

import datetime
import html
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from cropdata.agronomy.windows import Window
from cropdata.season.plan import Plan, PlannedSowing
from cropdata.season.words import NOTHING, Words


class Reader(NamedTuple):
    """Who the page is for: units and order of dates, the day it starts from, numbers of sowings and sources."""

    words: Words
    today: datetime.date
    numbers: dict[str, int]  # sowing id to its number on the page
    cited: dict[str, int]  # source id to its number in the list of sources


def reader_of(plan: Plan, words: Words, today: datetime.date) -> Reader:
    """Sowings and sources numbered in the plan's order, from 1."""
    return Reader(
        words,
        today,
        {line.id: number for number, line in enumerate(plan.sowings, start=1)},
        {cited.source_id: number for number, cited in enumerate(plan.citations, start=1)},
    )


def text(value: object) -> str:
    """Text of a plan as HTML shows it, safe between tags and in attributes; a figure keeps its sign and unit."""
    safe = html.escape(str(value), quote=True)
    for apart, joined in ((" %", "\u00a0%"), (" °", "\u00a0°"), ("≥ ", "≥\u00a0"), ("≤ ", "≤\u00a0")):
        safe = safe.replace(apart, joined)
    return safe


def kept(said: str) -> str:
    """Safe text that breaks only after the dash of a span."""
    return " ".join(f'<span class="kept">{text(part)}</span>' for part in said.replace(" – ", " –\n").split("\n"))


def short(said: str, length: int) -> str:
    """As much of it as there is room for: its beginning and its end, as long names often differ at the end."""
    if len(said) <= length:
        return said
    end = length // 3
    return f"{said[: length - end - 1].rstrip()}…{said[-end:].lstrip()}"


def window(window: Window | None, reader: Reader) -> str:
    """First to last day, in the reader's words."""
    return NOTHING if window is None else kept(reader.words.span(*window))


def name(line: PlannedSowing) -> str:
    """`PlannedSowing.name` with its parts told apart; safe."""
    variety = f' <span class="variety">{text(line.variety_name)}</span>' if line.variety_name else ""
    turn = f'<span class="turn">{text(line.turn)}</span>' if line.turn else ""
    return f"{text(line.kind_name)}{variety}{turn}"


def tag(number: int) -> str:
    """The number of a sowing, shaped like a plant label."""
    return f'<span class="tag">{number}</span>'


def sowings(ids: Iterable[str], reader: Reader) -> str:
    """Links to sowings by their number, where the plan has them."""
    known = [reader.numbers[each] for each in ids if each in reader.numbers]
    return " ".join(f'<a class="tag" href="#sowing-{number}">{number}</a>' for number in known)


def sources(ids: Iterable[str], reader: Reader) -> str:
    """Links to sources by their number, three or more in a row as a span; one that is not listed is named by its id."""
    wanted = dict.fromkeys(ids)
    marks = [text(each) for each in wanted if each not in reader.cited]
    numbers = sorted(reader.cited[each] for each in wanted if each in reader.cited)
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    for run in runs:
        ends = run if len(run) < 3 else [run[0], run[-1]]
        marks.append(("–" if len(run) > 2 else ", ").join(f'<a href="#source-{end}">{end}</a>' for end in ends))
    return f'<span class="sources">[{", ".join(marks)}]</span>' if marks else ""


def section(key: str, heading: str, body: str, *, aside: str = "") -> str:
    """A part of the page with its heading, nothing where there is nothing to show."""
    if not body:
        return ""
    said = f'<p class="aside">{aside}</p>' if aside else ""
    return (
        f'<section id="{key}" aria-labelledby="{key}-heading">\n<div class="head"><h2 id="{key}-heading">{heading}</h2>'
        f'{said}</div>\n<div class="body">\n{body}\n</div>\n</section>\n'
    )


def table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], *, kind: str = "") -> str:
    """A table with caption and column heads; the first cell of a row is its head. On a phone each row is a card."""
    # The roles are said because a browser forgets them for rows that are laid out as cards.
    head = "".join(f'<th scope="col" role="columnheader">{cell}</th>' for cell in heads)
    lines = []
    for first, *rest in rows:
        cells = "".join(
            f'<td role="cell"><span class="label" aria-hidden="true">{label}</span><div>{cell}</div></td>'
            for label, cell in zip(heads[1:], rest, strict=True)
        )
        lines.append(f'<tr role="row"><th scope="row" role="rowheader">{first}</th>{cells}</tr>')
    body = "\n".join(lines)
    return (
        f'<table class="{kind}" role="table">\n<caption>{caption}</caption>\n<thead role="rowgroup"><tr role="row">{head}</tr></thead>\n'
        f'<tbody role="rowgroup">\n{body}\n</tbody>\n</table>'
    )


def facts(pairs: Iterable[tuple[str, str]], kind: str = "facts") -> str:
    """Names with their values, those without a value left out."""
    shown = "".join(f"<div><dt>{what}</dt><dd>{value}</dd></div>" for what, value in pairs if value)
    return f'<dl class="{kind}">{shown}</dl>' if shown else ""


def items(lines: Iterable[str], kind: str = "") -> str:
    """A list, nothing where it is empty."""
    shown = "\n".join(f"<li>{line}</li>" for line in lines)
    return f'<ul class="{kind}">\n{shown}\n</ul>' if shown else ""
