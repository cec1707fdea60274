"""The page in a real browser (Chromium, headless): on a phone, on a desk and on paper; accessibility by axe-core.

Run by .ci/full. Set CROPDATA_PICTURES to a folder to keep the pictures.
"""

from __future__ import annotations

import datetime
import os
import re
import shutil
from pathlib import Path

import pytest
from made_plan import LETTUCE, PLAN, TOMATO, day

from cropdata.cli.plan import EXAMPLE, EXAMPLE_DAY
from cropdata.season.page import page_html
from cropdata.season.planning import plan_season
from cropdata.season.words import Words

pytestmark = pytest.mark.full
BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
MARGIN_MM, MM = 12, 96 / 25.4  # CSS pixels in a millimetre
PAPER = {"A4": (210, 297), "Letter": (215.9, 279.4)}
LONG = TOMATO._replace(
    id="long",
    crop="Pe-tsai or Chinese cabbage of the heading kind",
    variety="Donaudampfschifffahrtsgesellschaftskapitän" * 2,
    trays=30,
)
MANY = PLAN._replace(
    sowings=(
        *PLAN.sowings,
        LONG,
        *(LETTUCE[0]._replace(id=f"more-{number}", number=number, of=20) for number in range(1, 21)),
    )
)
PLANS = {
    "season": page_html(PLAN, Words(year=2027), day("4-20")),
    "example": page_html(plan_season(EXAMPLE), today=EXAMPLE_DAY),
    "many": page_html(MANY, Words("imperial", "iso", 2027), day("3-1")),
}


@pytest.fixture(scope="module")
def browser():
    if BROWSER is None:
        pytest.skip("no Chromium on this machine: the page is not looked at in a browser")
    api = pytest.importorskip(
        "playwright.sync_api", reason="needs the extra `browser`: the page is not looked at in a browser"
    )
    options = "--no-sandbox --disable-gpu --no-first-run --disable-background-networking --disable-component-update --disable-sync"
    with api.sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=BROWSER, args=options.split())
        yield started
        started.close()


@pytest.fixture
def show(browser, tmp_path):
    """Opens a page of PLANS from a file, in a window of that width."""
    opened = []

    def open_page(name, width):
        page = browser.new_page(viewport={"width": width, "height": 800})
        opened.append(page)
        page.asked = []
        page.on("request", lambda request: page.asked.append(request.url))
        file = tmp_path / f"{name}.html"
        file.write_text(PLANS[name], encoding="utf-8")
        page.goto(file.as_uri())
        return page

    yield open_page
    for page in opened:
        page.close()


@pytest.fixture
def pictures(tmp_path):
    folder = Path(os.environ.get("CROPDATA_PICTURES", tmp_path))
    folder.mkdir(exist_ok=True)
    return folder


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("width", [360, 768, 1200])
def test_the_page_does_not_scroll_sideways_and_loads_nothing_else(show, pictures, name, width):
    page = show(name, width)
    page.screenshot(path=pictures / f"{name}_{width}.png", full_page=True)
    wide = page.evaluate("Math.max(document.body.scrollWidth, document.documentElement.scrollWidth)")
    assert wide <= width
    assert len(page.asked) == 1 and page.asked[0].endswith(f"{name}.html")


@pytest.mark.parametrize("name", PLANS)
def test_the_picture_scrolls_in_its_own_box_and_keeps_the_names_in_sight(show, name):
    page = show(name, 360)
    box = page.locator(".figure").first
    assert box.evaluate("each => each.scrollWidth > each.clientWidth")
    box.focus()
    box.evaluate("each => { each.scrollLeft = each.scrollWidth }")
    left = page.locator(".names").first.bounding_box()["x"]
    assert left == pytest.approx(box.bounding_box()["x"], abs=1)


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("width", [360, 1200])
def test_axe_finds_nothing(show, name, width):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="needs the extra `browser`").Axe()
    page = show(name, width)
    # Every rule that axe has, those of best practice and of WCAG 2.2 AA included.
    found = axe.run(
        page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    )
    assert len(found.response["passes"]) > 20  # the rules did run
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("paper", PAPER)
def test_on_paper_nothing_is_clipped(show, name, paper):
    width = int((PAPER[paper][0] - 2 * MARGIN_MM) * MM)
    page = show(name, width)
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    clipped = page.evaluate(
        """() => [...document.querySelectorAll('.figure, .cut, td, th, dd, li')]
            .filter(each => each.scrollWidth > each.clientWidth + 1 || each.scrollHeight > each.clientHeight + 1)
            .filter(each => getComputedStyle(each).display !== 'inline')
            .map(each => each.className + ': ' + each.textContent.slice(0, 60))"""
    )
    assert clipped == []
    # Names in the picture end before the months begin.
    over = page.evaluate(
        """() => [...document.querySelectorAll('.names text')].filter(each => {
            const box = each.getBBox(); return box.x + box.width > each.ownerSVGElement.viewBox.baseVal.width
        }).map(each => each.textContent)"""
    )
    assert over == []


def _pages(browser_page, paper, path):
    browser_page.pdf(path=path, format=paper)
    return len(re.findall(rb"/Type\s*/Page\b", Path(path).read_bytes()))


@pytest.mark.parametrize("paper", PAPER)
def test_printed_pages(show, pictures, paper):
    printed = {name: _pages(show(name, 1200), paper, pictures / f"{name}_{paper}.pdf") for name in PLANS}
    print(f"{paper}: {printed}")
    assert 4 <= printed["season"] <= 8
    assert printed["example"] <= 14  # 13 sowings, 152 sources: half a page a sowing, 2 pages of sources
    # Without labels there are as many pages fewer as there are sheets of labels: a sheet fits its page, heading and all.
    for name, sheets in (("season", 1), ("many", 3)):  # 7 labels; 7, 21 and 20
        page = show(name, 1200)
        page.evaluate("document.getElementById('labels').remove()")
        assert printed[name] - _pages(page, paper, pictures / "rest.pdf") == sheets
    (pictures / "rest.pdf").unlink()


def test_sources_are_folded_on_the_screen_and_stand_on_paper(show):
    page = show("example", 360)
    sources = page.locator("#source-1")
    assert not sources.is_visible()
    page.emulate_media(media="print")
    assert sources.is_visible()
    page.emulate_media(media="screen")
    page.locator("#sources summary").click()
    assert sources.is_visible()


def test_labels_have_their_size_on_paper(show):
    page = show("many", int((210 - 2 * MARGIN_MM) * MM))
    page.emulate_media(media="print")
    boxes = page.evaluate("[...document.querySelectorAll('.cut')].map(each => [each.offsetWidth, each.offsetHeight])")
    assert len(boxes) == 48
    assert {tuple(each) for each in boxes} == {(round(60 * MM), round(32 * MM))}


def test_the_day_from_which_it_is_read_is_marked(show):
    page = show("season", 1200)
    line = page.locator(".chart line.today").bounding_box()["x"]
    guide = page.locator(".chart line.guide").first.bounding_box()["x"]
    axis = page.locator(".chart line.share").first.bounding_box()["width"]
    days = (datetime.date(2027, 11, 30) - datetime.date(2027, 2, 1)).days + 1
    assert guide - line == pytest.approx(axis * 8 / days, abs=1)  # 20 to 28 April
