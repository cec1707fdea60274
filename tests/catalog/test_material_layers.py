"""Containers and mixes of a layer: the check asks for no more than opening does, and each figure keeps whose it is."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.methods import compare

Run = Callable[..., subprocess.CompletedProcess[str]]
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
    """The row that README asks for, written into the new layer's own header, was an error."""
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


def test_each_figure_names_the_layer_and_row_that_says_it(write_layer: Write, run: Run) -> None:
    """A price of the lower layer was called the upper one's."""
    lower = write_layer(
        "Lower", containers=CONTAINERS + "tray-72,,,,,,,,,,,,,hide\ntray-128,,,,,,,,,,2,2,USD,override\n"
    )
    upper = write_layer("Upper", containers=CONTAINERS + "tray-128,,,,,,,,9,9,,,,override\n")
    db = cropdata.open(layers=[lower, upper])
    said = db.materials.said(db.containers["tray-128"])
    assert {what: (said[what].layer, said[what].locator) for what in ("price", "life", "volume")} == {
        "price": ("lower", "containers.csv row 3"), "life": ("upper", "containers.csv row 2"), "volume": ("release", "Table 1"),
    }  # fmt: skip
    option = next(each for each in compare(db, "tomato").options if each.container_id == "tray-128")
    behind = {each.what: (each.source_id, each.locator) for each in option.reckoned_with}
    assert behind["price"] == ("lower", "containers.csv row 3") and behind["life"] == ("upper", "containers.csv row 2")
    assert behind["volume of a cell"] == ("omafra_plug_trays", "Table 1")
    assert {"lower", "upper", "omafra_plug_trays"} <= set(option.sources)
    shown = run("methods", "tomato", "--layer", lower, "--layer", upper).stdout
    assert "Tray of 128 cells: life by upper, containers.csv row 2; price by lower, containers.csv row 3" in shown
    assert "Tray of 128 cells: lower, containers.csv row 3" in run("methods", "tomato", "--layer", lower).stdout


@pytest.mark.parametrize(
    ("second", "said"),
    [
        ("tray-128,,,,,,,,,,3,3,USD,override", "containers.csv row 2 overrides it already; write what you know of it into one row"),
        ("tray-128,,,,,,,,,,,,,hide", "nothing to hide for tray-128: containers.csv row 2 overrides it already"),
        ("tray-128,tray,,,,,,,,,,,,add", "tray-128 exists already; delete one of the two rows .it stands in layer invented_notes .containers.csv row 2.."),
    ],
)  # fmt: skip
def test_a_container_is_overridden_once_in_a_layer(write_layer: Write, second: str, said: str) -> None:
    layer = write_layer(containers=f"{CONTAINERS}tray-128,,,,,,,,,,2,2,USD,override\n{second}\n")
    assert re.search(f"row 3: .*{said}", _refused(layer))


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("mm,M,sowing,peat,0,\nmm,M,sowing,sand,0,\n", "row 3, parts: found 0; allowed: in one row of a mix at least more than 0"),
        ("mm,M,sowing,peat,,\n", "row 2, parts: missing; allowed: parts by volume"),
        ("mm,M,sowing,peat,1,\nmm,N,sowing,sand,3,\n", "row 3, recipe_name: found 'N', and 'M' in layer invented_notes .media.csv row 2. for the same mix mm"),
        ("mm,M,sowing,peat,1,\nmm,M,blocks,sand,3,\n", "row 3, use: found 'blocks', and 'sowing' in layer"),
        ("mm,M,,peat,1,\nmm,,,sand,3,\n", "row 2, use: missing; allowed: sowing, transplants, blocks, general"),
        ("uc-mix-d,Mine,,fine sand,2,override\n", "row 2, recipe_name: found 'Mine', and 'University of California mix D' in the release"),
        ("uc-mix-d,,,sphagnum peat,0,override\nuc-mix-d,,,fine sand,0,override\n", "row 3, parts: found 0"),
        ("mm,M,sowing,peat,1,\nmm,M,sowing,peat,3,\n", "row 3: mm, peat exists already; delete one of the two rows"),
    ],
)  # fmt: skip
def test_a_mix_has_parts_one_name_and_one_use(write_layer: Write, rows: str, said: str) -> None:
    assert re.search(said, _refused(write_layer(media=MEDIA + rows)))


def test_a_mix_may_hold_what_nobody_gave_a_number(write_layer: Write) -> None:
    layer = write_layer(
        media="recipe_id,recipe_name,use,component,parts,printed,action\nmm,,sowing,peat,2,,\nmm,,,sand,0,,\nmm,,,lime,,a handful,\n"
    )
    assert cropdata.check(layer).findings == ()
    mix = cropdata.open(layers=[layer]).media["mm"]
    assert (mix.name, mix.use, mix.parts) == ("mm", "sowing", {"peat": 2, "sand": 0})
    assert [each.use for each in mix.components] == ["sowing"] * 3
