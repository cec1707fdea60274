"""Cells to sow with several seeds each: exact against scipy's distributions and against quadrature of the posterior."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from cropdata.agronomy.sowing import cells_needed, seeds_needed
from cropdata.errors import InputError, NoUsableEstimate


@pytest.mark.published
@pytest.mark.parametrize(
    ("plants", "rate", "seeds", "field"), [(24, 0.7, 2, 1.0), (50, 0.55, 3, 0.9), (1, 0.2, 1, 1.0)]
)
def test_a_known_rate_by_scipys_binomial(plants: int, rate: float, seeds: int, field: float) -> None:
    cells = cells_needed(plants, rate, seeds, 0.9, field=field)
    filled = 1 - (1 - rate * field) ** seeds
    assert stats.binom.sf(plants - 1, cells, filled) >= 0.9 > stats.binom.sf(plants - 1, cells - 1, filled)


@pytest.mark.published
@pytest.mark.parametrize(("test", "seeds", "field"), [((7, 10), 2, 1.0), ((3, 8), 3, 0.8), ((19, 20), 1, 1.0)])
def test_a_test_by_quadrature_over_its_posterior(test: tuple[int, int], seeds: int, field: float) -> None:
    after = stats.beta(test[0] + 0.5, test[1] - test[0] + 0.5)

    def chance(cells: int) -> float:
        def given(rate: float) -> float:
            return float(stats.binom.sf(23, cells, 1 - (1 - rate * field) ** seeds) * after.pdf(rate))

        return float(integrate.quad(given, 0, 1, limit=400, points=[0.05, 0.5, 0.95])[0])

    cells = cells_needed(24, test, seeds, 0.9, field=field)
    assert chance(cells) >= 0.9 - 1e-7 and chance(cells - 1) < 0.9 + 1e-7


@pytest.mark.published
@pytest.mark.parametrize(("plants", "seeds", "cells"), [(30, 3, 39), (300, 5, 364), (30, 2, 42)])
def test_a_block_that_crumbles_loses_all_its_seeds(plants: int, seeds: int, cells: int) -> None:
    """85 of 100 blocks hold, whatever is in them. Onion and tomato (7 CFR 201.31: 70 and 75 %), counted by scipy's binomial."""
    rate = 0.7 if plants == 300 else 0.75
    given = 0.85 * (1 - (1 - rate) ** seeds)
    counted = next(n for n in range(plants, 1000) if stats.binom.sf(plants - 1, n, given) >= 0.9)
    assert cells_needed(plants, rate, seeds, held=0.85) == counted == cells


def test_a_share_of_cells_held_by_simulation_of_a_tested_lot() -> None:
    """Seven of ten germinated: rate drawn from its posterior, seeds from the rate, cells lost at random afterwards."""
    cells = cells_needed(24, (7, 10), 2, field=0.95, held=0.9)
    random = np.random.default_rng(5)
    rate = random.beta(7.5, 3.5, 100_000)[:, None]
    chances = []
    for number in (cells, cells - 1):
        filled = random.binomial(2, rate * 0.95, (100_000, number)) > 0
        chances.append(((filled & (random.random(filled.shape) < 0.9)).sum(axis=1) >= 24).mean())
    assert chances[0] >= 0.9 - 0.004 and chances[1] < 0.9 + 0.004  # four standard errors
    with pytest.raises(InputError, match="share that comes through"):
        cells_needed(24, 0.7, 2, held=1.2)


@pytest.mark.parametrize("germination", [0.75, (7, 10), (1, 12)])
def test_one_seed_a_cell_is_a_seed_a_cell(germination: float | tuple[int, int]) -> None:
    for field in (1.0, 0.85):
        expected = seeds_needed(24, germination, field=field)
        assert cells_needed(24, germination, 1, field=field) == expected


def test_more_seeds_a_cell_need_fewer_cells_down_to_the_plants_wanted() -> None:
    cells = [cells_needed(24, (7, 10), seeds) for seeds in (1, 2, 3, 6, 20)]
    assert cells == sorted(cells, reverse=True) and cells[-1] >= 24


def test_nothing_wanted_needs_nothing_and_nonsense_is_refused() -> None:
    assert cells_needed(0, 0.5, 2) == 0
    for seeds in (0, 1.5, -1):
        with pytest.raises(InputError, match="seeds per cell"):
            cells_needed(10, 0.5, seeds)  # type: ignore[arg-type]
    with pytest.raises(NoUsableEstimate):
        cells_needed(10, (0, 10), 2)
    with pytest.raises(NoUsableEstimate):
        cells_needed(100, 0.0001, 1, most=1000)
