"""Methods, containers, mixes and cautions as the catalog gives them, and a grower's own over them."""

from __future__ import annotations

import math
import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.catalog import Catalog
from cropdata.catalog.material_records import Span
from cropdata.errors import InputError, LayerError

# Ontario Ministry of Agriculture, Growing Vegetable Transplants in Plug Trays, Table 1: cells, cc a cell.
ONTARIO = {24: 171, 38: 106, 50: 66, 72: 43, 128: 23, 200: 11, 288: 7}


@pytest.mark.published
def test_cell_volumes_are_the_ministrys(db: Catalog) -> None:
    for cells, volume in ONTARIO.items():
        tray = db.containers[f"tray-{cells}"]
        assert (tray.units_per_tray, tray.volume_low_ml, tray.volume_high_ml) == (cells, volume, volume)
        assert tray.filled_litres(cells, 1) == pytest.approx((cells * volume / 1000,) * 2)


@pytest.mark.published
def test_printed_inches_and_spoons_are_converted_by_definition(db: Catalog) -> None:
    """Michigan State University's block of 14.26 cubic inches (16.387064 ml each); Utah's 3 tablespoons (14.79 ml)."""
    assert db.containers["block-2in-deep"].volume_low_ml == pytest.approx(14.26 * 16.387064, abs=0.005)
    row = db.table("material_figures").set_index("figure_id").loc["any_mix.least_mix.01"]
    assert row["low_ml"] == pytest.approx(44.36) and row[["low_mm", "low_g"]].isna().all()


def test_an_open_flat_is_filled_whole(db: Catalog) -> None:
    flat = db.containers["flat-28x54cm"]
    assert flat.filled_litres(60, 2) == (12, 16)
    assert db.containers["foam-200"].filled_litres(10, 1) is None


def test_methods_are_those_of_the_season_file_in_one_order(db: Catalog) -> None:
    assert list(db.methods) == ["towel", "tray", "block", "flat", "pot", "in_place"]
    assert db.methods["towel"].bare_moves_high == 1 and db.methods["in_place"].ball_moves_high == 0


def test_a_recipe_has_its_parts_and_sources(db: Catalog) -> None:
    mix = db.media["uc-mix-d"]
    assert mix.parts == {"sphagnum peat": 3, "fine sand": 1} and mix.sources == ("uc_davis_growing_media_2007",)
    lime = next(each for each in mix.components if each.component == "dolomitic limestone")
    assert lime.parts is None and lime.amount_g_per_litre == 3


def test_figures_join_to_the_best_kind_of_statement(db: Catalog) -> None:
    settled = db.materials.span("usable_when_set", method="tray")
    assert settled is not None and (settled.ends, settled.basis, settled.sources) == (
        (90, 90),
        "published",
        ("uky_agr156",),
    )
    assert db.materials.span("usable", method="tray") is None  # of sown trays nobody says it
    foam = db.materials.span("life", method="tray", build="foam")
    assert foam is not None and foam.low == 5 and foam.open_high
    assert db.materials.span("life", method="in_place") is None
    assert db.materials.builds("pot") == ("thin", "thick")


@pytest.mark.published
def test_pounds_are_joined_as_grams_and_units_that_differ_are_not_joined(db: Catalog) -> None:
    """Float trays of 3/4 and of 2 1/2 lb, as printed; a pound is 453.59237 g."""
    heavy = db.materials.span("plastic", method="tray", build="floating")
    assert heavy is not None and heavy.unit == "g" and heavy.low == pytest.approx(2.5 * 453.59237, abs=0.005)
    both = db.materials.span("plastic", method="tray")  # the two printed ones
    assert both is not None and both.ends == pytest.approx((0.75 * 453.59237, 2.5 * 453.59237), abs=0.005)
    rows = [
        *db.materials.figures("life", method="tray", build="thin"),
        *db.materials.figures("breakage", method="tray", build="thin"),
    ]
    with pytest.raises(InputError, match="different units"):
        Span(rows)


def test_records_are_frozen_and_can_be_sent_to_another_process(db: Catalog) -> None:
    tray = db.containers["tray-72"]
    with pytest.raises(AttributeError, match="frozen"):
        tray.name = "mine"  # type: ignore[misc]
    assert pickle.loads(pickle.dumps(tray)) == tray
    assert pickle.loads(pickle.dumps(db.media["uc-mix-d"])).parts == db.media["uc-mix-d"].parts
    with pytest.raises(TypeError):
        db.containers["x"] = tray  # type: ignore[index]


def test_an_unknown_container_names_near_ones(db: Catalog) -> None:
    with pytest.raises(InputError, match="did you mean tray-72"):
        db.materials.container("tray-73")


def test_a_stay_comes_from_the_nearest_statement(db: Catalog) -> None:
    """Utah prints 4 to 5 weeks for cucumber in 128 and 72 cells; the rule of the trade for cucurbits says less."""
    cucumber = db.materials.stay(db.crop("cucumber"), 23)
    assert (cucumber.safe_weeks, cucumber.limit_weeks) == (
        5,
        5,
    )  # the trade's 3 and 4 weeks fall to Utah's 5, its 5 do not
    assert cucumber.basis == "common_practice" and "usu_veg_guide_cucurbit" in cucumber.sources
    pumpkin = db.materials.stay(db.crop("pumpkin"), 43)  # none of its own: its family's
    assert (pumpkin.safe_weeks, pumpkin.limit_weeks, pumpkin.basis) == (3, 4, "common_practice")
    onion = db.materials.stay(db.crop("onion"), 500)  # its family says nothing of so large a pot, and no other is asked
    assert (onion.safe_weeks, onion.limit_weeks) == (10, None)
    # Two trials against each other, for every cell up to the larger of the second: Georgia kept melon 8 weeks in 50 cm3;
    # with Athena in 102.5 and 280.8 cm3 two weeks after emergence gave more early fruit than four. The trade's 3 weeks for
    # 43 ml are not shortened by that.
    for volume in (50, 66, 106, 171, 200, 280):
        melon = db.materials.stay(db.crop("melon"), volume)
        assert melon.disagree and (melon.safe_weeks, melon.limit_weeks) == (3, 8)


def test_a_larger_cell_holds_no_crop_for_a_shorter_time(db: Catalog) -> None:
    """Every crop, every container, and volumes between: neither end falls, and no known limit comes back once it is gone."""
    volumes = sorted(
        {each.volume_low_ml for each in db.containers.values() if each.volume_low_ml} | {41, 45, 52.6, 106, 163, 290}
    )
    for crop in map(db.crop, db):
        stays = [db.materials.stay(crop, volume) for volume in volumes]
        safe = [stay.safe_weeks or 0.0 for stay in stays]
        limits = [math.inf if stay.limit_weeks is None else stay.limit_weeks for stay in stays]
        assert safe == sorted(safe) and limits == sorted(limits), (crop.id, safe, limits)
        assert all(shorter <= longer for shorter, longer in zip(safe, limits, strict=True)), crop.id


def test_cautions_for_a_mix_speak_of_what_is_in_it(db: Catalog) -> None:
    by_id = {each.caution_id: each for each in db.material_cautions}
    block = db.media["block-mix"]
    inside = tuple(each.component for each in block.components)
    assert by_id["blood_meal_pets"].concerns(frozenset({"block"}), inside)
    assert by_id["perlite_dust"].concerns(frozenset({"tray"}), inside)
    assert not by_id["vermiculite_dust"].concerns(frozenset({"tray"}), inside)
    assert by_id["vermiculite_dust"].concerns(frozenset({"tray"}))  # mix not known
    assert not by_id["towel_sprouts"].concerns(frozenset({"tray"}))
    assert not by_id["sphagnum_moss"].concerns(frozenset({"pot"}), inside)  # peat is not the living moss


def test_reading_them_imports_nothing_heavy() -> None:
    code = (
        "import sys, cropdata; db = cropdata.open(); db.containers; db.methods; db.media; db.material_cautions; "
        "db.materials.span('life', method='tray'); print(sorted({'numpy', 'pandas', 'scipy', 'typing', 're'} & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-I", "-S", "-c", f"import sys; sys.path.insert(0, {str(Path(cropdata.__file__).parents[1])!r}); {code}"],
                         capture_output=True, text=True, check=True)  # fmt: skip
    heavy = eval(out.stdout)
    assert not {"numpy", "pandas", "scipy"} & set(heavy), heavy


CONTAINERS = (
    "container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit,price_low,price_high,currency,"
    "life_low,life_high,action\n"
)


def test_a_grower_adds_overrides_and_hides(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(
        containers=CONTAINERS
        + "tray-77,tray,My tray of 77,77,unit,2.75,2.75,in3,12,14,EUR,8,10,\n"
        + "tray-72,tray,My deep 72,,,60,60,ml,,,,,,override\n"
        + "foam-200,,,,,,,,,,,,,hide\n",
        media="recipe_id,component,parts,use\nleaf-mould,leaf mould,2,sowing\nleaf-mould,sharp sand,1,sowing\n",
    )
    assert cropdata.check(layer).ok
    db = cropdata.open(layers=[layer])
    mine = db.containers["tray-77"]
    assert mine.volume_low_ml == pytest.approx(2.75 * 16.387064, abs=0.005)
    assert (mine.layer, mine.source_id, mine.price_high, mine.currency) == (
        "invented_notes",
        "invented_notes",
        14,
        "EUR",
    )
    deep = db.containers["tray-72"]
    assert (deep.volume_low_ml, deep.units_per_tray, deep.name) == (60, 72, "My deep 72")  # what it does not say stays
    assert "foam-200" not in db.containers and "foam-200" in cropdata.open().containers
    assert db.media["leaf-mould"].parts == {"leaf mould": 2, "sharp sand": 1}
    frame = db.table("containers")
    assert set(frame["container_id"]) == set(db.containers)
    assert frame.set_index("container_id").loc["tray-77", "layer"] == "invented_notes"


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("tray-72,tray,Twice,,,,,,,,,,,", "row 2: tray-72 exists already; use action override"),
        ("tray-9000,tray,Gone,,,,,,,,,,,hide", "row 2: nothing to hide for tray-9000"),
        (",tray,Nameless,,,,,,,,,,,", "row 2: container_id must be given"),
        ("bucket,bucket,Bucket,,,,,,,,,,,", "row 2, method_id: found 'bucket'; allowed: towel, tray"),
        ("cup,pot,Cup,,unit,3,3,cups,,,,,,", "row 2, volume_unit: found 'cups'"),
        ("cup,,Cup,,,,,,,,,,,", "row 2, method_id: missing; allowed: towel, tray"),
        ("cup,pot,Cup,,unit,60,60,,,,,,,", "row 2, volume_unit: missing; allowed: ml, cm3"),
        ("cup,pot,Cup,,,,,,9,3,USD,,,", "row 2: price_low 9 is above price_high 3; swap them"),
        ("cup,pot,Cup,,,,,,3,9,,,,", "row 2, currency: missing; allowed: three letters"),
        ("cup,pot,Cup,,,,,,,,,0.5,0.5,", "row 2, life_low: found 0.5; allowed: 1 to 100"),
        ("cup,pot,Cup,0,,,,,,,,,,", "row 2, units_per_tray: found 0; allowed: 1 to 2000"),
        ("tray-72,,,,,60,40,ml,,,,,,override", "row 2: volume_low 60 is above volume_high 40"),
    ],
)
def test_a_mistake_in_a_layer_is_told_when_it_is_opened(
    write_layer: Callable[..., Path], row: str, message: str
) -> None:
    layer = write_layer(containers=CONTAINERS + row + "\n")
    with pytest.raises(LayerError, match=message):
        cropdata.open(layers=[layer])
    assert not cropdata.check(layer).ok


def test_parts_below_nothing_are_refused(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(media="recipe_id,component,parts,action\npeat-perlite,sphagnum peat,-3,override\n")
    with pytest.raises(LayerError, match="media.csv, row 2, parts: found -3; allowed: 0 and more"):
        cropdata.open(layers=[layer])


def test_figures_that_belong_together_are_replaced_together(write_layer: Callable[..., Path]) -> None:
    """40 ml by one row and 23 cm3 by the other are no cell of 40 to 23: the upper end is then not known."""
    layer = write_layer(containers="container_id,volume_low,volume_unit,action\ntray-128,40,ml,override\n")
    tray = cropdata.open(layers=[layer]).containers["tray-128"]
    assert (tray.volume_low_ml, tray.volume_high_ml, tray.units_per_tray) == (40, None, 128)
    assert tray.filled_litres(128, 1) is None


def test_what_another_printed_is_not_said_of_the_growers_own(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(containers="container_id,price_low,price_high,currency,action\ntray-128,3,4,USD,override\n")
    tray = cropdata.open(layers=[layer]).containers["tray-128"]
    assert (tray.source_id, tray.locator) == ("invented_notes", "containers.csv row 2")
    assert tray.printed == "price low 3; price high 4; currency USD"
    assert tray.note == "the rest as in omafra_plug_trays, Table 1" and tray.volume_low_ml == 23
