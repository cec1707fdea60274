"""Raising, spacing, ease and season through the catalog."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.catalog import Catalog


def test_raising_is_answered_by_aspect_in_common_units(db: Catalog) -> None:
    """Onion: two sources of 65-70 °F by day; trays of 288 and of 288 to 338 cells."""
    raising = db.crop("onion").raising
    day = raising["day_warmth"]
    assert (day.unit, day.lineages, day.agreement) == ("°C", 2, "agree")
    assert day.low == pytest.approx((65 - 32) / 1.8, abs=0.01) and day.high == pytest.approx((70 - 32) / 1.8, abs=0.01)
    cells = raising["cells_per_tray"]
    assert (cells.envelope_low, cells.envelope_high, cells.unit) == (288, 338, "cells")
    # Sonoma: eggplant is moved on at 3 inches.
    assert db.crop("eggplant").raising["pot_on_height"].to("cm").low == pytest.approx(7.62)
    assert db.crop("yarrow").raising == {}


def test_spacing_is_not_taken_from_a_parent_but_ease_is(db: Catalog) -> None:
    assert db.crop("lettuce").trait("spacing_in_row") is not None
    assert db.crop("lettuce-romaine").status("spacing_in_row") == "not_recorded"
    ease = db.crop("lettuce-romaine").trait("transplant_ease")
    assert ease is not None and (ease.low, ease.high, ease.inherited_from) == (1, 1, "lettuce")


def test_day_length_and_maturity_are_not_taken_from_a_parent(db: Catalog) -> None:
    assert db.crop("onion").evidence("season_signals") and not db.crop("shallot").evidence("season_signals")
    assert db.crop("lettuce").evidence("days_to_maturity")
    assert not db.crop("lettuce-romaine").evidence("days_to_maturity")


def test_the_rank_of_a_class_is_its_place_in_the_list(
    write_layer: Callable[..., Path],
) -> None:
    layer = write_layer(
        transplant_ease="crop_id,measure,class,printed\nyarrow,ease,with_care,invented: sulks for a week\n"
    )
    answer = cropdata.open(layers=[layer]).crop("yarrow").trait("transplant_ease")
    assert answer is not None and (answer.low, answer.high) == (2, 2)
