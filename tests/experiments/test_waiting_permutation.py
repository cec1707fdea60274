from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from cropdata.experiments.permutation import (
    count_deals,
    every_deal,
    holm,
    least_units,
    lowest_p,
    permutation_test,
    ways,
)
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


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 4), st.booleans()), min_size=1, max_size=20))
def test_scores_count_who_came_surely_before_and_after(rows: list[tuple[int, int, bool]]) -> None:
    """By looking at every two seeds; an open end is later than any look, equal known days are ties."""
    spans = [(float(low), float(low + width) if came else float("inf")) for low, width, came in rows]

    def before(one: tuple[float, float], other: tuple[float, float]) -> bool:
        return one[1] <= other[0] and not (one == other and one[0] == one[1])

    expected = [sum(before(other, one) - before(one, other) for other in spans) for one in spans]
    assert list(scores(*zip(*spans, strict=True))) == expected


def test_scores_of_very_many_seeds() -> None:
    """Sixty thousand seeds: every pair at once would need gigabytes. By ranks: 2 rank - n - 1."""
    days = np.random.default_rng(1).permutation(60_000).astype(float)
    assert (scores(days, days + 1) == 2 * (days + 1) - 60_001).all()


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


@pytest.mark.parametrize(
    ("groups", "rounds"),
    [
        ([0, 0, 0, 1, 1, 1], None),
        ([0, 0, 0, 1, 1, 1, 1, 1], None),
        ([0, 1, 0, 1, 0, 1, 0, 1], [0, 0, 1, 1, 2, 2, 3, 3]),
        ([0, 1, 1, 0, 1, 1, 0, 0, 1], [0, 0, 0, 1, 1, 1, 2, 2, 2]),
        ([0, 1, 0, 0, 1, 1], [0, 0, 1, 1, 2, 2]),
        ([0, 0, 1, 1], [0, 0, 1, 1]),
    ],
)
def test_lowest_p_is_never_undercut_and_is_reached(groups: list[int], rounds: list[int] | None) -> None:
    """The test itself on the outcome that is farthest apart: everything of one group later, round by round."""
    labels, blocks = np.array(groups), None if rounds is None else np.array(rounds)
    found = [
        permutation_test(sign * (100.0 * labels + np.arange(labels.size)) ** power, labels, blocks)[0]
        for sign in (1, -1)
        for power in (1, 3)
    ]
    assert min(found) == pytest.approx(lowest_p(labels, blocks))


def test_unequal_groups_reach_half_of_what_was_thought() -> None:
    """Three against forty: one deal of 12 341 is the farthest apart, none mirrors it."""
    labels = np.repeat([0, 1], [3, 40])
    assert lowest_p(labels) == pytest.approx(1 / 12_341)
    assert lowest_p(np.array([0, 1])) == 1 and lowest_p(np.array([0, 0, 1])) == pytest.approx(1 / 3)


def test_every_deal_is_dealt_once_and_within_rounds() -> None:
    labels, rounds = np.array([0, 1, 2, 0, 1, 1]), np.array([0, 0, 0, 1, 1, 1])
    rows = every_deal(labels, rounds)
    assert len(rows) == count_deals(labels, rounds) == 6 * 3 == len({tuple(row) for row in rows.tolist()})
    assert all(sorted(row[:3]) == [0, 1, 2] and sorted(row[3:]) == [0, 1, 1] for row in rows.tolist())


def test_holm() -> None:
    from statsmodels.stats.multitest import multipletests

    p = [0.04, 0.01, 0.03, 0.5]
    assert holm(p) == pytest.approx(list(multipletests(p, method="holm")[1]))


def test_no_bands_under_eight() -> None:
    assert bands([0.0] * 7, [1.0] * 7, [1.0]) is None
    low, high = bands(np.arange(10.0), np.arange(10.0) + 1, [5.0], draws=50)  # type: ignore[misc]
    assert 0 <= low[0] <= 0.5 <= high[0] <= 1


def test_bands_draw_trays_where_seeds_share_their_fate() -> None:
    """Two trays, one all early and one all late: the share by day 5 is 0, a half or 1, so the band is the whole scale."""
    left = np.repeat([1.0, 8.0], 10)
    trays = np.repeat([4, 7], 10)
    low, high = bands(left, left + 1, [5.0], trays=trays, draws=200)  # type: ignore[misc]
    assert (low[0], high[0]) == (0, 1)
    low, high = bands(left, left + 1, [5.0], trays=np.zeros(20), draws=200)  # type: ignore[misc]
    assert 0.2 < low[0] < 0.5 < high[0] < 0.8  # a single tray: its seeds
