from __future__ import annotations

import datetime

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from cropdata.agronomy import soil, sowing
from cropdata.agronomy.windows import Window, not_before, offset_window, sowing_window
from cropdata.errors import InputError, NoUsableEstimate

MAY_1 = datetime.date(2027, 5, 1)


def test_windows_count_weeks() -> None:
    assert sowing_window(MAY_1, 6, 8) == (datetime.date(2027, 3, 6), datetime.date(2027, 3, 20))
    assert offset_window(MAY_1, -2, 1) == (datetime.date(2027, 4, 17), datetime.date(2027, 5, 8))
    window = Window(MAY_1, datetime.date(2027, 5, 8))
    assert not_before(window, datetime.date(2027, 5, 15)) == (datetime.date(2027, 5, 15), datetime.date(2027, 5, 22))
    assert not_before(window, datetime.date(2027, 4, 1)) == window


def test_a_window_that_begins_later_keeps_its_end_or_a_fortnight() -> None:
    """1 May to 9 July: from 15 May on to the same end; from 1 July on to 15 July."""
    long = Window(MAY_1, datetime.date(2027, 7, 9))
    assert not_before(long, datetime.date(2027, 5, 15)) == (datetime.date(2027, 5, 15), long.last)
    assert not_before(long, datetime.date(2027, 7, 1)) == (datetime.date(2027, 7, 1), datetime.date(2027, 7, 15))


SOIL = soil.daily_from_monthly([0, 0, 2, 7, 13, 18, 21, 21, 17, 11, 6, 2])


@pytest.mark.parametrize("coldest_day", [15, 22, 29, 36])
def test_rounding_of_the_printed_means_does_not_throw_the_curve_about(coldest_day: int) -> None:
    """A plain yearly wave, its monthly means rounded to whole degrees: the curve through them stays within 1 °C of the
    wave, rises all spring, and is at 10 °C within four days of it.
    """
    days = [datetime.date(2001, 1, 1) + datetime.timedelta(days=number) for number in range(365)]
    wave = 10 - 11 * np.cos(2 * np.pi * (np.arange(365) + 0.5 - coldest_day) / 365)
    means = [round(float(wave[[day.month == month for day in days]].mean())) for month in range(1, 13)]
    curve = np.array([soil.daily_from_monthly(means)(day) for day in days])
    assert np.abs(curve - wave).max() < 1.0
    assert (np.diff(curve[60:170]) > 0).all()
    assert abs(int((curve[:200] >= 10).argmax()) - int((wave[:200] >= 10).argmax())) <= 4


def test_monthly_means_are_kept_and_the_curve_goes_round_the_year() -> None:
    days = [datetime.date(2027, 1, 1) + datetime.timedelta(days=number) for number in range(365)]
    temps = np.array([SOIL(day) for day in days])
    for month, mean in enumerate([0, 0, 2, 7, 13, 18, 21, 21, 17, 11, 6, 2], start=1):
        assert temps[[day.month == month for day in days]].mean() == pytest.approx(mean, abs=0.01)
    assert abs(temps[-1] - temps[0]) < 0.2 and np.abs(np.diff(temps)).max() < 0.5
    assert SOIL(datetime.date(2028, 12, 31)) == pytest.approx(SOIL(datetime.date(2027, 12, 31)))


def test_first_warm_date_holds_for_a_week() -> None:
    date = soil.first_warm_date(SOIL, 10, datetime.date(2027, 1, 1))
    assert date is not None and SOIL(date) >= 10 > SOIL(date - datetime.timedelta(days=1))
    assert soil.first_warm_date(SOIL, 30, datetime.date(2027, 1, 1)) is None
    eight_in_ten = soil.first_warm_date(SOIL, 10, datetime.date(2027, 1, 1), spread_c=2)
    assert eight_in_ten is not None and eight_in_ten > date
    estimate = soil.soil_from_air(np.full((2, 200), 12.0))
    assert estimate.shape == (2, 200) and estimate[:, -1] == pytest.approx(estimate[:, 0], rel=0.01)
    with pytest.raises(InputError, match="gap"):
        soil.soil_from_air([1.0, float("nan")])
    cold_snap = {datetime.date(2027, 4, 3)}
    date = soil.first_warm_date(lambda day: 0.0 if day in cold_snap else 12.0, 10, datetime.date(2027, 4, 1))
    assert date == datetime.date(2027, 4, 4)


def test_soil_needs_twelve_numbers() -> None:
    with pytest.raises(InputError, match="twelve numbers"):
        soil.daily_from_monthly([1, 2, 3])


@pytest.mark.parametrize(("plants", "rate"), [(1, 0.5), (12, 0.8), (40, 0.65), (300, 0.9), (5, 0.03)])
def test_seeds_needed_is_the_least_number_by_scipys_binomial(plants: int, rate: float) -> None:
    seeds = sowing.seeds_needed(plants, rate, 0.9)
    assert stats.binom.sf(plants - 1, seeds, rate) >= 0.9 > stats.binom.sf(plants - 1, seeds - 1, rate)


@pytest.mark.parametrize(("plants", "test"), [(1, (8, 10)), (12, (8, 10)), (12, (80, 100)), (50, (3, 10))])
def test_a_test_is_carried_through_by_scipys_beta_binomial(plants: int, test: tuple[int, int]) -> None:
    seeds = sowing.seeds_needed(plants, test, 0.9)
    a, b = test[0] + 0.5, test[1] - test[0] + 0.5
    assert stats.betabinom.sf(plants - 1, seeds, a, b) >= 0.9 - 1e-9
    assert stats.betabinom.sf(plants - 1, seeds - 1, a, b) < 0.9


def test_a_small_test_asks_for_more_seeds_than_a_large_one() -> None:
    assert sowing.seeds_needed(12, (8, 10)) > sowing.seeds_needed(12, (800, 1000)) >= sowing.seeds_needed(12, 0.8)


def test_sure_seed_needs_no_spare_and_no_plants_no_seed() -> None:
    assert sowing.seeds_needed(7, 1.0) == 7
    assert sowing.seeds_needed(0, 0.5) == 0


def test_cells_filled() -> None:
    assert sowing.cells_filled(0.8, 2) == pytest.approx(0.96)
    draws = stats.beta.rvs(8.5, 2.5, size=200_000, random_state=np.random.default_rng(1))
    assert sowing.cells_filled((8, 10), 2) == pytest.approx(float(np.mean(1 - (1 - draws) ** 2)), abs=0.002)


def test_no_estimate_where_none_germinated_or_the_cap_is_passed() -> None:
    with pytest.raises(NoUsableEstimate, match="none of 10 germinated.*dormancy"):
        sowing.seeds_needed(5, (0, 10))
    with pytest.raises(NoUsableEstimate, match="more than 100 seeds"):
        sowing.seeds_needed(90, 0.1, most=100)


@pytest.mark.parametrize(
    ("plants", "rate", "confidence"),
    [
        (-1, 0.5, 0.9),
        (1.5, 0.5, 0.9),
        (5, 0, 0.9),
        (5, 80, 0.9),
        (5, 0.5, 1),
        (5, (11, 10), 0.9),
        (5, (-1, 10), 0.9),
        (True, 0.5, 0.9),
    ],
)
def test_values_out_of_range_are_refused(plants: float, rate: object, confidence: float) -> None:
    with pytest.raises(InputError):
        sowing.seeds_needed(plants, rate, confidence)  # type: ignore[arg-type]


def test_measured_soil_gives_a_mean_year_and_its_spread() -> None:
    """Five invented years, each 1 °C warmer than the one before: the mean year is the middle one."""
    days = pd.date_range("2001-01-01", "2005-12-31")
    wave = 10 - 8 * np.cos(2 * np.pi * (days.day_of_year - 15) / 365)
    series = pd.Series(wave + (days.year - 2003), index=days)
    at, spread = soil.daily_from_measured(series.drop(series.index[100:108]))
    assert at(datetime.date(2027, 7, 15)) == pytest.approx(10 - 8 * np.cos(2 * np.pi * 181 / 365), abs=0.2)
    assert spread == pytest.approx(np.sqrt(2), abs=0.1)
    assert soil.daily_from_measured(series.loc["2003"])[1] is None
    with pytest.raises(InputError, match="never measured"):
        soil.daily_from_measured(series.loc["2003-01-01":"2003-06-30"])  # type: ignore[misc]
