"""One place's table of days to emergence predicting what others printed.

Sources of the printed times: Cornell University Home Gardening and northern New York guide, Utah State University
Extension (two pages), Michigan State University Extension, Kerr 2011 and others, read from the release.
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

import cropdata

pytestmark = pytest.mark.published

ROOT = Path(__file__).resolve().parents[2]


def _ratios() -> list[float]:
    spec = importlib.util.spec_from_file_location("emergence_error", ROOT / "tools" / "emergence_error.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return [ratio for *_, ratio in module.ratios()]


def test_the_bounds_in_the_rules_are_the_measured_ones(db: cropdata.Catalog) -> None:
    low, high = np.quantile(_ratios(), [0.1, 0.9])
    assert float(db.rule("emergence_error_low")["low"]) == pytest.approx(low, abs=0.03)
    assert float(db.rule("emergence_error_high")["low"]) == pytest.approx(high, abs=0.06)


def test_the_table_is_of_the_right_size_elsewhere() -> None:
    ratios = _ratios()
    assert len(ratios) >= 20
    assert 0.8 < np.median(ratios) < 1.3 and min(ratios) > 0.5 and max(ratios) < 2.5


def test_a_recalled_thermal_time_for_the_onion_tells_germination_from_emergence(db: cropdata.Catalog) -> None:
    """Onion: 80 °C days to germinate (handbook on alliums, data of Harrington 1962), about 219 to emerge (from memory)."""
    radicle, seedling = db.crop("onion").days_to_radicle(15), db.crop("onion").days_to_emergence(15)
    assert radicle is not None and seedling is not None
    assert radicle.expected == pytest.approx(80 / (15 - 2.5))
    assert radicle.expected < seedling.expected
