"""What the season takes, what to mind, what the plan rests on and who says so."""

from __future__ import annotations

import re

from cropdata.season.page.markup import Reader, items, section, sources, table, text
from cropdata.season.plan import Plan, Total

_BASIS = {
    "common_practice": "common practice, no source",
    "from_memory": "from memory",
    "published": "published",
    "derived": "reckoned",
    "computed": "reckoned from",
}
_LINK = re.compile(r"https?://[^\s<>\"]+[^\s<>\".,;)]")


def totals(plan: Plan, reader: Reader) -> str:
    """One line each of what the season takes."""
    rows = [
        (text(each.what), _amount(each, reader), text(each.per), f"{text(_BASIS.get(each.basis, each.basis))} {sources(each.sources, reader)}")
        for each in plan.totals
    ]  # fmt: skip
    heads = ("What", "How much", "For", "Says who")
    return section(
        "totals",
        "What it takes",
        table("Low to high, where it is not certain.", heads, rows, kind="cards") if rows else "",
    )


def _amount(total: Total, reader: Reader) -> str:
    if total.unit in ("l", "litre", "litres"):
        return text(reader.words.litres((total.low, total.high)))
    if total.unit == "not recorded":
        return total.unit
    return text(f"{_span(total.low, total.high)} {total.unit}".strip())


def _span(low: float, high: float) -> str:
    one, other = (f"{value:.2f}".rstrip("0").rstrip(".") for value in (low, high))
    if one == other:
        return one
    return f"{one} to {other}" if "-" in one + other else f"{one}–{other}"


def cautions(plan: Plan, reader: Reader) -> str:
    """Hazards of this season's crops and materials; the general ones always."""
    told: dict[str, list[str]] = {}
    for each in plan.cautions:
        told.setdefault(each.about, []).append(f"{text(each.text)} {sources(each.sources, reader)}")
    lines = [f"<strong>{text(about)}</strong> {'<br>'.join(said)}" for about, said in told.items()]
    lines += [
        "<strong>Frost</strong> A chance is per year at that station, in a screen; leaves and hollows are colder on clear nights. "
        "Read the forecast before planting out.",
        "<strong>Always</strong> The label, local rules and qualified advice come first.",
    ]
    return section("cautions", "Cautions", items(lines, "notes"))


def assumptions(plan: Plan, reader: Reader) -> str:
    """Figures that the plan rests on besides the crops' own."""
    rows = []
    for each in plan.assumptions:
        if each.unit in ("share", "share of years"):
            value = f"{_span(100 * each.low, 100 * each.high)} %{each.unit.removeprefix('share')}"
        else:
            low, high, unit = reader.words.differing(each.low, each.high, each.unit)
            value = f"{_span(low, high)} {unit}"
        said = _BASIS.get(each.basis, each.basis)
        source = "" if each.basis in ("common_practice", "from_memory") else sources((each.source,), reader)
        rows.append((text(each.meaning), text(value), f"{text(said)} {source}"))
    heads = ("What is taken to hold", "How much", "Says who")
    caption = "Besides the figures of the crops themselves."
    return section("assumptions", "Assumptions", table(caption, heads, rows, kind="cards") if rows else "")


def citations(plan: Plan) -> str:
    """Every source used, numbered as on the rest of the page."""
    lines = "\n".join(
        f'<li id="source-{number}">{_linked(text(each.citation))} <span class="under">{text(each.source_id)}</span></li>'
        for number, each in enumerate(plan.citations, start=1)
    )
    edition = f"Figures: cropdata, data edition {text(plan.data_version)}. Each value with its source: <code>cropdata why CROP TRAIT</code>."
    if plan.layers:
        edition += f" Laid over the release: {text('; '.join(plan.layers))}."
    shown = f'<ol class="citations">\n{lines}\n</ol>\n' if lines else ""
    return section("sources", "Sources", f'{shown}<p class="aside">{edition}</p>')


def _linked(safe: str) -> str:
    """Addresses in an escaped citation as links: something to follow, nothing that the page loads."""
    return _LINK.sub(lambda found: f'<a href="{found[0]}" rel="noreferrer">{found[0]}</a>', safe)
