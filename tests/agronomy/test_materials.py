"""Trays, mix, water, money, plastic and stay, held to hand reckoning, published tables and plain simulation."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from cropdata.agronomy import materials
from cropdata.agronomy.materials import Stay, StayFigure, longest_stay
from cropdata.errors import InputError


def test_a_begun_tray_counts_whole_and_arrays_are_broadcast() -> None:
    assert int(materials.trays_needed(72, 72)) == 1
    assert int(materials.trays_needed(73, 72)) == 2
    assert materials.trays_needed([0, 1, 100], [[50], [128]]).tolist() == [[0, 1, 2], [0, 1, 1]]


@pytest.mark.published
def test_mix_for_a_tray_by_the_ministrys_table() -> None:
    """Ontario, Growing Vegetable Transplants in Plug Trays, Table 1: 72 cells of 43 cc are 3.096 litres. University of
    Florida: less than 10 % settling is normal, so at most 3.44 litres loose.
    """
    filled = 72 * 43 / 1000
    low, high = materials.loose_mix_litres((filled, filled), (0.0, 0.10))
    assert low == pytest.approx(3.096) and high == pytest.approx(3.44)


def test_pressing_two_and_a_half_volumes_into_one_takes_two_and_a_half_volumes() -> None:
    low, high = materials.loose_mix_litres((4.0, 4.0), materials.share_lost_in_pressing((1.5, 2.5)))
    assert (low, high) == pytest.approx((6.0, 10.0))


def test_a_recipe_by_parts() -> None:
    """Three of peat to one of sand in 40 litres; the block mix of eight buckets in 16 litres."""
    assert materials.ingredient_litres(40, {"peat": 3, "sand": 1}) == {"peat": 30, "sand": 10}
    buckets = {"peat": 3, "sand": 2, "soil": 1, "compost": 2}
    assert materials.ingredient_litres(16, buckets) == {"peat": 6, "sand": 4, "soil": 2, "compost": 4}
    assert sum(materials.ingredient_litres(16, buckets, mixing_loss=0.2).values()) == pytest.approx(20)


def test_what_is_added_by_weight() -> None:
    assert materials.amendment_grams(25, 3.0) == 75  # 3 kg to the cubic metre


@pytest.mark.published
def test_water_for_dry_peat_by_the_definition_of_moisture() -> None:
    """Dry peat of 0.1 g per cm3 (University of Arkansas) at 60 % of its wet weight (University of Florida's target for
    filling is 50 to 60 %): water over water and peat must be 0.6.
    """
    low, high = materials.moistening_water_litres(1, (100, 100), 0, (50, 60))
    for water, share in ((low * 1000, 0.5), (high * 1000, 0.6)):
        assert water / (water + 100) == pytest.approx(share)
    # from 30 % on, what is there already is taken off; wet enough needs nothing
    assert materials.moistening_water_litres(10, (100, 100), 30, (60, 60))[0] == pytest.approx(
        1.5 - 100 * 10 * 3 / 7 / 1000
    )
    assert materials.moistening_water_litres(10, (100, 160), 70, (50, 60)) == (0.0, 0.0)


def test_one_part_of_water_to_three_of_mix() -> None:
    assert materials.wetting_water_litres((9, 12), (1 / 3, 1 / 3)) == pytest.approx((3, 4))


def test_seasons_served_are_those_of_pieces_broken_at_random() -> None:
    """Plain simulation: a piece breaks after each season with chance b, and is thrown out after its life."""
    random = np.random.default_rng(7)
    for life, broken in ((3, 0.3), (10, 0.05), (1, 0.4), (5, 1.0)):
        served = np.minimum(random.geometric(broken, 200_000), life)
        error = 4 * served.std() / np.sqrt(len(served)) + 1e-9
        assert float(materials.seasons_served(life, broken)) == pytest.approx(served.mean(), abs=error)
    assert float(materials.seasons_served(7, 0.0)) == 7


def test_pieces_bought_by_hand() -> None:
    """Ten trays, a fifth broken a year, three seasons' life: 10; 8 left, 2; 6.4 + 1.6 left, 2; the first batch thrown out."""
    assert materials.pieces_bought(10, 4, 3, 0.2) == (10, 2, 2, 8)
    assert materials.pieces_bought(10, 5, 2, 0.0) == (10, 0, 10, 0, 10)
    assert materials.pieces_bought(0, 3, 2, 0.5) == (0, 0, 0)


def test_buying_year_by_year_comes_to_the_average() -> None:
    many, years = 100_000, 400
    bought = sum(materials.pieces_bought(many, years, 4, 0.25)) / years
    assert bought == pytest.approx(many / float(materials.seasons_served(4, 0.25)), rel=0.01)


def test_cost_over_the_years_by_hand() -> None:
    """Ten trays of 1 to 3: at best 3 seasons with a fifth broken, 1 + 0.8 + 0.64 seasons served; at worst one season."""
    cost = materials.piece_cost(10, (1, 3), (1, 3), (0.2, 0.4))
    assert cost.first_year == (10, 30)
    assert cost.a_year == pytest.approx((10 / 2.44, 30))


def test_plastic_for_a_plant_by_hand() -> None:
    """A tray of 100 g with 50 plants a season for four seasons: half a gram a plant."""
    assert materials.plastic_grams_per_plant((100, 100), 50, (4, 4), (0, 0)) == pytest.approx((0.5, 0.5))
    assert materials.plastic_grams_per_plant((100, 200), 50, (1, 4), (0, 0)) == pytest.approx((0.5, 4.0))


KEPT = StayFigure(23, 4, 5, kept=True)
FIGURES = [StayFigure(43, 5, 7, kept=False), StayFigure(171, 8, 10, kept=False), KEPT]


@pytest.mark.parametrize(
    ("volume", "safe", "limit"),
    [
        (7, None, 7),  # too long for 43 ml is too long for 7; how short is safe nobody says
        (23, 5, 7),  # plants were kept five weeks in 23 ml
        (42, 5, 7),  # 42 ml is a cell of 43
        (100, 5, 10),
        (171, 8, 10),
        (500, 8, None),  # no statement says what is too long
    ],
)
def test_a_larger_cell_never_shortens_a_stay(volume: float, safe: float | None, limit: float | None) -> None:
    assert longest_stay(volume, FIGURES) == Stay(safe, limit)


def test_only_limits_that_better_evidence_contradicts_are_left_out() -> None:
    """Five weeks went well in 23 ml: "too long after 3" falls, "after 5" (171 ml) and "after 6" (430 ml) stay."""
    trade = [StayFigure(volume, None, weeks, kept=False) for volume, weeks in ((23, 3), (66, 4), (171, 5), (430, 6))]
    assert [longest_stay(volume, trade, went_well=5).limit_weeks for volume in (23, 171, 400, 500)] == [5, 5, 6, None]


def test_statements_against_each_other_are_told_and_the_shorter_is_the_safe_one() -> None:
    """As muskmelon: kept eight weeks in 50 ml without harm; in 280.8 ml two weeks were well, five too long."""
    kept = StayFigure(50, 2, 8, kept=True)
    assert longest_stay(66, [kept, StayFigure(280.8, 2, 5, kept=False)]) == Stay(2, 8, disagree=True)
    assert longest_stay(300, [kept, StayFigure(280.8, 2, 5, kept=False)]) == Stay(8, None)


def test_what_is_too_long_never_becomes_safe() -> None:
    """A limit that does not say what is not yet too long: nothing is known to be safe, in its own cell or a smaller one."""
    only_limit = StayFigure(102.5, None, 4, kept=False)
    assert longest_stay(66, [StayFigure(50, 2, 8, kept=True), only_limit]) == Stay(None, 8, disagree=True)
    assert longest_stay(102.5, [only_limit]) == Stay(None, 4)
    assert longest_stay(200, [only_limit]) == Stay(None, None)


def test_without_statements_nothing_is_known() -> None:
    assert longest_stay(43, []) == Stay(None, None)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: materials.trays_needed(-1, 72),
        lambda: materials.trays_needed(10, 0),
        lambda: materials.trays_needed(float("nan"), 72),
        lambda: materials.loose_mix_litres((2, 1)),
        lambda: materials.loose_mix_litres((1, 1), (0, 1)),
        lambda: materials.share_lost_in_pressing((0.5, 2)),
        lambda: materials.ingredient_litres(10, {}),
        lambda: materials.ingredient_litres(10, {"peat": -1, "sand": 2}),
        lambda: materials.moistening_water_litres(1, (100, 100), 0, (50, 100)),
        lambda: materials.seasons_served(0, 0.1),
        lambda: materials.seasons_served(3, 20),
        lambda: materials.pieces_bought(10, 3, 0, 0.1),
        lambda: materials.piece_cost(10, (3, 1), (1, 3), (0, 0)),
        lambda: materials.plastic_grams_per_plant((100, 100), 0, (1, 1), (0, 0)),
        lambda: longest_stay(0, []),
        lambda: longest_stay(float("nan"), []),
    ],
)
def test_a_number_that_cannot_be_one_is_refused(wrong: Callable[[], object]) -> None:
    with pytest.raises(InputError):
        wrong()
