"""Own points of days to emergence by temperature. Growers and figures are invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.catalog import Catalog, Estimate

Write = Callable[..., Path]
HEAD = "crop_id,temperature,unit,days,outcome,action\n"
HARRINGTON_15C, HARRINGTON_20C, HARRINGTON_25C = 14.0, 8.0, 6.0  # tomato, Harrington and Minges 1954


def _at(db: Catalog, crop: str, temp: float) -> Estimate:
    found = db.crop(crop).days_to_emergence(temp)
    assert found is not None
    return found


def test_an_own_point_that_overrides_answers_at_its_temperature(db: Catalog, write_layer: Write) -> None:
    layer = write_layer(emergence_by_temperature=f"{HEAD}tomato,20,C,9,emerged,override\n")
    laid = cropdata.open(layers=[layer])
    at = _at(laid, "tomato", 20)
    assert (at.expected, at.sources, at.layer) == (9, ("invented_notes",), "invented_notes")
    # Between it and the printed 25 °C the rate runs straight from the one to the other: by hand.
    assert _at(laid, "tomato", 22.5).expected == pytest.approx(2 / (1 / 9 + 1 / HARRINGTON_25C), rel=1e-6)
    # Where its neighbours are printed ones, nothing has changed and it is not named.
    warm = _at(laid, "tomato", 30)
    assert warm.layer == "release" and warm.layer_rows == () and "invented_notes" not in warm.sources
    assert warm.expected == _at(db, "tomato", 30).expected


def test_an_override_beside_the_printed_temperatures_of_another_layer(write_layer: Write) -> None:
    below = write_layer("Below", emergence_by_temperature=f"{HEAD}tomato,20,C,11,emerged,override\n")
    above = write_layer("Above", emergence_by_temperature=f"{HEAD}tomato,20,C,9,emerged,override\n")
    at = _at(cropdata.open(layers=[below, above]), "tomato", 20)
    assert (at.expected, at.sources) == (9, ("above",))


def test_an_added_point_widens_the_answer_at_its_temperature_and_is_named_there_only(
    db: Catalog, write_layer: Write
) -> None:
    layer = write_layer(emergence_by_temperature=f"{HEAD}tomato,18,C,40,emerged,add\n")
    laid = cropdata.open(layers=[layer])
    at, before = _at(laid, "tomato", 18), _at(db, "tomato", 18)
    assert (at.high, at.expected, at.low) == (40, before.expected, before.low) and "invented_notes" in at.sources
    beside = _at(laid, "tomato", 20)
    assert beside == _at(db, "tomato", 20) and beside.layer_rows == ()


def test_a_single_point_of_a_variety_is_laid_over_the_table_of_its_parent(db: Catalog, write_layer: Write) -> None:
    layer = write_layer(
        crops="crop_id,name,parent_id\ntomato-hill,Hill (invented),tomato\n",
        emergence_by_temperature=f"{HEAD}tomato-hill,20,C,9,emerged,add\n",
    )
    laid = cropdata.open(layers=[layer])
    assert _at(laid, "tomato-hill", 20).expected == 9
    assert _at(laid, "tomato-hill", 30).expected == _at(db, "tomato", 30).expected


def test_a_point_hidden_is_read_between_its_neighbours(write_layer: Write) -> None:
    layer = write_layer(emergence_by_temperature="crop_id,temperature,unit,action\ntomato,20,C,hide\n")
    at = _at(cropdata.open(layers=[layer]), "tomato", 20)
    assert at.expected == pytest.approx(2 / (1 / HARRINGTON_15C + 1 / HARRINGTON_25C), rel=1e-6)


def test_a_second_point_of_a_variety_takes_nothing_of_its_parent_away(db: Catalog, write_layer: Write) -> None:
    """9 days at 20 °C and 7 at 25 °C are no table from 0 to 40 °C; with both ends of the parent's own they are one."""
    head = "crop_id,name,parent_id\ntomato-hill,Hill (invented),tomato\n"
    rows = f"{HEAD}tomato-hill,20,C,9,emerged,add\ntomato-hill,25,C,7,emerged,add\n"
    laid = cropdata.open(layers=[write_layer(crops=head, emergence_by_temperature=rows)])
    found = [_at(laid, "tomato-hill", temp).expected for temp in (15, 20, 25)]
    assert found == [HARRINGTON_15C, 9, 7]
    assert _at(laid, "tomato-hill", 30).expected == _at(db, "tomato", 30).expected
    whole = rows + "tomato-hill,0,C,,none,add\ntomato-hill,40,C,20,emerged,add\n"
    alone = cropdata.open(layers=[write_layer("Whole", crops=head, emergence_by_temperature=whole)])
    assert _at(alone, "tomato-hill", 40).expected == 20
    # Straight in the rate from 25 to 40 °C: nothing of the parent's 30 °C between.
    assert _at(alone, "tomato-hill", 32.5).expected == pytest.approx(2 / (1 / 7 + 1 / 20))
