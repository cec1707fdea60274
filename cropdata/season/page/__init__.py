"""The plan as one HTML file to read and to print: nothing is loaded from a network and no script is needed.

`page_html` puts the parts together; each part is a function of the plan and its reader.
"""

from __future__ import annotations

import datetime
import os

from cropdata.season.page.endings import assumptions, cautions, citations, totals
from cropdata.season.page.labels import labels
from cropdata.season.page.markup import Reader, facts, items, reader_of, section, text
from cropdata.season.page.picture import picture
from cropdata.season.page.sections import clashes, each_sowing, next_actions, table_of_sowings
from cropdata.season.plan import Plan
from cropdata.season.words import Words

STYLE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "style.css")


def page_html(plan: Plan, words: Words | None = None, today: datetime.date | None = None) -> str:
    """The page as text.

    `words` says the reader's units and order of dates; `today` the day from which the next actions are shown (the
    machine's where it is left out: then the page differs from day to day).
    """
    words = words or Words(year=plan.year)
    reader = reader_of(plan, words, today or datetime.date.today())
    parts = {
        "next": next_actions(plan, reader),
        "picture": section("picture", "The season", picture(plan, reader)),
        "sowings": table_of_sowings(plan, reader),
        "each": each_sowing(plan, reader),
        "clashes": clashes(plan, reader),
        "totals": totals(plan, reader),
        "cautions": cautions(plan, reader),
        "assumptions": assumptions(plan, reader),
        "sources": citations(plan),
        "labels": labels(plan, reader),
    }
    with open(STYLE, encoding="utf-8") as stream:
        style = stream.read()
    title = f"{text(plan.place.name)}, season {plan.year}"
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="generator" content="cropdata {text(plan.data_version)}">
<title>{title}</title>
<style>
{style}</style>
</head>
<body>
{_header(plan, reader, [key for key, part in parts.items() if part])}
<main>
{"".join(parts.values())}</main>
</body>
</html>
"""


_SHORT = {
    "next": "Next",
    "picture": "The season",
    "sowings": "Sowings",
    "each": "Each sowing",
    "clashes": "Clashes",
    "totals": "What it takes",
    "cautions": "Cautions",
    "assumptions": "How it is reckoned",
    "sources": "Sources",
    "labels": "Labels",
}


def _header(plan: Plan, reader: Reader, keys: list[str]) -> str:
    """Title, place, and the dates that everything hangs on."""
    place, words = plan.place, reader.words
    shown = facts(
        [
            ("Last frost, one year in two", text(words.day(place.last_frost)) if place.last_frost else ""),
            ("Weeks counted from", "" if place.last_frost else text(words.day(place.counted_from))),
            (
                f"Later frost in {words.chance(place.risk)} of years",
                f"after {text(words.day(place.risk_date))}" if place.risk_date else "",
            ),
            ("First autumn frost, one year in two", text(words.day(place.first_frost)) if place.first_frost else ""),
            ("Bench, night and day", "" if place.bench_c is None else words.warmth(place.bench_c)),
            (
                "Bench holds",
                "" if place.shelf_trays is None else words.amount(place.shelf_trays, place.shelf_trays, "trays"),
            ),
        ],
        "place",
    )
    said = f"A frost is a minimum of {words.warmth((place.threshold_c, place.threshold_c))} or less in the screen."
    if place.frost_source:
        said += f" Dates: {text(place.frost_source)}."
    links = "".join(f'<li><a href="#{key}">{_SHORT[key]}</a></li>' for key in keys)
    warned = [f"Frost: {text(warning)}." for warning in plan.warnings]
    if plan.conflicts:
        count = len(plan.conflicts)
        warned.append(f'<a href="#clashes">{count} {"clash" if count == 1 else "clashes"}</a> in this plan.')
    warnings = items(warned, "warnings")
    return f"""<header>
<div class="top">
<h1>{text(place.name)} <span>Season {plan.year}</span></h1>
{shown}
<p class="aside">{said}</p>
{warnings}
</div>
<nav aria-label="On this page"><ul>{links}</ul></nav>
</header>"""
