"""The page against the JSON object: each date, figure and name that a table or a list of facts shows is in the object.

The page is parsed and looked up in the object of the same plan; what may stand there is made from the object here (its dates,
its numbers as they are, in per cent and rounded, its words), so that neither follows from the other.
"""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from test_page import Element, Page, part

from cropdata.cli.plan import EXAMPLE
from cropdata.season import plan_season
from cropdata.season.page import page_html
from cropdata.season.schema import plan_object
from cropdata.season.words import Words

ISO = Words("metric", "iso", 2027)
RECORDS = "sowing,event,date,count\nbroccoli,sow,2027-03-05,26\nbroccoli,seedlings,2027-03-12,20\n"
DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
NUMBER = re.compile(r"-?\d[\d,]*(?:\.\d+)?")


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Element, dict[str, Any]]:
    records = tmp_path_factory.mktemp("records") / "records.csv"
    records.write_text(RECORDS, encoding="utf-8")
    today = datetime.date(2027, 3, 15)
    plan = plan_season(EXAMPLE, words=ISO, records=records, today=today)
    return Page(page_html(plan, ISO, today)).root, json.loads(json.dumps(plan_object(plan)))


def leaves(value: Any) -> Iterator[Any]:
    """Every plain value in an object."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for each in value:
            yield from leaves(each)
    elif value is not None:
        yield value


class Known:
    """Dates, words and numbers of an object."""

    def __init__(self, *objects: Any) -> None:
        values = list(leaves(list(objects)))
        texts = [str(value) for value in values if isinstance(value, str)]
        self.words = " ".join(texts).casefold()
        self.dates = {found for text in texts for found in DATE.findall(text)}
        self.numbers = [value for value in values if isinstance(value, int | float) and not isinstance(value, bool)]
        self.numbers += [
            float(found.replace(",", "")) for text in texts for found in NUMBER.findall(DATE.sub("", text))
        ]

    def number(self, shown: str, *, per_cent: bool) -> bool:
        """Whether a number of the object, rounded as it is shown, is the one shown."""
        value, places = float(shown.replace(",", "")), len(shown.partition(".")[2])
        half = 0.5 * 10**-places + 1e-9
        return any(abs((100 * known if per_cent else known) - value) <= half for known in self.numbers)

    def missing(self, text: str) -> list[str]:
        """Dates and numbers of a text that the object does not know; source numbers in brackets are the page's own."""
        text = re.sub(r"\[[\d,– ]+\]", "", text.replace("\u00a0", " "))
        found = [date for date in DATE.findall(text) if date not in self.dates]
        text = re.sub(r"(\d)–(\d)", r"\1 to \2", DATE.sub("", text))
        for match in NUMBER.finditer(text):
            per_cent = bool(re.match(r"( to \d+)? %", text[match.end() :]))
            if not self.number(match[0], per_cent=per_cent):
                found.append(match[0])
        return found


def figures_of(sowing: dict[str, Any]) -> dict[str, Any]:
    """A sowing without its sentences: what a table shows is to stand in a field of its own."""
    return {name: value for name, value in sowing.items() if name not in ("steps", "notes")}


def cells(row: Element) -> list[str]:
    return [cell.all("div")[0].text for cell in row.all("td")]


def test_the_table_of_sowings(both: tuple[Element, dict[str, Any]]) -> None:
    root, body = both
    rows = part(root, "sowings").all("tbody")[0].all("tr")
    assert len(rows) == len(body["sowings"])
    for number, (row, sowing) in enumerate(zip(rows, body["sowings"], strict=True), start=1):
        head, known = row.all("th")[0].text, Known(figures_of(sowing))
        assert head.startswith(f"{number} {sowing['crop']}")
        assert sowing["variety"] is None or sowing["variety"] in head
        told = cells(row)
        assert known.missing(" | ".join(told)) == [], head
        # And the other way round: whatever window the object has stands in its column.
        for text, name in zip(told[1:5], ("sow", "seedlings", "plant_out", "harvest"), strict=True):
            window = sowing[name]
            assert DATE.findall(text) == ([] if window is None else list(dict.fromkeys(window.values())))


def test_each_sowing(both: tuple[Element, dict[str, Any]]) -> None:
    root, body = both
    articles = root.all("article")
    for article, sowing in zip(articles, body["sowings"], strict=True):
        known = Known(figures_of(sowing))
        facts = {each.all("dt")[0].text: each.all("dd")[0].text for each in article.all("div") if each.all("dt")}
        for name, value in facts.items():
            assert known.missing(value) == [], (sowing["id"], name)
        assert sowing["container"] is None or f"({sowing['container_name']})" in facts["Held in"]
        steps = article.all("ul", class_="steps")[0].all("li")
        texts = [
            each.all("span", class_="what")[0].text.split(" [")[0].replace("\u00a0", " ").strip() for each in steps
        ]
        assert sorted(texts) == sorted(step["text"] for step in sowing["steps"])
        dates = [DATE.findall(each.all("span", class_="when")[0].text)[0] for each in steps]
        assert dates == sorted(dates)


@pytest.mark.parametrize(("section", "field"), [("totals", "totals"), ("assumptions", "assumptions")])
def test_the_other_tables(both: tuple[Element, dict[str, Any]], section: str, field: str) -> None:
    root, body = both
    rows = part(root, section).all("tbody")[0].all("tr")
    for row, line in zip(rows, body[field], strict=True):
        known = Known(line)
        assert row.all("th")[0].text in (
            line.get("what"),
            line.get("meaning"),
            *[str(line.get("meaning")).replace(" %", "\u00a0%")],
        )
        assert known.missing(cells(row)[0]) == [], line
    assert len(rows) == len(body[field])


def test_cautions_place_and_reading(both: tuple[Element, dict[str, Any]]) -> None:
    root, body = both
    known = Known(body["cautions"], body["general_cautions"])
    for each in part(root, "cautions").all("strong"):
        assert each.text.casefold() in known.words
    shown = part(root, "cautions").text.replace("\u00a0", " ")
    for caution in body["general_cautions"] + body["cautions"]:
        assert caution["text"] in shown
        shown = shown.replace(caution["text"], "").replace(caution["about"], "")
    assert re.sub(r"\[[\d,– ]+\]|\s", "", shown) == "Cautions"  # nothing else stands there
    place = root.all("dl", class_="place")[0]
    assert (
        Known(body["place"]).missing(" | ".join(each.text for each in place.walk() if each.name in ("dt", "dd"))) == []
    )
    shown = part(root, "assumptions").all("ul")[0].text.replace("\u00a0", " ").casefold()
    assert all(said.casefold() in shown for said in body["reckoned"])


def test_labels_and_clashes(both: tuple[Element, dict[str, Any]]) -> None:
    root, body = both
    for cut in part(root, "labels").all("li", class_="cut"):
        number = int(cut.all("span", class_="tag")[0].text)
        sowing = body["sowings"][number - 1]
        seen = [each for each in body["seen"] if each["sowing"] == sowing["id"]]
        told = " | ".join(
            each.text for each in cut.children if isinstance(each, Element) and "tag" not in each.attributes["class"]
        )
        # Trays are numbered from 1 on the labels.
        assert Known(sowing, seen, list(range(1, (sowing["trays"] or 1) + 1))).missing(told) == []
    clashes = part(root, "clashes").all("li")
    assert len(clashes) == len(body["conflicts"])
    for shown, conflict in zip(clashes, body["conflicts"], strict=True):
        assert conflict["text"] in shown.text.replace("\u00a0", " ")
        assert [each.text for each in shown.all("a")] == [
            str(number) for number, line in enumerate(body["sowings"], start=1) if line["id"] in conflict["sowings"]
        ]


def test_a_figure_that_is_not_in_the_object_is_found() -> None:
    known = Known({"sow": {"first": "2027-03-20"}, "depth": [3.2, 25.4], "left": 0.474})
    assert known.missing("2027-03-20, 3–25 mm, frost 47 %") == []
    assert known.missing("2027-03-21, 4–25 mm, frost 48 %") == ["2027-03-21", "4", "48"]
