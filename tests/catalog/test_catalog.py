from __future__ import annotations

import pickle
import subprocess
import sys

import pandas as pd
import pytest

import cropdata
from cropdata.catalog import HEADLINE, Catalog

HEAVY = ("numpy", "pandas", "scipy", "yaml", "frictionless", "pandera")


def test_version_and_size(db: Catalog) -> None:
    assert db.version.count(".") == 2
    ids = list(db)
    assert len(ids) == len(db) == len(set(ids)) >= 70
    assert ids == sorted(ids)
    assert all(crop_id in db for crop_id in ids)


def test_at_least_thirty_crops_are_complete_from_published_sources(db: Catalog) -> None:
    def published(crop: cropdata.Crop, trait: str) -> bool:
        answer = crop.trait(trait) or crop.not_done(trait)
        if answer is None:  # days by temperature only
            return trait == "days_to_emergence" and crop.status(trait) == "recorded"
        return answer.basis in ("published", "derived")

    complete = [crop.id for crop in db.find(complete=True) if all(published(crop, trait) for trait in HEADLINE)]
    assert len(complete) >= 30, complete


def test_a_crop_tells_what_it_is(db: Catalog) -> None:
    crop = db.crop("tomato")
    assert (crop.id, crop.name, crop.scientific_name, crop.family, crop.group, crop.parent_id) == (
        "tomato", "Tomato", "Solanum lycopersicum", "Solanaceae", "vegetable", None,
    )  # fmt: skip


def test_records_are_frozen_comparable_and_survive_pickling(db: Catalog) -> None:
    depth = db.crop("tomato").sowing_depth
    assert depth is not None
    with pytest.raises(AttributeError, match="frozen"):
        depth.low = 1.0
    with pytest.raises(AttributeError, match="frozen"):
        db.crop("tomato").name = "x"  # type: ignore[misc]
    assert pickle.loads(pickle.dumps(depth)) == depth
    assert hash(pickle.loads(pickle.dumps(depth))) == hash(depth)


@pytest.mark.parametrize("error", [
    cropdata.UnknownCropError("x", ("y",)), cropdata.AmbiguousCropError("x", ("y", "z")),
    cropdata.InputError("bad", file="f.csv", row=3, column="low", found="x", allowed="a number", hint="mend"),
    cropdata.DataError("d"), cropdata.LayerError("l"), cropdata.MissingExtraError("charts", "pictures"), cropdata.NoUsableEstimate("n"),
])  # fmt: skip
def test_every_error_can_be_pickled(error: cropdata.CropdataError) -> None:
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error) and str(again) == str(error) and again.__dict__ == error.__dict__
    assert isinstance(again, cropdata.CropdataError)


def test_error_messages_help() -> None:
    error = cropdata.InputError("bad", file="f.csv", row=3, column="low", allowed="a number", hint="mend it")
    assert str(error) == "f.csv, row 3, low: bad; allowed: a number (mend it)"
    assert isinstance(error, ValueError)
    assert "pip install 'cropdata[pictures]'" in str(cropdata.MissingExtraError("charts", "pictures"))


def test_not_recorded_and_not_applicable_are_told_apart(db: Catalog) -> None:
    carrot = db.crop("carrot")
    assert carrot.weeks_before_last_frost is None
    assert carrot.status("weeks_before_last_frost") == "not_applicable"
    saying = carrot.not_done("weeks_before_last_frost")
    assert saying is not None and saying.sources and saying.basis == "published"
    assert {row["practice"] for row in carrot.evidence("weeks_before_last_frost")} == {"under_cover"}
    unknown = next(crop for crop in db.find(group="flower") if crop.seed_longevity is None)
    assert unknown.status("seed_longevity") == "not_recorded" and unknown.not_done("seed_longevity") is None


def test_an_unknown_trait_names_the_known_ones(db: Catalog) -> None:
    with pytest.raises(cropdata.InputError, match="no trait is called 'depth'.*sowing_depth"):
        db.crop("tomato").status("depth")
    with pytest.raises(cropdata.InputError, match="allowed:.*light"):
        db.crop("tomato").evidence("nonsense")


def test_ranges_convert(db: Catalog) -> None:
    depth = db.crop("bean-snap").sowing_depth
    assert depth is not None
    inches = depth.to("in")
    assert (inches.low * 25.4, inches.high * 25.4, inches.unit) == (
        pytest.approx(depth.low),
        pytest.approx(depth.high),
        "in",
    )
    assert inches.sources == depth.sources
    with pytest.raises(cropdata.InputError, match="mm cannot be turned into 'weeks'"):
        depth.to("weeks")


def test_evidence_is_as_printed_and_names_its_source(db: Catalog) -> None:
    rows = db.crop("onion").evidence("seed_longevity")
    assert rows
    for row in rows:
        assert row["printed"] == row.printed and row["locator"]
        source = db.sources[row.source_id]
        assert source.title and source.lineage
    with pytest.raises(AttributeError, match="it has"):
        _ = rows[0].nonsense
    with pytest.raises(TypeError):
        db.sources["x"] = None  # type: ignore[index]


def test_set_aside_rows_are_shown_with_the_reason_and_do_not_count(db: Catalog) -> None:
    aside = [row for row in db.crop("eggplant").evidence("days_to_emergence") if row["set_aside"]]
    assert aside and all("one column" in str(row["set_aside"]) for row in aside)
    estimate = db.crop("eggplant").days_to_emergence(25)
    assert estimate is not None and estimate.expected == 8  # not the shifted copy's figure


def test_tables_are_typed_copies(db: Catalog) -> None:
    frame = db.table("sowing_depth")
    assert isinstance(frame, pd.DataFrame) and str(frame["low"].dtype) == "float64"
    frame.loc[:, "low"] = -1
    assert (db.table("sowing_depth")["low"].dropna() >= 0).all()
    assert str(db.table("frost_tolerance")["rank"].dtype) == "Int64"
    assert str(db.table("consensus")["open_low"].dtype) == "boolean"
    with pytest.raises(cropdata.InputError, match="no table is called 'depths'.*sowing_depth"):
        db.table("depths")


def test_two_catalogs_share_nothing() -> None:
    one, two = cropdata.open(), cropdata.open()
    assert one.crop("tomato") is one.crop("Tomato")
    assert one.crop("tomato") != two.crop("tomato")


def test_types_inherit_within_their_species(db: Catalog) -> None:
    pole = db.crop("bean-pole")
    assert pole.parent_id == "bean"
    assert pole.germination_temperature is not None and pole.germination_temperature.inherited_from == "bean"
    assert pole.days_to_emergence(25) is not None
    assert db.crop("bean-lima").parent_id is None and db.crop("bean-runner").parent_id is None


def test_find(db: Catalog) -> None:
    found = db.find(group="vegetable", family="Cucurbitaceae")
    assert {"cucumber", "melon", "watermelon"} <= {crop.id for crop in found}
    assert {crop.id for crop in db.find("pole")} == {"bean-lima-pole", "bean-pole"}
    assert {"tomato", "pepper"}.isdisjoint(crop.id for crop in db.find(germinates_at_c=5))
    assert "pea" in {crop.id for crop in db.find(germinates_at_c=5)}
    assert "tomato" not in {crop.id for crop in db.find(hardy=True)} and "tomato" in {
        crop.id for crop in db.find(hardy=False)
    }
    assert "carrot" in {crop.id for crop in db.find(under_cover=False)}
    assert all(crop.seed_longevity for crop in db.find(recorded="seed_longevity"))
    assert {crop.parent_id for crop in db.find(parent="lettuce")} == {"lettuce"}
    with pytest.raises(cropdata.InputError, match="empty"):
        db.find("  ")
    with pytest.raises(cropdata.InputError, match="no crop has the group 'fruit'.*vegetable"):
        db.find(group="fruit")


def test_weeks_before_last_frost_are_reckoned_from_the_other_two_where_not_printed(db: Catalog) -> None:
    crop = db.crop("broccoli")
    before, weeks, offset = crop.weeks_before_last_frost, crop.weeks_to_raise, crop.planting_out_weeks
    assert before and weeks and offset and before.basis == "derived"
    assert (before.low, before.high) == (
        pytest.approx(weeks.low - offset.high, abs=0.02),
        pytest.approx(weeks.high - offset.low, abs=0.02),
    )
    assert before.derived_from == ("weeks_to_raise", "planting_out_weeks")
    assert {row["table"] for row in crop.evidence("weeks_before_last_frost")} >= {
        "weeks_to_raise",
        "planting_out_weeks",
    }


def test_cautions_name_their_source(db: Catalog) -> None:
    rows = db.crop("castor bean").cautions
    assert rows and all(row["hazard"] and row["source_id"] in db.sources for row in rows)


def _modules_after(code: str) -> set[str]:
    out = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys; print(*sys.modules)"], capture_output=True, text=True, check=True
    )
    return {name.split(".")[0] for name in out.stdout.split()}


def test_nothing_heavy_is_imported_for_a_look_up() -> None:
    loaded = _modules_after(
        "import cropdata; db = cropdata.open(); c = db.crop('Tomato'); c.sowing_depth; c.germination_temperature; c.seed_longevity; c.status('light') if False else None"
    )
    assert loaded.isdisjoint(HEAVY), loaded & set(HEAVY)


def test_showing_a_crop_imports_nothing_heavy() -> None:
    loaded = _modules_after(
        "import contextlib, io, cropdata.cli\nwith contextlib.redirect_stdout(io.StringIO()): cropdata.cli.main(['show', 'tomato'])"
    )
    assert loaded.isdisjoint(HEAVY), loaded & set(HEAVY)


def test_importing_says_nothing_and_logs_nothing() -> None:
    out = subprocess.run(
        [sys.executable, "-W", "error", "-c", "import cropdata; cropdata.open().crop('tomato')"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert out.stdout == out.stderr == ""
