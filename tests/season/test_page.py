"""The page, read back as HTML and held against the plan; dates, chances and places in the picture reckoned here."""

from __future__ import annotations

import datetime
import itertools
import re
from html.parser import HTMLParser

import pytest
from made_plan import GARLIC, LETTUCE, PLAN, TOMATO, day, window

from cropdata.season.page import page_html
from cropdata.season.plan import Caution, Cited, Conflict, FrostDay, Seen, Total
from cropdata.season.words import Words

TODAY = day("4-20")
LONG = "Lettuce Lanterne des Trois Jardins"
VOID = {"meta", "br", "link", "img", "hr", "input"}


class Element:
    def __init__(self, name, attributes, parent):
        self.name, self.attributes, self.parent, self.children = name, dict(attributes), parent, []

    def walk(self):
        for child in self.children:
            if isinstance(child, Element):
                yield child
                yield from child.walk()

    def all(self, name=None, **attributes):
        """Elements of that name whose attributes hold these words."""
        return [
            each
            for each in self.walk()
            if (name is None or each.name == name)
            and all(word in (each.attributes.get(key.rstrip("_")) or "").split() for key, word in attributes.items())
        ]

    @property
    def text(self):
        parts = [each if isinstance(each, str) else each.text for each in self.children if not _is(each, "style")]
        return re.sub(r"\s+", " ", "".join(parts))


def _is(each, name):
    return isinstance(each, Element) and each.name == name


class Page(HTMLParser):
    """A tree of the page; tags that do not match are an error."""

    def __init__(self, text):
        super().__init__()
        self.root = self.here = Element("", {}, None)
        self.feed(text)
        self.close()
        assert self.here is self.root, f"<{self.here.name}> is left open"

    def handle_starttag(self, name, attributes):
        made = Element(name, attributes, self.here)
        self.here.children.append(made)
        if name not in VOID:
            self.here = made

    def handle_startendtag(self, name, attributes):
        self.here.children.append(Element(name, attributes, self.here))

    def handle_endtag(self, name):
        assert name == self.here.name, f"</{name}> closes <{self.here.name}>"
        self.here = self.here.parent

    def handle_data(self, data):
        self.here.children.append(data)


def read(plan=PLAN, words=None, today=TODAY):
    return Page(page_html(plan, words, today)).root


@pytest.fixture(scope="module")
def page():
    return read()


def part(root, key):
    (found,) = [each for each in root.all("section") if each.attributes.get("id") == key]
    return found


def test_parts_stand_in_their_order(page):
    assert [each.attributes["id"] for each in page.all("section")] == [
        "next", "picture", "sowings", "each", "clashes", "totals", "cautions", "assumptions", "sources", "labels",
    ]  # fmt: skip
    assert len(page.all("h1")) == 1
    assert "Alder Bank (invented)" in page.all("h1")[0].text


def test_headings_go_down_one_by_one(page):
    levels = [int(each.name[1]) for each in page.walk() if re.fullmatch(r"h[1-6]", each.name)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_nothing_is_loaded_and_nothing_runs():
    text = page_html(PLAN, None, TODAY)
    root = Page(text).root
    assert not [
        each.name for each in root.walk() if each.name in ("script", "link", "img", "iframe", "object", "use", "base")
    ]
    assert not [key for each in root.walk() for key in each.attributes if key == "src" or key.startswith("on")]
    assert all(found.startswith("#") for found in re.findall(r"url\(([^)]*)\)", text))
    assert "@import" not in text
    outward = [each for each in root.walk() if (each.attributes.get("href") or "#")[0] != "#"]
    assert [each.text for each in outward] == ["https://example.org/raising"]  # a link to follow
    (policy,) = [each for each in root.all("meta") if each.attributes.get("http-equiv")]
    assert policy.attributes["content"].startswith("default-src 'none';")


def test_ids_are_unique_and_links_lead_somewhere(page):
    ids = [each.attributes["id"] for each in page.walk() if "id" in each.attributes]
    assert len(ids) == len(set(ids))
    for each in page.walk():
        for target in [(each.attributes.get("href") or "")] + [
            "#" + label for label in (each.attributes.get("aria-labelledby") or "").split()
        ]:
            assert not target.startswith("#") or target[1:] in ids


def test_language_captions_and_scopes(page):
    assert page.all("html")[0].attributes["lang"] == "en"
    for table in page.all("table"):
        assert len(table.all("caption")) == 1
        assert all(head.attributes.get("scope") in ("col", "row") for head in table.all("th"))
        columns = len(table.all("thead")[0].all("th"))
        assert all(len(row.all("th")) + len(row.all("td")) == columns for row in table.all("tr"))
    assert len(part(page, "sowings").all("tbody")[0].all("tr")) == len(PLAN.sowings)


HOSTILE = (
    "<script>alert(1)</script>",
    '" onload="alert(1)',
    "</style><b>",
    "</title><script>",
    "&lt;i&gt;",
    "'><svg onload=1>",
)


@pytest.mark.parametrize("hostile", HOSTILE)
def test_whatever_a_grower_types_is_text(hostile):
    line = TOMATO._replace(
        crop=hostile, variety=hostile, method=hostile, container=hostile, light=hostile, notes=(hostile,),
        sources=(hostile,), steps=(TOMATO.steps[0]._replace(text=hostile, sources=(hostile,)),),
    )  # fmt: skip
    plan = PLAN._replace(
        data_version=hostile, sowings=(line,), place=PLAN.place._replace(name=hostile, frost_source=hostile), warnings=(hostile,),
        conflicts=(Conflict(hostile, None, None, hostile, (line.id, hostile)),), totals=(Total(hostile, 1, 2, hostile, hostile, hostile, (hostile,)),),
        cautions=(Caution(hostile, hostile, (hostile,)),), seen=(Seen(line.id, hostile, TODAY, None, hostile),),
        assumptions=(PLAN.assumptions[0]._replace(meaning=hostile, unit=hostile, basis=hostile, source=hostile),),
        citations=(Cited("ext_a", hostile), Cited("ext_c", f"https://example.org/{hostile}")),
    )  # fmt: skip
    shape = [each.name for each in read(_tamed(plan, hostile)).walk()]
    root = read(plan)
    assert [each.name for each in root.walk()] == shape  # not one element more than with a plain word
    assert not [key for each in root.walk() for key in each.attributes if key.startswith("on")]
    assert root.all("title")[0].text == re.sub(r"\s+", " ", f"{hostile}, season 2027")


def _tamed(value, hostile):
    """The same plan with a plain word of that length instead."""
    if isinstance(value, str):
        return value.replace(hostile, "x" * len(hostile))
    if hasattr(value, "_fields"):
        return type(value)(*(_tamed(each, hostile) for each in value))
    return tuple(_tamed(each, hostile) for each in value) if isinstance(value, tuple) else value


def test_only_web_addresses_become_links():
    plan = PLAN._replace(citations=(Cited("ext_a", "javascript:alert(1) file:///x HTTPS no"), PLAN.citations[1]))
    assert [each.text for each in part(read(plan), "sources").all("a")] == ["https://example.org/raising"]


def test_all_that_the_plan_knows_stands_on_the_page(page):
    shown = page.text
    for line in PLAN.sowings:
        for said in (line.crop, line.variety, *line.notes, *(step.text for step in line.steps)):
            assert said is None or said in shown
    for said in (
        *(each.text for each in PLAN.conflicts), *(each.what for each in PLAN.totals), *(each.text for each in PLAN.cautions),
        *(each.text for each in PLAN.seen), *(each.meaning for each in PLAN.assumptions), *PLAN.warnings,
    ):  # fmt: skip
        assert said in shown
    article = next(each for each in page.all("article") if "Tomato" in each.text)
    facts = {each.all("dt")[0].text: each.all("dd")[0].text for each in article.all("div") if each.all("dt")}
    assert facts == {
        "Where": "under cover, block", "Depth": "13 mm", "Best warmth": "20–27 °C", "Light": "either", "Seedlings after": "6 to 12 days",
        "Give up after": "31 days", "Later frost, at planting out": "10 %", "Plants": "12", "Seeds": "19, if 75 % germinate (not tested)",
        "Seeds at hand": "40", "In each": "1 seed", "Held in": "19 blocks in 1 tray (Block of 5 cm)", "On the bench": "20 Mar – 15 May", "Mix": "2.1–2.6 l",
    }  # fmt: skip


def test_the_table_says_where_which_chance_of_frost_belongs(page):
    rows = {
        row.all("th")[0].text: [cell.all("div")[0].text for cell in row.all("td")]
        for row in part(page, "sowings").all("tbody")[0].all("tr")
    }
    assert rows["2 Tomato Gate Red"] == [
        "block", "20 Mar – 3 Apr13 mm, 20–27 °C", "27 Mar – 16 Aprgive up after 31 days", "15 May – 22 Mayfrost 10 %", "20 Jul – 24 Aug", "12 plants19 seeds",
    ]  # fmt: skip
    assert rows["4 Carrot"][2].endswith("frost 47 %")  # in place: on the day of the seedlings
    assert rows["6 Kale Shore Black, autumn"][4].endswith("frost 5 %")  # for autumn: at harvest
    assert rows["7 Garlic Café d'été, autumn"][1:5] == ["–"] * 4


def actions(root):
    shown = {}
    for each in part(root, "next").walk():
        if each.name == "h3":
            heading = each.text
        if each.name == "li":
            shown.setdefault(heading, []).append((each.all("span", class_="when")[0].text, each.all("strong")[0].text))
    return shown


def test_next_actions_from_a_day():
    # By hand from made_plan.py for 20 April, with nothing recorded; two weeks on is 4 May.
    root = read(PLAN._replace(seen=()))
    assert actions(root) == {
        "Overdue": [("overdue since 1 Feb", "Carrot")],
        "Open now": [("until 15 May", "Carrot"), ("until 24 Apr", f"{LONG} 3/3"), ("20 Apr – 4 May", "Tomato Gate Red"), ("until 1 May", "Tomato Gate Red")],
        "Within two weeks": [("1 May – 14 May", "Tomato Gate Red"), ("1 May – 8 May", f"{LONG} 2/3")],
        "After that": [("15 May – 22 May", "Tomato Gate Red"), ("22 May – 29 May", f"{LONG} 3/3"), ("25 May – 12 Jun", f"{LONG} 1/3")],
    }  # fmt: skip
    # 22 steps; 2 are only to be expected, 4 are past (three sowings, the first lettuce planted out), 10 are shown.
    assert "6 more steps later" in part(root, "next").text


def test_next_actions_after_the_season():
    for plan in (PLAN, PLAN._replace(seen=())):
        root = read(plan, today=datetime.date(2028, 1, 1))
        assert actions(root) == {}
        assert "Nothing of this plan is left to do." in part(root, "next").text


def test_bars_and_frost_share_one_axis(page):
    (chart,) = page.all("svg", class_="chart")
    width = float(chart.attributes["viewbox"].split()[2])
    first = datetime.date(2027, 2, 1)  # seed is bought on 1 February, the last kale picked on 10 November
    days = (datetime.date(2027, 11, 30) - first).days + 1

    def x(text):
        return width * (day(text) - first).days / days

    titled = {each.all("title")[0].text: each for each in chart.all("rect", class_="bar")}
    for said, start, end in (
        ("Tomato Gate Red: sow 20 Mar – 3 Apr", "3-20", "4-4"),
        ("Tomato Gate Red: seedlings 27 Mar – 16 Apr", "3-27", "4-17"),
        ("Tomato Gate Red: plant out 15 May – 22 May", "5-15", "5-23"),
        ("Kale Shore Black, autumn: harvest 20 Sep – 10 Nov", "9-20", "11-11"),
    ):
        bar = titled[said].attributes
        assert float(bar["x"]) == pytest.approx(x(start), abs=0.06)
        assert float(bar["width"]) == pytest.approx(x(end) - x(start), abs=0.11)
    # Every window of the plan has its bar.
    wanted = sum(
        each is not None for line in PLAN.sowings for each in (line.sow, line.seedlings, line.plant_out, line.harvest)
    )
    assert len(titled) == len(chart.all("rect", class_="bar")) == wanted
    # The line of the chance: half-way up at the even date, a tenth up at the date of the stated risk.
    spring, autumn = (
        {float(at.split(",")[0]): float(at.split(",")[1]) for at in line.attributes["points"].split()}
        for line in chart.all("polyline", class_="frost")
    )
    bottom, top = max(spring.values()), min(spring.values())

    def share(line, text):
        return (bottom - line[min(line, key=lambda each: abs(each - x(text)))]) / (bottom - top)

    assert share(spring, "4-28") == pytest.approx(0.5, abs=0.01)
    assert share(spring, "5-16") == pytest.approx(0.1, abs=0.01)  # 1.2816 standard deviations of 14 days: 17.9 days on
    assert share(autumn, "10-19") == pytest.approx(0.5, abs=0.01)
    guides = [float(line.attributes["x1"]) for line in chart.all("line", class_="guide")]
    assert guides == pytest.approx([x("4-28"), x("5-15"), x("10-19")], abs=0.06)


def test_the_picture_has_words(page):
    (chart,) = page.all("svg", class_="chart")
    assert chart.attributes["role"] == "img"
    assert chart.all("title")[0].text == "The season from 1 Feb to 30 Nov: chance of frost and 7 sowings"
    assert "50 % on 28 Apr and 10 % on 15 May" in chart.all("desc")[0].text


def test_a_gap_in_the_chance_is_a_gap_in_the_line():
    days = [datetime.date(2027, 3, 1) + datetime.timedelta(days=number) for number in range(60)]
    frost = tuple(FrostDay(date, None if 20 <= number < 30 else 0.5, None) for number, date in enumerate(days))
    assert len(read(PLAN._replace(frost=frost)).all("polyline", class_="frost")) == 2


def test_many_sowings_are_drawn_on_several_figures():
    many = tuple(TOMATO._replace(id=f"tomato-{number}", number=number, of=60) for number in range(1, 61))
    root = read(PLAN._replace(sowings=many, conflicts=(), seen=()))
    assert [len(each.all("path", class_="tag")) for each in root.all("svg", class_="names")] == [12] * 5
    assert len(root.all("svg", class_="chart")[4].all("polyline")) == 2  # the chance of frost on each of them


def test_a_plan_without_any_date_is_shown_without_a_picture():
    root = read(PLAN._replace(sowings=(GARLIC,), seen=(), frost=(), conflicts=(), totals=(), warnings=()))
    assert [each.attributes["id"] for each in root.all("section")] == [
        "next", "sowings", "each", "cautions", "assumptions", "sources", "labels",
    ]  # fmt: skip


def labels(root):
    return [[span.text for span in cut.children] for cut in root.all("li", class_="cut")]


def test_labels_carry_variety_and_sowing_date(page):
    shown = labels(page)
    assert ["2", "Tomato", "Gate Red", "sow 20 Mar 2027", "block", "13 mm, 20–27 °C", "sown on "] in shown
    # Really sown on 15 March: the label says so and leaves nothing to write.
    assert ["1", "Lettuce", LETTUCE[0].variety, "sown 15 Mar 2027", "tray, sowing 1 of 3"] in shown
    assert ["7", "Garlic", "Café d'été", "in place", "sown on "] in shown
    assert len(shown) == 7


def test_one_label_a_tray_and_at_most_a_sheet_of_one_sowing():
    three, many = TOMATO._replace(trays=3), LETTUCE[1]._replace(trays=500)
    root = read(PLAN._replace(sowings=(three, many), seen=(), conflicts=()))
    shown = labels(root)
    assert [each[4] for each in shown[:3]] == [f"block, tray {number} of 3" for number in (1, 2, 3)]
    assert len(shown) == 3 + 21
    assert shown[3][4] == "sowing 2 of 3, tray 1 of 500"  # not "tray, tray 1"
    assert [len(sheet.all("li")) for sheet in root.all("div", class_="sheet")] == [21, 3]
    assert (
        "More than 21 trays: print the sheet again for Lettuce Lanterne des Trois Jardins 2/3."
        in part(root, "labels").text
    )


def test_a_difference_of_temperatures_is_in_the_readers_units():
    """Leaves 4 to 2 °C colder than the screen are 7.2 to 3.6 °F colder."""
    colder = PLAN.assumptions[0]._replace(rule_id="plant_minus_screen", low=-4.0, high=-2.0, unit="°C")
    shown = [
        part(read(PLAN._replace(assumptions=(colder,)), words=Words(units, "dmy", 2027)), "assumptions").text
        for units in ("metric", "imperial")
    ]
    assert "-4 to -2 °C" in shown[0] and "-7.2 to -3.6 °F" in shown[1] and "°C" not in shown[1]


def test_the_readers_units_and_dates():
    root = read(words=Words("imperial", "mdy", 2027))
    shown = root.text
    for said in (
        "1/2 in",
        "68–81 °F",
        "32 °F or less",
        "Mar 20 – Apr 3",
        "64–75 °F",
        "3.3–4.3 dry qt",
        "sow Mar 20, 2027",
    ):
        assert said in shown
    assert "20 Mar" not in shown
    assert "2027-03-20 – 2027-04-03" in read(words=Words("metric", "iso", 2027)).text


def test_the_same_plan_gives_the_same_bytes():
    assert page_html(PLAN, None, TODAY) == page_html(PLAN, None, TODAY)


def test_a_window_over_the_year_says_which_year():
    line = TOMATO._replace(harvest=window("12-20", "12-31")._replace(last=datetime.date(2028, 2, 3)), steps=())
    assert "20 Dec – 3 Feb 2028" in read(PLAN._replace(sowings=(line,))).text


def _luminance(colour):
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one, other):
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_letters_and_bars_stand_out():
    text = page_html(PLAN, None, TODAY)
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6}|#fff);", text))
    for letters in ("ink", "soft", "leaf", "rust", "frost"):  # WCAG 2.2, 1.4.3: 4.5 to 1
        assert (
            min(_contrast(colours[letters], ground) for ground in ("#ffffff", colours["pale"], colours["ice"])) >= 4.5
        )
    outlines = re.findall(r"svg \.bar\.\w+ \{ fill: [^;]+; stroke: (#[0-9a-f]{6}); \}", text)
    assert len(outlines) == 4
    for outline in outlines:  # WCAG 2.2, 1.4.11: 3 to 1 for what must be seen
        assert min(_contrast(outline, ground) for ground in ("#ffffff", colours["pale"])) >= 3
