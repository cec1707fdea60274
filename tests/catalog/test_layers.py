"""A grower's layer over the release. Growers, packets and figures are invented."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.catalog import Catalog
from cropdata.cli.main import main

Write = Callable[..., Path]


def test_an_override_answers_alone_and_says_where_it_comes_from(write_layer: Write) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit,action\nonion,2,3,years,override\n")
    db = cropdata.open(layers=[layer])
    life = db.crop("onion").seed_longevity
    assert life is not None
    assert (life.low, life.high, life.layer, life.sources) == (2, 3, "invented_notes", ("invented_notes",))
    assert db.sources["invented_notes"].authors == "A. Grower (invented)"
    assert cropdata.open().crop("onion").seed_longevity != life


def test_an_added_row_counts_as_one_more_source(write_layer: Write) -> None:
    before = cropdata.open().crop("onion").seed_longevity
    layer = write_layer(seed_longevity="crop_id,low,high,unit\nonion,9,9,years\n")
    after = cropdata.open(layers=[layer]).crop("onion").seed_longevity
    assert before and after
    assert after.lineages == before.lineages + 1 and after.envelope_high == 9
    assert "invented_notes" in after.sources and after.layer == "invented_notes"


def test_hiding_removes_what_lies_below(write_layer: Write) -> None:
    layer = write_layer(seed_longevity="crop_id,action\nonion,hide\n")
    db = cropdata.open(layers=[layer])
    assert db.crop("onion").seed_longevity is None and db.crop("onion").status("seed_longevity") == "not_recorded"
    assert db.crop("leek").seed_longevity == cropdata.open().crop("leek").seed_longevity


def test_printed_units_are_converted(write_layer: Write) -> None:
    layer = write_layer(sowing_depth="crop_id,low,high,unit,action\ntomato,0.5,1,in,override\n")
    depth = cropdata.open(layers=[layer]).crop("tomato").sowing_depth
    assert depth and (depth.low, depth.high) == (12.7, 25.4)


def test_a_variety_inherits_from_its_parent(write_layer: Write) -> None:
    layer = write_layer(
        crops="crop_id,name,parent_id\ntomato-hill-farm,Hill Farm (invented),tomato\n",
        weeks_to_raise="crop_id,low,high,unit\ntomato-hill-farm,5,5,weeks\n",
    )
    db = cropdata.open(layers=[layer])
    crop = db.crop("hill farm (invented)")
    assert (crop.family, crop.scientific_name, crop.layer) == ("Solanaceae", "Solanum lycopersicum", "invented_notes")
    assert crop.weeks_to_raise and (crop.weeks_to_raise.low, crop.weeks_to_raise.inherited_from) == (5, None)
    assert crop.sowing_depth and crop.sowing_depth.inherited_from == "tomato"
    assert "tomato-hill-farm" in list(db)


def test_layers_stack_in_order(write_layer: Write) -> None:
    one = write_layer("First", seed_longevity="crop_id,low,high,unit,action\nonion,2,2,years,override\n")
    two = write_layer("Second", seed_longevity="crop_id,low,high,unit,action\nonion,7,7,years,override\n")
    top = cropdata.open(layers=[one, two]).crop("onion").seed_longevity
    assert top and (top.low, top.layer) == (7, "second")
    top = cropdata.open(layers=[two, one]).crop("onion").seed_longevity
    assert top and (top.low, top.layer) == (2, "first")


def test_an_expected_value_that_still_holds_is_accepted(write_layer: Write) -> None:
    life = cropdata.open().crop("onion").seed_longevity
    assert life
    rows = (
        f"crop_id,low,high,unit,action,expects_low,expects_high\nonion,2,3,years,override,{life.low:g},{life.high:g}\n"
    )
    assert cropdata.open(layers=[write_layer(seed_longevity=rows)]).crop("onion").seed_longevity


def test_a_release_that_moved_is_noticed(write_layer: Write) -> None:
    rows = "crop_id,low,high,unit,action,expects_low\nonion,2,3,years,override,77\n"
    with pytest.raises(
        cropdata.LayerError, match="row 2, expects_low: meant to replace 77 years, but the release below says"
    ):
        cropdata.open(layers=[write_layer(seed_longevity=rows)])


@pytest.mark.parametrize(
    ("table", "text", "message"),
    [
        ("seed_longevity", "crop_id,low,high,unit\nonion,2,x,years\n", r"row 2, high: found 'x'; allowed: a number"),
        ("seed_longevity", "crop_id,low,high,unit\nonion,3,2,years\n", "low 3 is above high 2; swap them"),
        (
            "seed_longevity",
            "crop_id,low,high,unit\nonion,2,3,decades\n",
            "unit: found 'decades'; allowed: years, months",
        ),
        ("seed_longevity", "crop_id,low,high\nonion,2,3\n", "unit: missing; allowed: years"),
        ("seed_longevity", "crop_id,low,high,unit\nonoin,2,3,years\n", "no crop 'onoin'"),
        ("seed_longevity", "crop,low,high,unit\nonion,2,3,years\n", "unknown column 'crop'; allowed:.*crop_id"),
        ("seed_longevity", "crop_id;low;high;unit\nonion;2;3;years\n", "parted by semicolons"),
        (
            "seed_longevity",
            "crop_id,low,high,unit,action\nonion,2,3,years,replace\n",
            "action: found 'replace'; allowed: add, override, hide",
        ),
        (
            "seed_longevity",
            "crop_id,low,high,unit,source_id\nonion,2,3,years,my_book\n",
            "'my_book' is not described; add it",
        ),
        (
            "seed_longevity",
            "crop_id,row_id,action\nonion,onion.nobody.01,hide\n",
            "nothing to hide for onion.nobody.01",
        ),
        (
            "seed_longevity",
            "crop_id,low,high,unit,expects_low\nonion,2,3,years,1\n",
            "only a row with action override expects",
        ),
        ("seed_life", "crop_id,low\nonion,2\n", "no table of that name; allowed:.*seed_longevity"),
        ("crops", "crop_id,name\ntomato,My tomato\n", "crop 'tomato' exists already; use action override"),
    ],
)
def test_a_mistake_is_named_with_its_place(write_layer: Write, table: str, text: str, message: str) -> None:
    with pytest.raises(cropdata.LayerError, match=message):
        cropdata.open(layers=[write_layer(**{table: text})])


def test_what_spreadsheets_write_is_accepted(write_layer: Write) -> None:
    layer = write_layer()
    (layer / "seed_longevity.csv").write_bytes(
        "\ufeffcrop_id,low,high,unit,action\r\nonion,2,3,years,override\r\n".encode()
    )
    life = cropdata.open(layers=[layer]).crop("onion").seed_longevity
    assert life and life.high == 3


def test_a_commented_example_row_is_passed_over(write_layer: Write) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit\n# onion,2,3,years\n")
    assert cropdata.open(layers=[layer]).crop("onion").seed_longevity == cropdata.open().crop("onion").seed_longevity


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        ("schema: 9\n", "schema 9; this version of cropdata reads 1"),
        ("colour: red\n", "unknown setting colour; allowed: title"),
        (": : :\n", "not valid YAML"),
    ],
)
def test_a_layer_file_with_mistakes_is_refused(write_layer: Write, settings: str, message: str) -> None:
    with pytest.raises(cropdata.LayerError, match=message):
        cropdata.open(layers=[write_layer(settings=settings)])


def test_a_folder_that_is_no_layer(tmp_path: Path, package: Path) -> None:
    with pytest.raises(cropdata.LayerError, match=r"no layer\.yaml there"):
        cropdata.open(layers=[tmp_path])
    with pytest.raises(cropdata.LayerError, match="no such folder"):
        cropdata.open(layers=[tmp_path / "none"])
    with pytest.raises(cropdata.LayerError, match="a data package, not a layer"):
        cropdata.open(layers=[package])
    with pytest.raises(cropdata.InputError, match=r"write layers=\[path\]"):
        cropdata.open(layers="folder")


def test_tables_show_the_layer(write_layer: Write) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit\nonion,9,9,years\n")
    frame = cropdata.open(layers=[layer]).table("seed_longevity")
    mine = frame[frame["layer"] == "invented_notes"]
    assert list(mine["crop_id"]) == ["onion"] and list(mine["high_years"]) == [9]
    assert len(frame) == len(cropdata.open().table("seed_longevity")) + 1


def test_the_logger_is_silent_until_asked(
    write_layer: Write, caplog: pytest.LogCaptureFixture, capsys: pytest.CaptureFixture[str]
) -> None:
    with caplog.at_level(logging.INFO, logger="cropdata"):
        cropdata.open(layers=[write_layer()])
    assert [record.name for record in caplog.records] == ["cropdata"]
    assert capsys.readouterr().err == ""


DEPTH = "crop_id,low,high,unit,action\n"


@pytest.mark.parametrize(
    ("table", "text", "said"),
    [
        ("sowing_depth", DEPTH + "tomato,,,mm,override\n", "row 2, low: the row states no figure; fill in low or high, or write action hide"),
        ("sowing_depth", DEPTH + "tomato,,,mm,\n", "the row states no figure"),
        ("days_to_maturity", "crop_id,counted_from,unit,action\ntomato,planting,days,override\n", "row 2, low: the row states no figure"),
        ("germination_temperature", "crop_id,unit\ntomato,C\n", "the row states no figure; fill in minimum or"),
        ("sowing_depth", f"{DEPTH}tomato,5,{'9' * 400},mm,override\n", "row 2, high: found '9999"),
        ("sowing_depth", f"{DEPTH}tomato,5,{'9' * 200},mm,override\n", "row 2, high: found 9999"),
        ("sowing_depth", DEPTH + "tomato,-5,6,mm,override\n", "row 2, low: found -5 mm; allowed: 0 to 300 mm"),
        ("sowing_depth", DEPTH + "tomato,5,20,in,override\n", "row 2, high: found 508 mm; allowed: 0 to 300 mm"),
        ("seeds_per_gram", "crop_id,low,high,unit\ntomato,0,300,per_gram\n", "row 2, low: found 0 per gram; allowed: above 0 to 200000 per gram"),
        ("packets", "crop_id,seeds_in_packet\ntomato,0\n", "row 2, seeds_in_packet: found 0; allowed: 1 to 1000000"),
        ("media", "recipe_id,component,parts\nmine,peat,-3\n", "row 2, parts: found -3; allowed: 0 and more"),
        ("sowing_depth", "crop_id,low,low,unit,action\ntomato,5,60,mm,override\n", "row 1: the column low stands twice"),
        ("sowing_depth", DEPTH + 'tomato,5,6,mm,\ncarrot,"5,6,mm,\nonion,5,6,mm,\n', "sowing_depth.csv, row 3: cannot be read as CSV"),
        ("crops", "crop_id,scientific_name,action\nbean,Zea mays,override\n", "crops.csv, row 2, scientific_name: Zea mays is not the species of bean-"),
    ],
)  # fmt: skip
def test_nothing_wrong_is_taken_without_a_word(write_layer: Write, table: str, text: str, said: str) -> None:
    layer = write_layer(**{table: text})
    with pytest.raises(cropdata.LayerError) as caught:
        cropdata.open(layers=[layer])
    assert said in str(caught.value)
    assert cropdata.check(layer).errors


@pytest.mark.parametrize(
    "name", ["Sowing_Depth.CSV", "sowing_depth.Csv", "data/sowing_depth.csv", "old/Sowing_Depth.CSV"]
)
def test_a_table_that_would_not_be_read_is_named(write_layer: Write, name: str) -> None:
    layer = write_layer()
    (layer / name).parent.mkdir(exist_ok=True)
    (layer / name).write_text(DEPTH + "tomato,5,6,mm,override\n", encoding="utf-8")
    with pytest.raises(cropdata.LayerError) as caught:
        cropdata.open(layers=[layer])
    assert str(layer / name) in str(caught.value) and "would not be read" in str(caught.value)
    assert cropdata.check(layer).errors


def test_own_weeks_of_a_crop_that_the_release_says_is_not_raised_so(db: Catalog, write_layer: Write) -> None:
    """Carrot is said not to be raised under cover; a grower who does so has a row that counts."""
    assert db.crop("carrot").status("weeks_to_raise") == "not_applicable"
    layer = write_layer(weeks_to_raise="crop_id,low,high,unit\ncarrot,4,5,weeks\n")
    crop = cropdata.open(layers=[layer]).crop("carrot")
    assert crop.status("weeks_to_raise") == "recorded" and crop.not_done("weeks_to_raise") is None
    weeks = crop.weeks_to_raise
    assert weeks and (weeks.low, weeks.high, weeks.layer_rows) == (4, 5, ("invented_notes: weeks_to_raise.csv row 2",))


def test_an_own_word_that_something_is_not_done_is_heard(write_layer: Write) -> None:
    """However many sources raise tomato under cover, the upper layer's word of the same kind stands."""
    below = write_layer("Below", not_applicable="crop_id,practice\ntomato,under_cover\n")
    crop = cropdata.open(layers=[below]).crop("tomato")
    assert crop.status("weeks_to_raise") == "not_applicable" and crop.weeks_to_raise is None
    above = write_layer("Above", weeks_to_raise="crop_id,low,high,unit\ntomato,6,7,weeks\n")
    assert cropdata.open(layers=[below, above]).crop("tomato").status("weeks_to_raise") == "recorded"


def test_what_a_grower_wrote_is_printed_with_its_figures(
    write_layer: Write, capsys: pytest.CaptureFixture[str]
) -> None:
    """Four temperatures in Fahrenheit were kept as printed "F"; long texts were cut off unseen."""
    layer = write_layer(
        germination_temperature="crop_id,minimum,optimum_low,optimum_high,maximum,unit\npepper,60,75,85,95,F\n",
        packets="crop_id,habit,seeds_in_packet,low,high,unit,counted_from\ntomato,bush,20,10,11,weeks,planting\n",
    )
    catalog = cropdata.open(layers=[layer])
    (row,) = (row for row in catalog.crop("pepper").evidence("germination_temperature") if row["layer"] != "release")
    assert row["printed"] == "minimum 60 F; optimum low 75 F; optimum high 85 F; maximum 95 F"
    assert main(["why", "tomato", "packets", "--layer", str(layer)]) == 0
    told = capsys.readouterr().out
    assert "10-11 weeks; habit bush;" in told and "counted from planting" in told


def test_why_cuts_nothing_off(db: cropdata.Catalog, capsys: pytest.CaptureFixture[str]) -> None:
    """The longest printed text of the release, put together again from its lines."""
    rows = db.table("season_signals")
    row = rows.loc[rows["printed"].str.len().idxmax()]
    assert main(["why", row["crop_id"], "season_signals"]) == 0
    told = " ".join(line[:44].strip() for line in capsys.readouterr().out.splitlines())
    assert len(row["printed"]) > 44 and " ".join(row["printed"].split()) in told
