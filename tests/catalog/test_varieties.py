"""Varieties, packets and sources of a grower's own. All are invented."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata

Write = Callable[..., Path]
CROPS = "crop_id,name,parent_id\ntomato-hill,Hill Farm (invented),tomato\nbean-road,Station Road (invented),bean-pole\n"
PACKETS = (
    "crop_id,habit,seeds_in_packet,low,high,unit,counted_from,packed_year\n"
    "tomato-hill,cordon,40,10,12,weeks,planting,2026\nbean-road,climbing,60,,,,,\n"
)


@pytest.fixture
def varieties(write_layer: Write) -> Path:
    return write_layer(crops=CROPS, packets=PACKETS)


def test_what_the_packet_says(varieties: Path) -> None:
    crop = cropdata.open(layers=[varieties]).crop("Hill Farm (invented)")
    (packet,) = crop.packets
    assert (packet.habit, packet.seeds_in_packet, packet.packed_year) == ("cordon", 40, 2026)
    assert (packet.low_days, packet.high_days, packet.counted_from) == (70, 84, "planting")
    assert (packet.layer, packet.layer_row) == ("invented_notes", "packets.csv row 2")
    assert cropdata.open(layers=[varieties]).crop("tomato").packets == ()


def test_days_on_the_packet_answer_the_harvest(varieties: Path) -> None:
    """10 to 12 weeks are 70 to 84 days: planted out on 20 May, harvest from 29 July to 12 August."""
    db = cropdata.open(layers=[varieties])
    window = db.crop("tomato-hill").harvest_window(planted=datetime.date(2027, 5, 20))
    assert window is not None
    assert (window.first, window.last) == (datetime.date(2027, 7, 29), datetime.date(2027, 8, 12))
    (row,) = db.crop("tomato-hill").evidence("days_to_maturity")
    assert (row["locator"], row["printed"]) == ("packets.csv row 2", "10-12 weeks; habit cordon; seeds in packet 40; counted from planting; packed year 2026")  # fmt: skip
    assert db.crop("bean-road").harvest_window(sown=datetime.date(2027, 5, 20)) is None  # never the parent's


def test_a_variety_of_a_type_takes_from_both(varieties: Path) -> None:
    db = cropdata.open(layers=[varieties])
    crop, pole, bean = db.crop("bean-road"), db.crop("bean-pole"), db.crop("bean")
    assert crop.parents == ("bean-pole", "bean") and pole.parents == ("bean",)
    for trait in db.descriptor.traits.values():
        mine, theirs = crop.trait(trait.name), pole.trait(trait.name)
        if not trait.inherit:
            assert mine is None, trait.name
        elif theirs is not None and trait.name != "germination_temperature":
            assert mine is not None and (mine.low, mine.high) == (theirs.low, theirs.high), trait.name
            assert mine.inherited_from == (theirs.inherited_from or "bean-pole"), trait.name
    at = crop.days_to_emergence(20.0)
    assert at is not None and at.expected == bean.days_to_emergence(20.0).expected  # type: ignore[union-attr]
    kinds = [(row["crop_id"], row["hazard"]) for row in crop.cautions]
    assert kinds == [(row["crop_id"], row["hazard"]) for row in (*pole.cautions,)]
    assert crop.evidence("seed_longevity") == bean.evidence("seed_longevity")
    assert cropdata.check(varieties).findings == ()


def test_weeks_before_frost_of_a_variety_are_its_parents(db: cropdata.Catalog, write_layer: Write) -> None:
    """Not reckoned anew from parts that are the parent's too, where the parent's own is printed."""
    layer = write_layer(crops="crop_id,name,parent_id\ntomato-hill,Hill Farm (invented),tomato\n")
    mine = cropdata.open(layers=[layer]).crop("tomato-hill").weeks_before_last_frost
    theirs = db.crop("tomato").weeks_before_last_frost
    assert mine and theirs and (mine.low, mine.high, mine.basis) == (theirs.low, theirs.high, theirs.basis)
    printed, red = db.crop("cabbage").weeks_before_last_frost, db.crop("cabbage-red").weeks_before_last_frost
    assert printed and red and (red.low, red.high, red.inherited_from) == (printed.low, printed.high, "cabbage")


def test_varieties_may_stand_above_their_parent(write_layer: Write) -> None:
    layer = write_layer(crops="crop_id,name,parent_id\nb,Baby (invented),a\na,Mother (invented),tomato\n")
    assert cropdata.open(layers=[layer]).crop("b").parents == ("a", "tomato")


def test_show_says_what_is_inherited_and_from_where(varieties: Path, run: Callable[..., object]) -> None:
    done = run("show", "bean-road", "--layer", varieties)
    out = done.stdout  # type: ignore[attr-defined]
    assert "a type of pole bean, layer invented_notes: crops.csv row 3" in out
    assert "Seed keeps" in out and "from bean" in out
    assert "is taken from bean-pole and bean, of the same species. Never taken, as types differ: days to" in " ".join(
        out.split()
    )
    assert "- climbing; 60 seeds [layer invented_notes: packets.csv row 3]" in out
    shown = json.loads(run("show", "tomato-hill", "--layer", varieties, "--json").stdout)  # type: ignore[attr-defined]
    assert (shown["layer"], shown["layer_row"]) == ("invented_notes", "crops.csv row 2")
    assert shown["packets"][0]["seeds_in_packet"] == 40 and shown["layers"][0]["title"] == "Invented notes"
    assert shown["traits"]["seed_longevity"]["inherited_from"] == "tomato"


def test_a_source_needs_no_more_than_a_name(write_layer: Write) -> None:
    rows = "crop_id,low,high,unit,source_id\nonion,2,3,years,Aunt May's notebook\nleek,2,3,years,Notizen für 2025\ncarrot,3,4,years,aunt may's NOTEBOOK\nbeet,3,4,years,notebook\n"
    layer = write_layer(seed_longevity=rows)
    db = cropdata.open(layers=[layer])
    assert db.sources["aunt_mays_notebook"].title == "Aunt May's notebook"
    assert db.sources["notizen_fur_2025"].title == "Notizen für 2025"
    for name in ("onion", "carrot"):
        life = db.crop(name).seed_longevity
        assert life and "aunt_mays_notebook" in life.sources
    assert cropdata.check(layer).ok
    frame = db.table("sources")
    assert list(frame[frame["source_id"] == "notebook"]["kind"]) == ["other"]


def test_a_sources_file_may_say_more_or_just_the_title(write_layer: Write) -> None:
    layer = write_layer(
        sources="title,year\nAunt May's notebook,2019\n",
        seed_longevity="crop_id,low,high,unit,source_id\nonion,2,3,years,Aunt May's notebook\n",
    )
    source = cropdata.open(layers=[layer]).sources["aunt_mays_notebook"]
    assert (source.title, source.year, source.lineage) == ("Aunt May's notebook", 2019, "aunt_mays_notebook")
    assert cropdata.check(layer).findings == ()


@pytest.mark.parametrize(
    ("sources", "cited", "said"),
    [
        ("", "my_book", "'my_book' is not described; add it to the layer's sources.csv, or write its name in words"),
        ("", "memry", "'memry' is not described; did you mean memory?"),
        ("source_id,title\nmemory,Mine\n", "memory", "source 'memory' is described already; |is described already, in the release"),
        ("source_id,title,action\nmine_too,Mine,override\n", "memory", "no source 'mine_too' to override"),
        ("source_id,title,action\nmemory,Mine,hide\n", "memory", "a source is not hidden, as figures rest on it"),
        ("source_id,title\n,\n", "memory", None),
    ],
)  # fmt: skip
def test_a_source_that_is_none(write_layer: Write, sources: str, cited: str, said: str | None) -> None:
    life = f"crop_id,low,high,unit,source_id\nonion,2,3,years,{cited}\n"
    layer = write_layer(seed_longevity=life, **({"sources": sources} if sources else {}))
    if said is None:
        assert cropdata.open(layers=[layer])
        return
    with pytest.raises(cropdata.LayerError, match=said):
        cropdata.open(layers=[layer])


def test_a_number_wants_its_unit_everywhere(write_layer: Write) -> None:
    layer = write_layer(packets="crop_id,low,high\ntomato,60,70\n")
    with pytest.raises(cropdata.LayerError, match="packets.csv, row 2, unit: missing; allowed: days, weeks, months"):
        cropdata.open(layers=[layer])


def test_every_answer_names_layer_and_row(write_layer: Write) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit\n# a remark\nonion,2,3,years\n", raising="crop_id,aspect,low,high,unit\nonion,cells_per_tray,200,200,cells\n")  # fmt: skip
    db = cropdata.open(layers=[layer])
    life = db.crop("onion").seed_longevity
    assert life and (life.layer, life.layer_rows) == ("invented_notes", ("invented_notes: seed_longevity.csv row 3",))
    assert life.to("months").layer_rows == life.layer_rows
    assert [row["layer_row"] for row in db.crop("onion").evidence("seed_longevity") if row["layer"] != "release"] == ["seed_longevity.csv row 3"]  # fmt: skip
    raising = db.crop("onion").raising["cells_per_tray"]
    assert (raising.layer, raising.envelope_low) == ("invented_notes", 200)
    assert raising.layer_rows == ("invented_notes: raising.csv row 2",)
    untouched = db.crop("leek").seed_longevity
    assert untouched and (untouched.layer, untouched.layer_rows) == ("release", ())


def test_days_at_a_temperature_name_the_layer_too(write_layer: Write, db: cropdata.Catalog) -> None:
    layer = write_layer(
        emergence_by_temperature="crop_id,temperature,unit,outcome,days,event,action\n"
        "onion,20,C,emerged,9,emergence,override\n",
        days_to_emergence="crop_id,low,high,unit,action\nborage,4,8,days,override\n",
    )
    laid = cropdata.open(layers=[layer])
    at = laid.crop("onion").days_to_emergence(20.0)
    assert (
        at and at.layer == "invented_notes" and at.layer_rows == ("invented_notes: emergence_by_temperature.csv row 2",)
    )
    plain = laid.crop("borage").days_to_emergence(20.0)
    assert plain and (plain.layer, plain.expected) == ("invented_notes", 6)
    released = db.crop("onion").days_to_emergence(20.0)
    assert released and (released.layer, released.layer_rows) == ("release", ())


@pytest.mark.parametrize(
    ("packet", "days"),
    [("cordon,50,60,days,planting,override", [("60", "70"), ("50", "60")]), ("cordon,,,,,override", [("60", "70")]),
     (",,,,,hide", [("60", "70")]), ("cordon,50,60,days,planting,add", [("60", "70"), ("70", "80"), ("50", "60")])],
)  # fmt: skip
def test_the_days_of_a_packet_go_where_the_packet_goes(write_layer: Write, packet: str, days: list[object]) -> None:
    """Days that the layer below states by themselves, 60 to 70, stay."""
    head = "crop_id,habit,low,high,unit,counted_from,action\n"
    below = write_layer(
        "Below",
        crops="crop_id,name,parent_id\ntomato-hill,Hill (invented),tomato\n",
        packets=f"{head}tomato-hill,cordon,70,80,days,planting,add\n",
        days_to_maturity="crop_id,low,high,unit,counted_from\ntomato-hill,60,70,days,planting\n",
    )
    above = write_layer("Above", packets=f"{head}tomato-hill,{packet}\n")
    rows = cropdata.open(layers=[below, above]).stacked("days_to_maturity", "tomato-hill")
    assert [(row["low"], row["high"]) for row in rows] == days
