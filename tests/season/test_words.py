"""Dates, lengths, temperatures, volumes and chances as the reader writes them; all expectations reckoned by hand."""

from __future__ import annotations

import datetime

import pytest

from cropdata.season.words import Words

MARCH, APRIL = datetime.date(2027, 3, 13), datetime.date(2027, 4, 3)
ENGLISH, AMERICAN, ISO = Words(year=2027), Words("imperial", "mdy", 2027), Words("metric", "iso", 2027)


def test_dates_stand_in_the_readers_order():
    assert [words.span(MARCH, APRIL) for words in (ENGLISH, AMERICAN, ISO)] == [
        "13 Mar – 3 Apr",
        "Mar 13 – Apr 3",
        "2027-03-13 – 2027-04-03",
    ]
    assert ENGLISH.span(MARCH, MARCH) == "13 Mar"


def test_a_date_of_another_year_says_which():
    date = datetime.date(2028, 1, 5)
    assert [words.day(date) for words in (ENGLISH, AMERICAN, ISO)] == ["5 Jan 2028", "Jan 5, 2028", "2028-01-05"]
    assert ENGLISH.span(date, date.replace(day=9)) == "5 Jan – 9 Jan 2028"
    assert ENGLISH.span(MARCH, date) == "13 Mar – 5 Jan 2028"
    assert ENGLISH.span(date.replace(year=2026), MARCH) == "5 Jan 2026 – 13 Mar"


@pytest.mark.parametrize(
    ("depth_mm", "metric", "imperial"),
    [
        ((6.35, 19.05), "6–19 mm", "1/4–3/4 in"),
        ((12.7, 12.7), "13 mm", "1/2 in"),
        ((3, 25.4), "3–25 mm", "1/8–1 in"),
        ((38.1, 50.8), "38–51 mm", "1 1/2–2 in"),
        ((1.6, 1.6), "2 mm", "1/16 in"),
        ((0, 6.35), "0–6 mm", "0–1/4 in"),
        ((0, 0), "surface", "surface"),
        (None, "–", "–"),
    ],
)
def test_depths(depth_mm, metric, imperial):
    assert (ENGLISH.depth(depth_mm), AMERICAN.depth(depth_mm)) == (metric, imperial)


@pytest.mark.parametrize(
    ("temp_c", "metric", "imperial"),
    [((20, 27), "20–27 °C", "68–81 °F"), ((-2, 3), "-2 to 3 °C", "28–37 °F"), ((5, 5), "5 °C", "41 °F")],
)
def test_warmth(temp_c, metric, imperial):
    assert (ENGLISH.warmth(temp_c), AMERICAN.warmth(temp_c)) == (metric, imperial)


def test_volumes_go_from_quarts_to_cubic_feet():
    # A bag printed "8 qt (8.8 L)" and one printed "1.5 cu ft (42.5 L)": common practice, no source.
    assert AMERICAN.litres((8.8, 8.8)) == "8 dry qt"
    assert AMERICAN.litres((40, 42.5)) == "1.4–1.5 cu ft"
    assert ENGLISH.litres((0.04, 1.25)) == "0.04–1.2 l"
    assert ENGLISH.litres((12.4, 14)) == "12–14 l"


def test_chances_say_no_more_than_the_frost_dates_do():
    assert [ENGLISH.chance(share) for share in (None, 0.0, 0.02, 0.1, 0.474, 1.0)] == [
        "–",
        "none",
        "≤ 2 %",
        "10 %",
        "47 %",
        "≥ 98 %",
    ]
