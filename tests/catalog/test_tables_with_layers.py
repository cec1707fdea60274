"""Whole tables of a catalog with layers. Growers and figures are invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

import cropdata
from cropdata.catalog import Catalog

Write = Callable[..., Path]


@pytest.fixture
def laid(write_layer: Write) -> Catalog:
    return cropdata.open(
        layers=[
            write_layer(
                sowing_depth="crop_id,low,high,unit,locator,source_id,action\ntomato,5,6,mm,p. 7,Aunt May,override\n",
                crops="crop_id,name,parent_id\ntomato-hill,Hill (invented),tomato\n",
                containers="container_id,price_low,price_high,currency,action\ntray-128,2,3,USD,override\n",
            )
        ]
    )


@pytest.mark.parametrize(
    ("table", "key", "value", "row"),
    [("sowing_depth", "crop_id", "tomato", "sowing_depth.csv row 2"), ("crops", "crop_id", "tomato-hill", "crops.csv row 2"),
     ("containers", "container_id", "tray-128", "containers.csv row 2"), ("consensus", "crop_id", "tomato", "invented_notes: sowing_depth.csv row 2")],
)  # fmt: skip
def test_a_table_names_the_row_of_the_layer_where_a_page_is_cited_too(
    laid: Catalog, table: str, key: str, value: str, row: str
) -> None:
    frame = laid.table(table)
    own = frame[(frame["layer"] == "invented_notes") & (frame[key] == value)]
    assert list(own["layer_row"]) == [row]
    assert frame[frame["layer"] == "release"]["layer_row"].isna().all()


def test_profiles_say_what_the_crops_answer(db: Catalog, laid: Catalog) -> None:
    profiles = laid.table("profiles").set_index("crop_id")
    for crop_id in ("tomato", "tomato-hill"):
        depth = laid.crop(crop_id).sowing_depth
        assert depth and (depth.low, depth.high) == (5, 6)
        mine = profiles.loc[crop_id]
        assert (mine["sowing_depth_low_mm"], mine["sowing_depth_high_mm"], mine["layer"]) == (5, 6, "invented_notes")
        assert "sowing_depth.csv row 2" in mine["layer_row"]
    assert "crops.csv row 2" in profiles.loc["tomato-hill", "layer_row"]


@pytest.mark.parametrize("table", ["profiles", "consensus"])
def test_what_no_layer_speaks_of_stands_as_the_build_wrote_it(db: Catalog, laid: Catalog, table: str) -> None:
    released, stacked = db.table(table), laid.table(table)
    of_others = stacked[~stacked["crop_id"].str.startswith("tomato")].drop(columns=["layer", "layer_row"])
    expected = released[~released["crop_id"].str.startswith("tomato")]
    pd.testing.assert_frame_equal(of_others.reset_index(drop=True), expected.reset_index(drop=True))
    assert len(expected) > 300 - 10 and "layer" not in released
