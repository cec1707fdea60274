"""An override or a hide takes away what its row speaks of, and nothing else. Growers and figures are invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.catalog import Catalog
from cropdata.errors import LayerError

Write = Callable[..., Path]

# Table, an own row without its action, and the column that tells which statement of the crop it speaks of.
_ONE_OF_SEVERAL = [
    ("raising", "crop_id,aspect,low,high,unit", "tomato,cells_per_tray,50,50,cells", "aspect"),
    ("season_signals", "crop_id,signal,population,day_hours_low,effect",
     "onion,bulbs_at_day_length,long-day kinds,15,begins to bulb", "population"),
    ("emergence_by_temperature", "crop_id,temperature,unit,days,outcome,event", "tomato,68,F,9,emerged,emergence", "temperature_c"),
    ("normal_seedlings", "crop_id,temperature,unit,percent,outcome", "onion,20,C,90,counted", "temperature_c"),
    ("emergence_spread", "crop_id,temperature,unit,days_50,event", "wheat,10,C,9,germination", "temperature_c"),
    ("transplant_ease", "crop_id,measure,class", "tomato,ease,easy", "measure"),
    ("days_to_maturity", "crop_id,low,high,unit,counted_from", "broccoli,50,60,days,sowing", "counted_from"),
    ("storage_observations", "crop_id,conditions,period_low,period_high,period_unit", "soybean,cold store,20,20,months", "conditions"),
    ("germination_standards", "crop_id,percent,jurisdiction", "tomato,80,New Hampshire", "jurisdiction"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "header", "cells", "column"), _ONE_OF_SEVERAL)
@pytest.mark.parametrize("action", ["override", "hide"])
def test_the_other_statements_of_the_crop_stay(
    db: Catalog, write_layer: Write, table: str, header: str, cells: str, column: str, action: str
) -> None:
    crop_id = cells.split(",")[0]
    layer = write_layer(**{table: f"{header},action\n{cells},{action}\n"})
    after = cropdata.open(layers=[layer]).crop(crop_id).evidence(table)
    own = [row for row in after if row["layer"] != "release"]
    assert len(own) == (1 if action == "override" else 0)
    released = db.crop(crop_id).evidence(table)
    spoken = {"temperature_c": 10.0 if crop_id == "wheat" else 20.0}.get(column) or next(
        cell for cell in cells.split(",") if any(row[column] == cell for row in released)
    )
    others = [row["row_id"] for row in released if row[column] != spoken]
    assert others, "the release must hold something else to lose"
    gone = {row["row_id"] for row in released} - {row["row_id"] for row in after}
    assert gone == {
        row["row_id"] for row in released
        if row[column] == spoken and (table != "season_signals" or row["signal"] == "bulbs_at_day_length")
    }  # fmt: skip
    assert set(others) <= {row["row_id"] for row in after}


def test_the_cold_nights_of_tomato_outlive_an_own_tray(db: Catalog, write_layer: Write) -> None:
    layer = write_layer(raising="crop_id,aspect,low,high,unit,action\ntomato,cells_per_tray,50,50,cells,override\n")
    raising = cropdata.open(layers=[layer]).crop("tomato").raising
    assert (raising["cells_per_tray"].low, raising["cells_per_tray"].high) == (50, 50)
    assert raising["cells_per_tray"].layer == "invented_notes"
    before = db.crop("tomato").raising
    assert {name: raising[name] for name in before if name != "cells_per_tray"} == {
        name: value for name, value in before.items() if name != "cells_per_tray"
    }


def test_one_practice_is_overridden_and_the_other_still_not_done(write_layer: Write) -> None:
    """Tomato is not sown in place, says the release; carrot is not raised under cover."""
    layer = write_layer(not_applicable="crop_id,practice,action\ntomato,under_cover,override\n")
    with pytest.raises(LayerError, match="what stands there is practice direct_sowing"):
        cropdata.open(layers=[layer])


def test_days_from_sowing_and_from_planting_are_overridden_beside_each_other(write_layer: Write) -> None:
    layer = write_layer(
        days_to_maturity="crop_id,low,high,unit,counted_from,action\n"
        "broccoli,50,60,days,sowing,override\nbroccoli,40,45,days,planting,override\n"
    )
    rows = cropdata.open(layers=[layer]).crop("broccoli").evidence("days_to_maturity")
    assert {(row["counted_from"], row["low"]) for row in rows if row["layer"] != "release"} == {
        ("sowing", 50.0), ("planting", 40.0),
    }  # fmt: skip
    assert not [row for row in rows if row["layer"] == "release" and row["counted_from"] in ("sowing", "planting")]


def test_one_of_two_packets_is_replaced(write_layer: Write) -> None:
    head = "crop_id,habit,seeds_in_packet,action\n"
    below = write_layer("Below", packets=f"{head}tomato,cordon,40,\ntomato,bush,20,\n")
    above = write_layer("Above", packets=f"{head}tomato,cordon,35,override\n")
    packets = cropdata.open(layers=[below, above]).crop("tomato").packets
    assert [(packet.habit, packet.seeds_in_packet) for packet in packets] == [("bush", 20), ("cordon", 35)]


def test_a_row_that_does_not_tell_which_is_refused_with_what_there_is(write_layer: Write) -> None:
    layer = write_layer(raising="crop_id,action\ntomato,hide\n")
    with pytest.raises(LayerError) as caught:
        cropdata.open(layers=[layer])
    assert "raising.csv, row 2, aspect: is empty, and tomato has several rows to hide" in str(caught.value)
    assert "night_at_planting" in str(caught.value)


def test_an_empty_cell_means_the_only_one_there_is(write_layer: Write) -> None:
    """Carrot is said not to be raised under cover, and nothing else is said not to be done with it."""
    layer = write_layer(not_applicable="crop_id,action\ncarrot,hide\n")
    assert cropdata.open(layers=[layer]).crop("carrot").status("weeks_to_raise") == "not_recorded"


@pytest.mark.parametrize(("row", "left"), [("50,55,days,override", [("planting", 50.0)]), (",,,hide", [])])
def test_days_without_a_start_are_those_that_stand_there(
    write_layer: Write, row: str, left: list[tuple[str, float]]
) -> None:
    """What lay below was counted from planting, and was looked for as unstated."""
    below = write_layer(
        "Below",
        crops="crop_id,name,parent_id\ntomato-hill,Hill (invented),tomato\n",
        packets="crop_id,low,high,unit,counted_from\ntomato-hill,70,80,days,planting\n",
    )
    above = write_layer("Above", days_to_maturity=f"crop_id,low,high,unit,action\ntomato-hill,{row}\n")
    rows = cropdata.open(layers=[below, above]).crop("tomato-hill").evidence("days_to_maturity")
    assert [(each["counted_from"], each["low"]) for each in rows] == left


def test_days_without_a_start_are_refused_where_several_stand(write_layer: Write) -> None:
    layer = write_layer(days_to_maturity="crop_id,low,high,unit,action\nbroccoli,50,60,days,override\n")
    with pytest.raises(LayerError, match="counted_from: is empty, and broccoli has several rows to override") as caught:
        cropdata.open(layers=[layer])
    assert "counted_from sowing" in str(caught.value) and "counted_from planting" in str(caught.value)
    (told,) = cropdata.check(layer).errors
    assert (told.row, told.column) == (2, "counted_from")


def test_an_own_aspect_of_a_variety_leaves_it_the_others_of_its_parent(db: Catalog, write_layer: Write) -> None:
    layer = write_layer(
        crops="crop_id,name,parent_id\ntomato-hill,Hill (invented),tomato\n",
        raising="crop_id,aspect,low,high,unit\ntomato-hill,cells_per_tray,24,24,cells\n",
    )
    raising = cropdata.open(layers=[layer]).crop("tomato-hill").raising
    assert (raising["cells_per_tray"].low, raising["cells_per_tray"].inherited_from) == (24, None)
    nights = db.crop("tomato").raising["night_at_planting"]
    own = raising["night_at_planting"]
    assert (own.low, own.high, own.inherited_from) == (nights.low, nights.high, "tomato")
