from __future__ import annotations

import pytest

from cropdata.errors import InputError
from cropdata.tabular.canonical import canonical_cells
from cropdata.tabular.descriptor import read_descriptor
from cropdata.tabular.location import package_folder
from cropdata.tabular.units import canonical, convert, number_text


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        (1, "in", "mm", 25.4),
        (0.25, "in", "mm", 6.35),
        (1.5, "ft", "cm", 45.72),
        (2.5, "cm", "mm", 25),
        (212, "F", "°C", 100),
        (32, "F", "°C", 0),
        (-40, "F", "°C", -40),
        (37, "°C", "°F", 98.6),
        (14, "days", "weeks", 2),
        (1, "years", "months", 12),
        (28349.523125, "per_ounce", "per gram", 1000),
    ],
)
def test_conversion_by_definition(value: float, unit: str, to: str, expected: float) -> None:
    assert convert(value, unit, to) == pytest.approx(expected, abs=1e-9)


def test_a_unit_that_measures_something_else_is_refused() -> None:
    with pytest.raises(InputError, match="mm cannot be turned into 'days'"):
        convert(1, "mm", "days")


def test_an_unknown_unit_names_the_known_ones() -> None:
    with pytest.raises(InputError, match="unknown unit 'cubit'.*allowed:.*mm"):
        convert(1, "cubit", "mm")


def test_canonical_rounds_to_two_decimals_without_negative_zero() -> None:
    assert canonical(60, "F", "°C") == 15.56
    assert str(canonical(-0.0001, "C", "°C")) == "0.0"


@pytest.mark.parametrize(
    ("value", "text"), [(12.50, "12.5"), (3.0, "3"), (-0.0, "0"), (0.1 + 0.2, "0.3"), (1e6, "1000000")]
)
def test_number_text_has_no_exponent_and_no_trailing_zero(value: float, text: str) -> None:
    assert number_text(value) == text


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        (1, "in3", "ml", 16.387064),
        (256, "tablespoon", "ml", 3785.411784),  # a US gallon
        (2, "litres", "ml", 2000),
        (1, "lb", "g", 453.59237),
        (0.1, "g_per_cm3", "g_per_litre", 100),
        (3, "kg_per_m3", "g_per_litre", 3),
    ],
)
def test_volumes_and_weights_by_definition(value: float, unit: str, to: str, expected: float) -> None:
    assert convert(value, unit, to) == pytest.approx(expected, abs=1e-9)


def test_where_columns_share_a_printed_figure_each_takes_the_units_that_fit_it() -> None:
    """Grams and millimetres of one table; a table with one column refuses what does not fit."""
    tables = read_descriptor(str(package_folder(None))).tables
    cells = canonical_cells({"low": "0.75", "high": "1", "unit": "lb"}, tables["material_figures"])
    assert (cells["low_g"], cells["high_g"], cells["low_mm"], cells["low_ml"]) == ("340.19", "453.59", "", "")
    assert not any(canonical_cells({"low": "2", "high": "3", "unit": "seasons"}, tables["material_figures"]).values())
    with pytest.raises(InputError, match="cannot be turned into"):
        canonical_cells({"low": "2", "high": "3", "unit": "days"}, tables["sowing_depth"])
