from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from cropdata.experiments import power
from cropdata.experiments.permutation import holm, least_units, permutation_test, smallest_p, ways
from cropdata.experiments.waiting import bands, median_interval, scores, turnbull


@given(
    st.lists(st.tuples(st.integers(1, 12), st.booleans()), min_size=2, max_size=25).filter(
        lambda rows: any(came for _, came in rows)
    )
)
def test_exact_and_censored_days_give_scipys_curve(rows: list[tuple[int, bool]]) -> None:
    days = np.array([day for day, _ in rows], float)
    came = np.array([flag for _, flag in rows])
    curve = turnbull(days, np.where(came, days, np.inf))
    theirs = stats.ecdf(stats.CensoredData.right_censored(days, ~came)).cdf
    for day in np.unique(days[came]):
        assert curve.at(float(day))[0] == pytest.approx(float(theirs.evaluate(day)), abs=1e-5)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 8), st.integers(1, 5), st.booleans()), min_size=3, max_size=15))
def test_interval_curve_is_the_likelihoods_maximum(rows: list[tuple[int, int, bool]]) -> None:
    """No small shift of mass raises the likelihood (the condition of the maximum), by direct reckoning."""
    left = np.array([low for low, _, _ in rows], float)
    right = np.array([low + width if came else np.inf for low, width, came in rows], float)
    curve = turnbull(left, right)
    inside = (curve.left >= left[:, None]) & (curve.right <= right[:, None])
    gradient = (inside / (inside @ curve.mass)[:, None]).sum(axis=0)
    assert curve.mass.sum() == pytest.approx(1)
    assert gradient.max() <= 1.01 * len(rows)
    assert (curve.mass * np.abs(gradient - len(rows))).sum() < 0.01 * len(rows)


def test_median_interval_of_known_days() -> None:
    """Ten days known exactly: the interval runs from the 2nd to the 9th (table of the sign test, n = 10, 97.9 %)."""
    days = np.arange(1, 11, dtype=float)
    assert median_interval(days, days) == (2, 9)
    assert median_interval([1, 2, 3], [1, 2, 3]) == (0, float("inf"))
    assert median_interval(days, np.where(days > 6, np.inf, days))[1] == float("inf")


def test_scores_without_ties_are_ranks() -> None:
    days = np.array([3.0, 1.0, 2.0, 9.0])
    assert list(scores(days - 0.5, days)) == [1, -3, -1, 3]
    assert list(scores([0, 5], [5, np.inf])) == [-1, 1]
    assert list(scores([0, 0], [np.inf, np.inf])) == [0, 0]


@pytest.mark.parametrize(
    ("one", "other"), [([1, 2, 3, 4], [5, 6, 7, 8]), ([1, 5, 3], [2, 6, 4, 7]), ([1.5, 2.5], [0.5, 9.0])]
)
def test_two_groups_agree_with_scipys_exact_rank_test(one: list[float], other: list[float]) -> None:
    days = np.array([*one, *other])
    labels = np.array([0] * len(one) + [1] * len(other))
    values = scores(days - 0.1, days)
    if len(one) == len(other):  # with equal sizes the squared distance of means is the two-sided rank test
        assert permutation_test(values, labels)[0] == pytest.approx(
            stats.mannwhitneyu(one, other, method="exact").pvalue
        )
    ours, exact = permutation_test(values, labels)
    by_scipy = stats.permutation_test(
        (values[labels == 0], values[labels == 1]),
        lambda a, b: abs(np.mean(a) - np.mean(b)),
        alternative="greater",
        n_resamples=np.inf,
    ).pvalue
    assert exact and ours == pytest.approx(by_scipy)


def test_three_groups_by_plain_enumeration() -> None:
    values, labels = np.array([1.0, 2.0, 6.0, 7.0, 3.0, 9.0]), np.array([0, 0, 1, 1, 2, 2])

    def apart(deal: tuple[int, ...]) -> float:
        return sum(
            2 * (values[[i for i, g in enumerate(deal) if g == group]].mean() - values.mean()) ** 2
            for group in range(3)
        )

    deals = set(itertools.permutations(labels.tolist()))
    expected = sum(apart(deal) >= apart(tuple(labels)) - 1e-9 for deal in deals) / len(deals)
    assert permutation_test(values, labels)[0] == pytest.approx(expected)
    assert ways([2, 2, 2]) == len(deals) == 90


def test_within_rounds_only() -> None:
    """Three rounds of a pair: eight ways, so that the smallest p is a quarter."""
    values, labels, rounds = np.array([1.0, 2, 1, 2, 1, 2]), np.array([0, 1] * 3), np.array([0, 0, 1, 1, 2, 2])
    assert permutation_test(values, labels, rounds) == (pytest.approx(0.25), True)


def test_many_ways_are_drawn_and_the_seen_one_counts() -> None:
    rng = np.random.default_rng(5)
    values = np.concatenate([rng.normal(0, 1, 30), rng.normal(3, 1, 30)])
    p, exact = permutation_test(values, np.repeat([0, 1], 30))
    assert not exact and 0 < p < 0.001


def test_least_units() -> None:
    assert least_units(0.05, in_rounds=False) == 4 and least_units(0.05, in_rounds=True) == 6
    assert least_units(0.05 / 3, in_rounds=False) == 5 and least_units(0.05 / 3, in_rounds=True) == 7


def test_smallest_p_and_holm() -> None:
    assert smallest_p(3) == pytest.approx(0.10) and smallest_p(4) == pytest.approx(2 / 70)
    from statsmodels.stats.multitest import multipletests

    p = [0.04, 0.01, 0.03, 0.5]
    assert holm(p) == pytest.approx(list(multipletests(p, method="holm")[1]))


def test_no_bands_under_eight() -> None:
    assert bands([0.0] * 7, [1.0] * 7, [1.0]) is None
    low, high = bands(np.arange(10.0), np.arange(10.0) + 1, [5.0], draws=50)  # type: ignore[misc]
    assert 0 <= low[0] <= 0.5 <= high[0] <= 1


def test_power_against_a_plain_simulation() -> None:
    rng = np.random.default_rng(9)
    found = np.mean(
        [stats.mannwhitneyu(rng.normal(0, 1, 12), rng.normal(1.2, 1, 12)).pvalue <= 0.05 for _ in range(600)]
    )
    assert power.power_at(1.2, 1.0, 12) == pytest.approx(found, abs=0.06)


def test_detectable_and_needed_are_each_others_inverse() -> None:
    assert power.detectable(1.0, 3) == float("inf") and power.power_at(100, 1.0, 3) == 0
    least = power.detectable(1.0, 20)
    assert power.number_needed(least, 1.0) == pytest.approx(20, abs=2)
    assert power.number_needed(100, 1.0) == 4  # fewer than four against four can never reach 5 %
    assert power.number_needed(1.0, 1.0, share=0.5) == pytest.approx(2 * power.number_needed(1.0, 1.0), abs=1)
