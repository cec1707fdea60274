from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import fisher_exact
from statsmodels.stats.proportion import proportion_confint

from cropdata.errors import InputError
from cropdata.experiments import germination


@given(
    st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    st.sampled_from([0.8, 0.9, 0.95, 0.99]),
)
def test_intervals_are_statsmodels(test: tuple[int, int], confidence: float) -> None:
    for ours, theirs in (("exact", "beta"), ("wilson", "wilson")):
        expected = proportion_confint(*test, alpha=1 - confidence, method=theirs)
        assert germination.interval(*test, confidence, method=ours) == pytest.approx(expected, abs=1e-9)


def test_arrays_and_speed_of_shape() -> None:
    low, high = germination.interval([[0, 5], [10, 7]], 10)
    assert np.shape(low) == np.shape(high) == (2, 2) and np.asarray(high)[1, 0] == 1


@pytest.mark.parametrize(
    ("k", "n"),
    [
        (11, 10), (-1, 10), (0, 0), (1.5, 10), (5, np.inf), (np.inf, np.inf), (np.nan, 10), (5, np.nan), (5, 10**7),
        ("five", 10), ([1, 2], [10, 10, 10]), (None, 10),
    ],
)  # fmt: skip
def test_counts_that_are_none(k: float, n: float) -> None:
    with pytest.raises(InputError):
        germination.interval(k, n)


def test_other_arguments_out_of_range() -> None:
    with pytest.raises(InputError, match="confidence"):
        germination.interval(5, 10, 95)
    with pytest.raises(InputError, match="allowed: exact, wilson"):
        germination.interval(5, 10, method="wald")


def test_ten_seeds_give_an_interval_half_as_wide_as_the_scale() -> None:
    low, high = germination.interval(7, 10)
    assert 0.5 < float(high) - float(low) < 0.65


@pytest.mark.parametrize("rate", [0.05, 0.3, 0.5, 0.75, 0.9, 0.95])
@pytest.mark.parametrize("width", [0.1, 0.2, 0.3, 0.6])
def test_the_least_number_of_seeds_for_a_width(width: float, rate: float) -> None:
    """Counted up one seed at a time with statsmodels' intervals: the width does not fall evenly with the number."""
    for seeds in range(1, 1000):
        low, high = proportion_confint(int(rate * seeds + 0.5), seeds, method="beta")
        if high - low <= width:
            break
    assert germination.seeds_for_width(width, rate) == seeds


def test_the_least_number_of_seeds_is_bounded() -> None:
    assert germination.seeds_for_width(0.2, 0.05) == germination.seeds_for_width(0.2, 0.95) == 26
    with pytest.raises(InputError, match="more than 100000 seeds; allowed: a wider one"):
        germination.seeds_for_width(0.001)
    for width, rate in ((0, 0.5), (np.nan, 0.5), (0.2, 1), (0.2, np.nan), (20, 0.5)):
        with pytest.raises(InputError, match="0.2 for 20 points"):
            germination.seeds_for_width(width, rate)


def test_a_median_that_falls_on_a_count() -> None:
    """Cumulative 0, 2, 4, 15, 25, 38, 45, 50: half of 50 is the count of day 5 exactly, and no bracket is lost."""
    newly = np.diff([0, 0, 2, 4, 15, 25, 38, 45, 50, 50, 50])
    assert float(germination.time_to(0.5, range(1, 11), newly)) == 5
    found = germination.indices(range(1, 11), newly, 50)
    assert found.final_percent == 100 and float(found.t50_days) == 5


def test_indices_of_several_lots() -> None:
    found = germination.indices([1, 2, 3], [[0, 4, 0], [0, 0, 0], [2, 2, 2]], [10, 10, 10])
    assert list(found.final_percent) == [40, 0, 60]
    assert found.mean_days[0] == 2 and np.isnan(found.mean_days[1]) and found.mean_days[2] == 2
    assert list(found.speed) == pytest.approx([2, 0, 2 + 1 + 2 / 3])
    assert found.spread_days[2] == pytest.approx(np.sqrt(2 / 3))
    assert np.isnan(found.t50_days[1])
    for days, newly, sown in (
        ([2, 1], [1, 1], 5), ([0, 1], [1, 1], 5), ([1, 2], [4, 4], 5), ([1, 2], [1], 5), ([1, np.nan], [1, 1], 5),
        ([1, np.inf], [1, 1], 5), ([1, 2], [1, np.nan], 5), ([1, 2], [1, 1], np.inf), ([], [], 5), ([1], 1, 5),
    ):  # fmt: skip
        with pytest.raises(InputError):
            germination.indices(days, newly, sown)


def test_the_curve_finds_its_own_middle() -> None:
    days = np.arange(1, 16)
    cumulative = 80 / (1 + (6.5 / days) ** 7)
    assert germination.t50_by_curve(days, np.diff([0, *cumulative])) == pytest.approx(6.5, abs=0.05)
    assert germination.t50_by_curve([1, 2, 3], [0, 5, 0]) is None


TOLERANCES = [(90.0, 11.0, 4, 12.0), (90.0, 11.0, 2, 9.0)]


def test_replicates_of_a_hundred_by_the_regulation() -> None:
    assert germination.replicates_agree([84, 88, 92, 96], [100] * 4, TOLERANCES).agree
    off = germination.replicates_agree([83, 88, 93, 96], [100] * 4, TOLERANCES)
    assert not off.agree and off.allowed_percent == 12 and off.range_percent == 13
    assert germination.replicates_agree([85, 94], [100, 100], TOLERANCES).agree


def test_home_replicates_by_a_dispersion_test() -> None:
    few = germination.replicates_agree([5, 3], [5, 5], TOLERANCES)
    assert few.agree and few.allowed_percent is None and few.p_value is not None
    assert not germination.replicates_agree([24, 5], [25, 25], TOLERANCES).agree
    with pytest.raises(InputError):
        germination.replicates_agree([5], [10], TOLERANCES)


def test_the_dispersion_test_of_two_replicates_is_fishers() -> None:
    """Two replicates of the same size: dealing seeds again is Fisher's exact test (scipy)."""
    for good in ((10, 6), (12, 4), (9, 8)):
        found = germination.replicates_agree(good, [15, 15], TOLERANCES)
        expected = fisher_exact([good, [15 - count for count in good]]).pvalue
        assert found.p_value == pytest.approx(expected, abs=0.015)  # 10 000 draws
