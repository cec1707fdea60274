from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropdata.agronomy.frost import from_chances
from cropdata.errors import InputError

SPRING = from_chances({0.9: "04-17", 0.5: "05-01", 0.1: "05-15"})
AUTUMN = from_chances({0.1: "09-20", 0.5: "10-05", 0.9: "10-20"}, season="autumn")


@pytest.mark.parametrize(("chance", "date"), [(0.9, "04-17"), (0.5, "05-01"), (0.1, "05-15")])
def test_given_points_come_back_exactly(chance: float, date: str) -> None:
    assert SPRING.date_at(chance) == date
    assert SPRING.date_at(chance, 2024) == datetime.date.fromisoformat(f"2024-{date}")
    assert SPRING.chance_after(date) == pytest.approx(chance)
    assert SPRING.chance_before(f"2023-{date}") == pytest.approx(1 - chance)


def test_autumn_counts_the_other_way() -> None:
    assert AUTUMN.chance_before("09-20") == pytest.approx(0.1)
    assert AUTUMN.date_at(0.9) == "10-20"
    assert AUTUMN.chance_before("11-30") == 0.98  # held: read as 98 % or more


def test_between_points_it_is_the_normal_curve() -> None:
    """Half of the 10 % quantile's distance: standard normal table, z(0.26) = 0.643, z(0.10) = 1.2816."""
    days = (datetime.date.fromisoformat(f"2001-{SPRING.date_at(0.26)}") - datetime.date(2001, 5, 1)).days
    assert days == round(14 * 0.6433 / 1.2816)


def test_beyond_two_and_ninety_eight_percent_it_is_refused() -> None:
    for chance in (0.0199, 0.99, 0, 1):
        with pytest.raises(InputError, match="beyond 2 and 98 %"):
            SPRING.date_at(chance)
    assert SPRING.date_at(0.02) and SPRING.date_at(0.98)
    assert SPRING.chance_after("08-01") == pytest.approx(0.02) and SPRING.chance_after("02-01") == pytest.approx(0.98)


def test_extrapolated_tells_what_lies_past_the_print() -> None:
    assert SPRING.extrapolated(0.05) and SPRING.extrapolated(0.95)
    assert not SPRING.extrapolated(0.1) and not SPRING.extrapolated(0.3)


def test_two_points_are_enough_and_run_on_straight() -> None:
    curve = from_chances({0.5: "05-01", 0.1: "05-15"})
    assert curve.date_at(0.9) == "04-17"  # the mirror image


def test_southern_spring_and_a_season_over_new_year() -> None:
    south = from_chances({0.9: "09-10", 0.5: "09-25", 0.1: "10-12"})
    assert south.date_at(0.5, 2027) == datetime.date(2027, 9, 25)
    over = from_chances({0.1: "12-10", 0.5: "12-28", 0.9: "01-15"}, season="autumn")
    assert over.date_at(0.9, 2026) == datetime.date(2027, 1, 15)
    assert over.chance_before("01-15") == pytest.approx(0.9)
    assert over.chance_before("12-10") == pytest.approx(0.1)


def test_leap_day() -> None:
    curve = from_chances({0.9: "02-15", 0.5: "02-29", 0.1: "03-14"})
    assert curve.date_at(0.5, 2028) == datetime.date(2028, 2, 29)
    assert curve.date_at(0.5, 2027) == datetime.date(2027, 3, 1)
    assert curve.date_at(0.5) == "02-29"


@given(st.floats(0.02, 0.98), st.floats(0.02, 0.98))
def test_a_lower_chance_never_stands_at_an_earlier_date(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert SPRING.date_at(low, 2027) >= SPRING.date_at(high, 2027)  # type: ignore[operator]


@given(st.dates(datetime.date(2027, 1, 1), datetime.date(2027, 12, 31)))
def test_chances_add_up(date: datetime.date) -> None:
    assert SPRING.chance_after(date) + SPRING.chance_before(date) == pytest.approx(1)
    assert 0.02 - 1e-9 <= SPRING.chance_after(date) <= 0.98 + 1e-9


@pytest.mark.parametrize(
    "dates",
    [
        {0.1: "04-17", 0.5: "05-01", 0.9: "05-15"},  # the other convention
        {0.5: "05-01"},
        {},
        {0.9: "04-17", 1.5: "05-01"},
        {90: "04-17", 10: "05-15"},
        {0.9: "05-01", 0.1: "05-01"},
        {True: "04-01", 0.5: "05-01"},
    ],
)
def test_wrong_chances_name_both_conventions(dates: dict[float, str]) -> None:
    with pytest.raises(InputError, match=r"LATER frost.*EARLIER frost"):
        from_chances(dates)


@pytest.mark.parametrize("date", ["02-30", "13-01", "May 1", "", "2027", "5-1", None])
def test_a_date_that_is_none_is_named(date: object) -> None:
    with pytest.raises(InputError, match="is no date.*MM-DD"):
        from_chances({0.9: "04-17", 0.5: date})  # type: ignore[dict-item]


def test_an_unknown_season() -> None:
    with pytest.raises(InputError, match="allowed: spring or autumn"):
        from_chances({0.9: "04-17", 0.5: "05-01"}, season="fall")


def test_frozen() -> None:
    with pytest.raises(AttributeError, match="frozen"):
        SPRING.season = "autumn"
