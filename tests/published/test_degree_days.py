"""Degree-days against printed outputs.

Sources: example tables of the degday package's readme (Lyons; methods of the University of California Statewide
IPM, horizontal cut-off; station Esparto, °F), and the examples of the trenchR package's degree_days (°C).
"""

from __future__ import annotations

import pytest

from cropdata.agronomy.heat import degree_days

pytestmark = pytest.mark.published

EXAMPLES = [
    ("single triangle", 38, 55, None, 55, 93.9, 0),  # esparto_2020-01-01
    ("single sine", 38, 55, None, 55, 93.9, 0),  # esparto_2020-01-01
    ("double triangle", 38, 55, 36, 55, 93.9, 0),  # esparto_2020-01-01
    ("double sine", 38, 55, 36, 55, 93.9, 0),  # esparto_2020-01-01
    ("single triangle", 36, 67, None, 55, 93.9, 2.32),  # esparto_2020-01-02
    ("single sine", 36, 67, None, 55, 93.9, 3.31),  # esparto_2020-01-02
    ("double triangle", 36, 67, 33, 55, 93.9, 2.22),  # esparto_2020-01-02
    ("double sine", 36, 67, 33, 55, 93.9, 3.23),  # esparto_2020-01-02
    ("single triangle", 33, 59, None, 55, 93.9, 0.31),  # esparto_2020-01-03
    ("single sine", 33, 59, None, 55, 93.9, 0.68),  # esparto_2020-01-03
    ("double triangle", 33, 59, 37, 55, 93.9, 0.34),  # esparto_2020-01-03
    ("double sine", 33, 59, 37, 55, 93.9, 0.71),  # esparto_2020-01-03
    ("single triangle", 37, 59, None, 55, 93.9, 0.36),  # esparto_2020-01-04
    ("single sine", 37, 59, None, 55, 93.9, 0.74),  # esparto_2020-01-04
    ("double triangle", 37, 59, 38, 55, 93.9, 0.37),  # esparto_2020-01-04
    ("double sine", 37, 59, 38, 55, 93.9, 0.75),  # esparto_2020-01-04
    ("single triangle", 38, 63, None, 55, 93.9, 1.28),  # esparto_2020-01-05
    ("single sine", 38, 63, None, 55, 93.9, 1.99),  # esparto_2020-01-05
    ("double triangle", 38, 63, 36, 55, 93.9, 1.23),  # esparto_2020-01-05
    ("double sine", 38, 63, 36, 55, 93.9, 1.95),  # esparto_2020-01-05
    ("single triangle", 36, 58, None, 55, 93.9, 0.2),  # esparto_2020-01-06
    ("single sine", 36, 58, None, 55, 93.9, 0.48),  # esparto_2020-01-06
    ("double triangle", 36, 58, 30, 55, 93.9, 0.18),  # esparto_2020-01-06
    ("double sine", 36, 58, 30, 55, 93.9, 0.45),  # esparto_2020-01-06
    ("single sine", 7, 14, None, 12, 33, 0.47),  # trenchr_1
    ("single triangle", 7, 14, None, 12, 33, 0.29),  # trenchr_2
]


@pytest.mark.parametrize(("method", "low", "high", "following", "lower", "upper", "printed"), EXAMPLES)
def test_printed_degree_days(
    method: str, low: float, high: float, following: float | None, lower: float, upper: float, printed: float
) -> None:
    found = float(degree_days(low, high, lower, upper, method=method, next_minimum=following))
    assert found == pytest.approx(printed, abs=0.0051)


def test_how_many_were_checked() -> None:
    assert len(EXAMPLES) == 26
