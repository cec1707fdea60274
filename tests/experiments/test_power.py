"""Power against plain simulations that run the real scores and the real permutation test, seed by seed."""

from __future__ import annotations

import itertools
import math
from functools import partial

import numpy as np
import pytest

from cropdata.errors import InputError
from cropdata.experiments import power
from cropdata.experiments.permutation import permutation_test
from cropdata.experiments.power import Waiting, in_trays, shared_trays, singly
from cropdata.experiments.waiting import scores

TRIALS = 400


def found_by_hand(
    difference: float, waiting: Waiting, trays: list[tuple[int, int, int]], *, by_tray: bool, level: float, in_rounds: bool = False,
    tray_effect: bool = True, seed: int = 77,
) -> float:  # fmt: skip
    """Share of made-up trials in which the real test finds the difference. `trays`: (round, method, seeds) of each."""
    rng = np.random.default_rng(seed)
    found = 0
    for _ in range(TRIALS):
        left, right, method, tray, turn = [], [], [], [], []
        for number, (block, which, seeds) in enumerate(trays):
            effect = rng.normal(0, waiting.tray_spread * waiting.middle) if tray_effect else 0.0
            for _ in range(seeds):
                day = waiting.middle * math.exp(rng.normal(0, waiting.seed_spread)) + effect + difference * which
                came = rng.random() < waiting.share
                look = math.ceil(day / waiting.look) * waiting.look
                left.append(look - waiting.look if came else 99.0)
                right.append(look if came else math.inf)
                method.append(which)
                tray.append(number)
                turn.append(block)
        values, groups, rounds = scores(left, right), np.array(method), np.array(turn)
        if by_tray:
            values = np.array([values[np.array(tray) == number].mean() for number in range(len(trays))])
            groups, rounds = np.array([which for _, which, _ in trays]), np.array([block for block, _, _ in trays])
        found += permutation_test(values, groups, rounds if in_rounds else None, draws=600)[0] <= level
    return found / TRIALS


def near(one: float, other: float) -> bool:
    """Within four standard errors of the two simulations (ours has 200 trials at least)."""
    middle = min(max((one + other) / 2, 0.02), 0.98)
    return abs(one - other) <= 4 * math.sqrt(middle * (1 - middle) * (1 / TRIALS + 1 / 1000))


def test_seeds_dealt_one_by_one_of_which_many_never_come() -> None:
    """Twenty each, 60 % come, 2.03 days: a rank test of those that come alone would find it in four trials of five."""
    waiting = Waiting(8.0, 0.6)
    truth = found_by_hand(2.03, waiting, [(0, 0, 20), (0, 1, 20)], by_tray=False, level=0.05, tray_effect=False)
    ours = power.power_at(2.03, waiting, singly(20))
    assert near(ours, truth) and ours < 0.35


@pytest.mark.parametrize("level", [0.05, 0.05 / 3])
def test_trays_in_rounds(level: float) -> None:
    waiting = Waiting(7.5, 0.9)
    trays = [(turn, which, 8) for turn in range(7) for which in (0, 1)]
    truth = found_by_hand(2.0, waiting, trays, by_tray=True, level=level, in_rounds=True)
    assert near(power.power_at(2.0, waiting, in_trays(7, 8, rounds=True), level=level), truth)


def test_many_rounds_where_the_t_test_stands_in() -> None:
    waiting = Waiting(8.0, 0.8)
    trays = [(turn, which, 4) for turn in range(17) for which in (0, 1)]
    truth = found_by_hand(1.2, waiting, trays, by_tray=True, level=0.05, in_rounds=True)
    assert near(power.power_at(1.2, waiting, in_trays(17, 4, rounds=True)), truth)


@pytest.mark.parametrize(("number", "difference"), [(5, 2.0), (12, 1.3)])
def test_trays_dealt_freely(number: int, difference: float) -> None:
    """Five against five by every deal; twelve by the t test that stands in for so many."""
    waiting = Waiting(8.0, 0.85)
    trays = [(0, which, 6) for which in (0, 1) for _ in range(number)]
    truth = found_by_hand(difference, waiting, trays, by_tray=True, level=0.05)
    assert near(power.power_at(difference, waiting, in_trays(number, 6)), truth)


def test_unequal_numbers() -> None:
    waiting = Waiting(8.0, 0.9)
    truth = found_by_hand(3.5, waiting, [(0, 0, 3), (0, 1, 12)], by_tray=False, level=0.05, tray_effect=False)
    assert near(power.power_at(3.5, waiting, singly(3, 12)), truth)


def test_trays_that_hold_both_methods() -> None:
    """The tray's fate is both methods' fate; five seeds of each in four trays."""
    waiting = Waiting(8.0, 0.9)
    rng = np.random.default_rng(5)
    found = 0
    for _ in range(TRIALS):
        effect = np.repeat(rng.normal(0, 0.8, 4), 10)
        groups, tray = np.tile(np.repeat([0, 1], 5), 4), np.repeat(np.arange(4), 10)
        right = np.ceil(8 * np.exp(rng.normal(0, power.SEED_SPREAD, 40)) + effect + 1.6 * groups)
        left = right - 1
        never = rng.random(40) >= 0.9
        left[never], right[never] = 99, np.inf
        found += permutation_test(scores(left, right), groups, tray, draws=600)[0] <= 0.05
    assert near(power.power_at(1.6, waiting, shared_trays(4, 5)), found / TRIALS)


@pytest.mark.parametrize("number", [12, 50])
def test_seldom_looks_show_less(number: int) -> None:
    """Weekly looks leave three kinds of seed: first week, second, never; so many ties blunt the test."""
    daily, weekly = (power.power_at(1.5, Waiting(8.0, 0.9, look), singly(number)) for look in (1.0, 7.0))
    trays = [(0, 0, number), (0, 1, number)]
    truth = found_by_hand(1.5, Waiting(8.0, 0.9, 7.0), trays, by_tray=False, level=0.05, tray_effect=False)
    assert near(weekly, truth) and weekly < daily - 0.15


def test_detectable_is_found_with_the_power_and_less_is_not() -> None:
    waiting, layout = Waiting(8.0, 0.9), in_trays(6, 5, rounds=True)
    least = power.detectable(waiting, layout)
    assert power.power_at(least, waiting, layout, seed=2) == pytest.approx(0.8, abs=0.05)
    assert power.power_at(0.8 * least, waiting, layout, seed=2) < 0.75


def test_where_nothing_can_be_detected() -> None:
    assert power.detectable(Waiting(8.0), singly(3)) == math.inf  # smallest p 2/20
    assert power.power_at(100, Waiting(8.0), singly(3)) == 0
    assert power.detectable(Waiting(8.0), singly(3, 3), level=0.1) < math.inf
    assert power.detectable(Waiting(8.0, 0.2), singly(10)) == math.inf  # two of ten come: no lateness shows
    assert power.detectable(Waiting(8.0, 0.0), singly(20)) == math.inf
    assert power.detectable(Waiting(8.0), in_trays(5, 8, rounds=True)) == math.inf  # 2/32
    # Seeds that all come on one day: the least that shows is a look or so, and the search ends.
    assert power.detectable(Waiting(8.0, seed_spread=0.0), singly(10)) <= 1.05


def test_number_needed_is_the_first_that_is_enough() -> None:
    waiting = Waiting(7.5, 0.93)
    for arrangement in (partial(in_trays, seeds=8, rounds=True), partial(in_trays, seeds=8), singly):
        number = power.number_needed(2.0, waiting, arrangement)
        assert power.power_at(2.0, waiting, arrangement(int(number)), seed=3) > 0.77
        assert power.power_at(2.0, waiting, arrangement(int(number) - 1), seed=3) < 0.83
    assert power.number_needed(50, Waiting(8.0)) == 4  # fewer than four against four can never reach 5 %
    assert power.number_needed(50, Waiting(8.0), partial(in_trays, seeds=9, rounds=True)) == 6
    assert (
        power.number_needed(2, Waiting(8.0, 0.1)) == math.inf and power.number_needed(2, Waiting(8.0, 0.0)) == math.inf
    )
    assert power.number_needed(0.05, Waiting(8.0, 0.8)) == math.inf


def test_figures_that_are_none() -> None:
    for waiting in (
        Waiting(0.0),
        Waiting(math.nan),
        Waiting(-1.0),
        Waiting(8.0, 2.0),
        Waiting(8.0, 0.5, 0.0),
        Waiting(8.0, seed_spread=math.nan),
    ):
        with pytest.raises(InputError):
            power.detectable(waiting, singly(10))
    for difference, call in itertools.product((-1.0, math.nan, math.inf), (power.power_at, power.number_needed)):
        with pytest.raises(InputError):
            call(difference, Waiting(8.0), *((singly(8),) if call is power.power_at else ()))  # type: ignore[operator]
    with pytest.raises(InputError):
        power.number_needed(0.0, Waiting(8.0))
