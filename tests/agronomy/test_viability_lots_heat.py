from __future__ import annotations

import datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from cropdata.agronomy import emergence, heat, lots, sowing, viability
from cropdata.errors import InputError, NoUsableEstimate

K = {"ke": 8.0, "cw": 4.5, "ch": 0.0329, "cq": 0.000478}


def test_drier_and_colder_keeps_longer_and_inverses_agree() -> None:
    days = float(viability.days_until(95, 80, **K, moisture_percent=8, temp_c=15))
    assert viability.viability_after(95, **K, moisture_percent=8, temp_c=15, days=days) == pytest.approx(80)
    assert viability.moisture_for(95, 80, **K, temp_c=15, days=days) == pytest.approx(8)
    assert viability.days_until(95, 80, **K, moisture_percent=6, temp_c=15) > days
    assert viability.days_until(95, 80, **K, moisture_percent=8, temp_c=5) > days
    assert viability.days_until(80, 95, **K, moisture_percent=8, temp_c=5) == 0
    assert np.isnan(viability.moisture_for(95, 80, **K, temp_c=15, days=1e9))


def test_arrays_series_and_gaps() -> None:
    out = viability.viability_after(
        95, **K, moisture_percent=[6.0, 8.0, np.nan], temp_c=10, days=pd.Series([1000, 1000, 1000])
    )
    assert np.shape(out) == (3,) and np.isnan(np.asarray(out)[2]) and np.asarray(out)[0] > np.asarray(out)[1]


@pytest.mark.parametrize("initial", [0, 100, -1, 120])
def test_an_initial_viability_without_a_probit_is_refused_with_advice(initial: float) -> None:
    with pytest.raises(InputError, match=r"no probit.*99\.5"):
        viability.viability_after(initial, **K, moisture_percent=8, temp_c=10, days=10)


@pytest.mark.parametrize(("moisture", "temp"), [(4.9, 10), (15.1, 10), (8, -1), (8, 51)])
def test_outside_the_known_regime_it_is_refused(moisture: float, temp: float) -> None:
    with pytest.raises(InputError, match="not known to hold"):
        viability.viability_after(95, **K, moisture_percent=moisture, temp_c=temp, days=10)


def test_isotherm_limits() -> None:
    assert float(viability.equilibrium_moisture(50, 20, 40)) < float(viability.equilibrium_moisture(50, 20, 2))
    for bad in ((5, 20, 2), (75, 20, 2), (50, 45, 2), (50, 5, 40)):
        with pytest.raises(InputError, match="not known to hold"):
            viability.equilibrium_moisture(*bad)


def test_a_printed_life_is_a_band() -> None:
    low, high = viability.life_band(4, 4, 4, start_percent=90)
    assert float(low) == pytest.approx(45) and float(high) == pytest.approx(72)
    assert float(viability.life_band(0, 3, 5)[0]) == pytest.approx(95)


def test_prior_is_weak_and_two_humped_and_the_update_is_exact() -> None:
    prior = lots.prior_from_age(2, 3, 5)
    assert len(prior.share) == 2 and all(a + b <= 8 for a, b in zip(prior.alpha, prior.beta, strict=True))
    after = lots.updated(prior, 7, 10)

    def density(rate: float) -> float:
        mixed = sum(
            s * stats.beta.pdf(rate, a, b) for s, a, b in zip(prior.share, prior.alpha, prior.beta, strict=True)
        )
        return float(mixed * stats.binom.pmf(7, 10, rate))

    total = integrate.quad(density, 0, 1)[0]
    mean = integrate.quad(lambda rate: rate * density(rate), 0, 1)[0] / total
    above = integrate.quad(density, 0.75, 1)[0] / total
    assert after.mean == pytest.approx(mean, abs=1e-6)
    assert after.chance_above(0.75) == pytest.approx(above, abs=1e-6)
    low, high = after.interval(0.9)
    assert integrate.quad(density, low, high)[0] / total == pytest.approx(0.9, abs=1e-6)


def test_where_age_and_test_disagree_the_test_is_used() -> None:
    odd = lots.lot_estimate(age_years=1, life=(4, 6), test=(0, 40), minimum_percent=80)
    assert odd.agree is False and odd.mean == pytest.approx(0.5 / 41)
    fine = lots.lot_estimate(age_years=1, life=(4, 6), test=(9, 10), minimum_percent=80)
    assert fine.agree is True and fine.prior_mean is not None and fine.low < fine.mean < fine.high < 1
    assert fine.chance_above_minimum is not None and 0 < fine.chance_above_minimum < 1


def test_nine_of_nine_is_not_a_hundred_percent() -> None:
    alone = lots.lot_estimate(test=(9, 9))
    assert alone.mean == pytest.approx(9.5 / 10) and alone.high < 1 and alone.low < 0.9
    with pytest.raises(InputError, match="neither an age"):
        lots.lot_estimate()


def test_old_lots_are_expected_to_be_worse_and_less_sure() -> None:
    young, old = lots.prior_from_age(1, 3, 5), lots.prior_from_age(6, 3, 5)
    assert young.mean > old.mean and old.share[1] > young.share[1]


def test_field_losses_are_carried_through_exactly() -> None:
    a, b, field, plants = 8.5, 2.5, 0.6, 12
    seeds = sowing.seeds_needed(plants, (8, 10), 0.9, field=field)

    def chance(number: int) -> float:
        return float(
            integrate.quad(lambda p: stats.binom.sf(plants - 1, number, p * field) * stats.beta.pdf(p, a, b), 0, 1)[0]
        )

    assert chance(seeds) >= 0.9 - 1e-7 > chance(seeds - 1) - 1e-7
    assert sowing.seeds_needed(plants, 0.8, 0.9, field=field) == sowing.seeds_needed(plants, 0.48, 0.9)
    with pytest.raises(InputError, match="share that comes through"):
        sowing.seeds_needed(plants, 0.8, field=0)


def test_cells_and_thinning() -> None:
    assert sowing.seeds_per_cell(0.95, 0.8) == 2  # 1 - 0.2^2 = 0.96
    assert sowing.thinned_per_cell(0.8, 2) == pytest.approx(1.6 - 0.96)
    with pytest.raises(NoUsableEstimate, match="more than 20 seeds a cell"):
        sowing.seeds_per_cell(0.99, 0.05)


def test_many_packets_at_once() -> None:
    each = sowing.seeds_needed_each([[12, 20]], [[8], [0]], 10)
    assert each.shape == (2, 2)
    assert each[0, 0] == sowing.seeds_needed(12, (8, 10)) and each[1, 0] == -1


def test_degree_days_shape_and_gaps() -> None:
    out = heat.degree_days([[10.0, np.nan]], [[20.0, 20.0]], 10, 30)
    assert out.shape == (1, 2) and out[0, 0] == pytest.approx(5) and np.isnan(out[0, 1])
    with pytest.raises(InputError, match="next day's minimum"):
        heat.degree_days(10, 20, 10, method="double sine")
    with pytest.raises(InputError, match="unknown method"):
        heat.degree_days(10, 20, 10, method="triple")
    with pytest.raises(InputError, match="above its maximum"):
        heat.degree_days(21, 20, 10)


@given(st.floats(-10, 20), st.floats(0, 25), st.floats(0, 15), st.floats(5, 30))
def test_the_sine_is_the_integral_of_the_sine(low: float, swing: float, lower: float, gap: float) -> None:
    """Against scipy's quadrature of the same wave, cut at both thresholds."""
    high, upper = low + swing, lower + gap
    hours = np.linspace(0, 2 * np.pi, 4001)
    wave = (high + low) / 2 + swing / 2 * np.sin(hours)
    numeric = integrate.trapezoid(np.clip(wave, lower, upper) - lower, hours) / (2 * np.pi)
    assert float(heat.degree_days(low, high, lower, upper)) == pytest.approx(numeric, abs=2e-3)


def test_harvest_window() -> None:
    window = heat.harvest_window(datetime.date(2027, 5, 1), 60, 80)
    assert window == (datetime.date(2027, 6, 30), datetime.date(2027, 7, 20))


TABLE = emergence.emergence_table([5, 10, 15, 20, 30, 35], [np.inf, 40, 20, 10, 8, np.inf])


def test_a_steady_day_is_the_table() -> None:
    steady = emergence.day_and_night(20, 20)
    assert steady.shape == (24,)
    fewest, most = emergence.days_under(steady, TABLE)
    assert float(fewest) == float(most) == pytest.approx(10)


def test_a_mat_by_day_and_a_cold_night() -> None:
    """Twelve hours at 20 °C (1/10 a day) and twelve at 10 °C (1/40): mean rate 0.0625, sixteen days."""
    square = emergence.day_and_night(10, 20, shape="square", day_hours=12)
    fewest, most = emergence.days_under(square, TABLE)
    assert float(fewest) == float(most) == pytest.approx(16)
    cold = emergence.days_under(emergence.day_and_night(7, 20, shape="square", day_hours=12), TABLE)
    assert float(cold[0]) < float(cold[1]) == pytest.approx(20)  # the cold half gives between something and nothing
    assert np.isnan(emergence.days_under([20.0, np.nan], TABLE)).all()
    assert float(emergence.days_under([2.0, 2.0], TABLE)[1]) == np.inf


def test_the_sine_swings_between_its_ends() -> None:
    wave = emergence.day_and_night([10.0, 12.0], 20)
    assert wave.shape == (2, 24) and wave.min() >= 10 and wave.max() <= 20
    assert wave.mean(axis=-1) == pytest.approx([15, 16])
    for bad in ({"shape": "saw"}, {"shape": "square", "day_hours": 30}):
        with pytest.raises(InputError):
            emergence.day_and_night(10, 20, **bad)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="swap"):
        emergence.day_and_night(20, 10)


def test_thermal_days_and_practical_minimum_and_giving_up() -> None:
    assert list(emergence.thermal_days([5, 10, 20, 40], 5, 100, 30)) == pytest.approx(
        [np.inf, 20, 100 / 15, np.nan], nan_ok=True
    )
    assert emergence.practical_minimum(TABLE, [10, 15, 20, 30], [50, 70, 90, 80]) == 20  # 15 °C: 78 % of the best
    assert emergence.practical_minimum(TABLE, [10, 15, 20, 30], [90, 90, 90, 90]) == 20  # 15 °C: 20 days, over twice 8
    assert emergence.give_up_day(18.2, prescribed_day=14, pretreatment_days=7) == 28  # 14 + 7 is later than 18.2
    assert emergence.give_up_day(30, prescribed_day=None) == 37
