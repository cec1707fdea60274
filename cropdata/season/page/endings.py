"""What the season takes, what to mind, what the plan rests on and who says so."""

from __future__ import annotations

import re

from cropdata.season.page.markup import Reader, items, section, sources, table, text
from cropdata.season.plan import Plan
from cropdata.season.words import BASIS_WORDS

_LINK = re.compile(r"https?://[^\s<>\"]+[^\s<>\".,;)]")


def totals(plan: Plan, reader: Reader) -> str:
    """One line each of what the season takes."""
    rows = [
        (text(each.what), text(reader.words.amount(each.low, each.high, each.unit)), text(each.per), f"{text(each.basis)} {sources(each.sources, reader)}")
        for each in plan.totals
    ]  # fmt: skip
    heads = ("What", "How much", "For", "How it is counted")
    return section(
        "totals",
        "What it takes",
        table("Low to high, where it is not certain.", heads, rows, kind="cards") if rows else "",
    )


def cautions(plan: Plan, reader: Reader) -> str:
    """Hazards of this season's crops and materials, after those that hold always."""
    told: dict[str, list[str]] = {}
    for each in (*plan.general_cautions, *plan.cautions):
        told.setdefault(each.about, []).append(f"{text(each.text)} {sources(each.sources, reader)}".strip())
    lines = (f"<strong>{text(about)}</strong> {'<br>'.join(said)}" for about, said in told.items())
    return section("cautions", "Cautions", items(lines, "notes"))


def assumptions(plan: Plan, reader: Reader) -> str:
    """How figures are to be read, and those that the plan rests on besides the crops' own."""
    rows = []
    for each in plan.assumptions:
        who = (
            sources((each.source,), reader)
            if each.source and each.basis not in ("common_practice", "from_memory")
            else ""
        )
        value = reader.words.assumed(each.low, each.high, each.unit)
        rows.append((text(each.meaning), text(value), f"{text(BASIS_WORDS.get(each.basis, each.basis))} {who}".strip()))
    heads = ("What is taken to hold", "How much", "Who says so")
    caption = "Besides the figures of the crops themselves."
    body = items((text(each[:1].upper() + each[1:] + ".") for each in plan.reckoned), "notes")
    return section(
        "assumptions", "How it is reckoned", body + (table(caption, heads, rows, kind="cards") if rows else "")
    )


def citations(plan: Plan) -> str:
    """Every source used, numbered as on the rest of the page."""
    lines = "\n".join(
        f'<li id="source-{number}">{_linked(text(each.citation))} <span class="under">{text(each.source_id)}</span></li>'
        for number, each in enumerate(plan.citations, start=1)
    )
    edition = f"Figures: cropdata, data edition {text(plan.data_version)}. Each value with its source: <code>cropdata why CROP TRAIT</code>."
    if plan.layers:
        edition += f" Laid over the release: {text('; '.join(plan.layers))}."
    count = f"{len(plan.citations)} source{'' if len(plan.citations) == 1 else 's'}"
    shown = f'<details><summary>{count}</summary>\n<ol class="citations">\n{lines}\n</ol></details>\n' if lines else ""
    return section("sources", "Sources", f'<p class="aside">{edition}</p>\n{shown}')


def _linked(safe: str) -> str:
    """Addresses in an escaped citation as links: something to follow, nothing that the page loads."""
    return _LINK.sub(lambda found: f'<a href="{found[0]}" rel="noreferrer">{found[0]}</a>', safe)
