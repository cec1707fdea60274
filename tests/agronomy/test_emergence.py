"""Rate interpolation on a table made up for the purpose; expectations reckoned by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropdata.agronomy.emergence import accumulate, bound_at, days_at, emergence_table, outside_at, percent_at
from cropdata.errors import InputError

TABLE = emergence_table([5, 10, 15, 20, 30, 35], [np.inf, 40, 20, 10, 8, np.inf])


def test_printed_points_come_back_exactly() -> None:
    assert list(days_at([10, 15, 20, 30], TABLE)) == [40, 20, 10, 8]
    assert days_at(5, TABLE) == np.inf


def test_between_points_the_rate_is_straight() -> None:
    # half-way between 1/20 and 1/10 a day lies 0.075 a day
    assert days_at(17.5, TABLE) == pytest.approx(1 / 0.075)


def test_beside_no_emergence_only_a_bound_is_given() -> None:
    assert np.isnan(days_at(7, TABLE)) and bound_at(7, TABLE) == 40
    assert np.isnan(days_at(33, TABLE)) and bound_at(33, TABLE) == 8
    assert np.isnan(bound_at(17, TABLE))


def test_outside_the_tested_span_nothing_is_answered() -> None:
    assert np.isnan(days_at([4.9, 35.1, np.nan], TABLE)).all()
    assert list(outside_at([4.9, 5, 35, 35.1, np.nan], TABLE)) == [True, False, False, True, True]


def test_shape_is_kept() -> None:
    assert days_at(np.full((2, 3), 15), TABLE).shape == (2, 3)


@given(st.floats(10, 30))
def test_warmer_is_never_slower_below_the_optimum_and_days_stay_between_neighbours(temp: float) -> None:
    days = float(days_at(temp, TABLE))
    assert 8 <= days <= 40
    assert float(days_at(min(temp + 0.5, 30), TABLE)) <= days + 1e-9


@pytest.mark.parametrize(
    ("temps", "days", "message"),
    [
        ([10], [5], "two or more"),
        ([10, 10], [5, 6], "twice"),
        ([10, 20], [5, 0], "above zero"),
        ([10, 20], [5, np.nan], "above zero"),
        ([10, 20], [5], "as many"),
    ],
)
def test_a_table_that_is_none_is_refused(temps: list[float], days: list[float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        emergence_table(temps, days)


def test_percent_is_silent_beside_untested_points() -> None:
    tested, percent = [10, 20, 30], [np.nan, 80, 40]
    assert percent_at(25, tested, percent) == 60
    assert np.isnan(percent_at(15, tested, percent)) and np.isnan(percent_at(31, tested, percent))


def test_accumulate_counts_days_to_a_full_sum() -> None:
    temps = np.full(10, 20.0)
    assert accumulate(temps, lambda t: np.full_like(t, 0.25)) == 3  # 4 days of a quarter: index 3
    assert accumulate(temps, np.full(10, 0.1)) == 9
    assert accumulate(temps, np.full(10, 0.05)) == -1
    assert list(accumulate(np.full((2, 10), 20.0), np.array([[0.5], [0.2]]))) == [1, 4]
    assert accumulate(np.array([]), np.array([])) == -1


@pytest.mark.parametrize(
    ("temps", "rates"), [([1.0, np.nan], [0.1, 0.1]), ([1.0, 2.0], [0.1, np.nan]), ([1.0, 2.0], [0.1, -0.1])]
)
def test_accumulate_refuses_gaps(temps: list[float], rates: list[float]) -> None:
    with pytest.raises(InputError):
        accumulate(temps, rates)
