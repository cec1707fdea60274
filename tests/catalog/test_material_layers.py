"""Containers and mixes of a layer: the check asks for no more than opening does, and each figure keeps whose it is."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata

Write = Callable[..., Path]
# The headers of the layer that `cropdata layer new` writes; layering/test_beginning.py sees to it that they open.
CONTAINERS = (
    "container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit,life_low,life_high,"
    "price_low,price_high,currency,action\n"
)
MEDIA = "recipe_id,recipe_name,use,component,parts,action\n"


def _refused(layer: Path) -> str:
    """What opening says; the check says it in the same row."""
    with pytest.raises(cropdata.LayerError) as caught:
        cropdata.open(layers=[layer])
    told = {(item.file, item.row) for item in cropdata.check(layer).errors}
    assert (caught.value.file and Path(caught.value.file).name, caught.value.row) in told
    return str(caught.value)


def test_an_override_says_only_what_is_other(write_layer: Write) -> None:
    """The review's case: the row that README asks for, written into the new layer's own header, was an error."""
    layer = write_layer(
        containers=CONTAINERS + "tray-128,,,,,,,,,,2,3,USD,override\ntray-72,,,,,,,,,,,,,hide\n",
        media=MEDIA + "uc-mix-d,,,sphagnum peat,2,override\nmm,M,sowing,peat,2,\nmm,,,sand,1,\n",
    )
    assert cropdata.check(layer).findings == ()
    db = cropdata.open(layers=[layer])
    assert (db.containers["tray-128"].method_id, db.containers["tray-128"].price_high) == ("tray", 3)
    assert (db.media["uc-mix-d"].use, db.media["uc-mix-d"].parts["sphagnum peat"]) == ("general", 2)
    assert db.media["mm"].parts == {"peat": 2, "sand": 1}


def test_a_new_container_names_its_method(write_layer: Write) -> None:
    empty = write_layer(containers=CONTAINERS + "my-tray,,,40,,,,,,,,,,\n")
    assert "row 2, method_id: missing; allowed: towel, tray, block, flat, pot, in_place" in _refused(empty)
    (told,) = cropdata.check(empty).errors
    assert (told.rule, told.row, told.column) == ("cell-required", 2, "method_id")
    assert told.allowed == "towel, tray, block, flat, pot, in_place"
    absent = write_layer("Absent", containers="container_id,units_per_tray,action\ntray-72,70,override\nmine,40,add\n")
    with pytest.raises(cropdata.LayerError, match="row 3, method_id: missing; allowed: towel, tray"):
        cropdata.open(layers=[absent])
    (told,) = cropdata.check(absent).errors
    assert (told.rule, told.column) == ("header-missing", "method_id")
