"""Opening a layer is as strict as the check, and the check as lenient; whose a source is stays what the grower wrote."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.tabular.values import form_words, in_form

Write = Callable[..., Path]
PACKAGE = Path(__file__).resolve().parents[2] / "datapackage"


@pytest.mark.parametrize("crop_id", ["T V", "A B/../x", "Pea_Tall", "1st"])
def test_an_id_of_another_form_is_refused_by_both(write_layer: Write, crop_id: str) -> None:
    layer = write_layer(crops=f"crop_id,parent_id\n{crop_id},tomato\n")
    with pytest.raises(cropdata.LayerError, match="row 2, crop_id: found .* allowed: small letters a to z and digits"):
        cropdata.open(layers=[layer])
    (found,) = cropdata.check(layer).errors
    assert (found.row, found.column, found.rule) == (2, "crop_id", "cell-pattern")


def test_each_pattern_of_a_layer_is_told_in_words() -> None:
    for table in json.loads((PACKAGE / "datapackage.json").read_text(encoding="utf-8"))["resources"]:
        if table["path"].startswith("evidence/") or table["name"] in ("crops", "sources", "containers", "media"):
            for field in table["schema"]["fields"]:
                pattern = field.get("constraints", {}).get("pattern")
                assert pattern is None or "[" not in form_words(pattern), pattern


def test_a_text_is_put_into_form_where_that_is_plain() -> None:
    hyphens, underscores = "(?:[a-z][a-z0-9]*(?:-[a-z0-9]+)*)", "(?:[a-z][a-z0-9]*(?:_[a-z0-9]+)*)"
    assert in_form("Pea Tall", hyphens) == "pea-tall" and in_form("Pea Tall", underscores) == "pea_tall"
    assert in_form("eur", "(?:[A-Z]{3})") == "EUR" and in_form("Süß", hyphens) is None


def test_a_crop_does_not_take_another_ones_name_unseen(write_layer: Write) -> None:
    """`show aubergine` was then a tomato. Said in crop_names.csv, it is meant."""
    crops = "crop_id,parent_id\naubergine,tomato\n"
    layer = write_layer(crops=crops)
    with pytest.raises(cropdata.LayerError, match="crop_id: aubergine is a name of eggplant already"):
        cropdata.open(layers=[layer])
    assert cropdata.check(layer).errors
    meant = write_layer("Meant", crops=crops, crop_names="name,crop_id,action\naubergine,aubergine,override\n")
    assert cropdata.open(layers=[meant]).crop("aubergine").parent_id == "tomato"
    assert not cropdata.check(meant).errors


def test_blank_rows_are_passed_over_by_both(write_layer: Write) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit\nonion,1,2,years\n\n,,,\nleek,1,2,years\n")
    assert cropdata.open(layers=[layer]).crop("leek").seed_longevity
    report = cropdata.check(layer)
    assert report.ok and [(item.row, item.rule) for item in report.warnings] == [(3, "file-blank-row"), (4, "file-blank-row")]  # fmt: skip


def test_a_container_that_is_gone_is_told_with_what_to_do(write_layer: Write) -> None:
    layer = write_layer(containers="container_id,price_low,price_high,currency,action\ntray-1280,2,3,USD,override\n")
    with pytest.raises(cropdata.LayerError, match="did you mean tray-128 .*use action add"):
        cropdata.open(layers=[layer])


@pytest.mark.parametrize("source", ["memory", "Memory", "MEMORY", "from memory", "From memory", "from_memory", "from memory; no page found"])  # fmt: skip
def test_what_is_recalled_is_not_published(write_layer: Write, source: str) -> None:
    layer = write_layer(seed_longevity=f"crop_id,low,high,unit,source_id,action\nonion,2,2,years,{source},override\n")
    life = cropdata.open(layers=[layer]).crop("onion").seed_longevity
    assert life and (life.basis, life.sources) == ("from_memory", ("memory",))
    assert cropdata.check(layer).findings == ()


def test_a_recalled_tray_is_not_published_and_a_contradiction_is_told(write_layer: Write) -> None:
    layer = write_layer(
        containers="container_id,price_low,currency,source_id,action\ntray-128,2,USD,From memory,override\n",
        seed_longevity="crop_id,low,high,unit,source_id,basis,action\nonion,2,2,years,from memory,published,override\n",
    )
    tray = cropdata.open(layers=[layer]).containers["tray-128"]
    assert (tray.basis, tray.source_id) == ("from_memory", "memory")
    (told,) = cropdata.check(layer).findings
    assert (told.rule, told.row, told.column) == ("basis-against-source", 2, "basis")


def test_a_source_in_words_is_not_laid_to_the_release(write_layer: Write, package: Path) -> None:
    """The release has a source of that id, and another title."""
    path = package / "reference" / "sources.csv"
    rows = path.read_text(encoding="utf-8").splitlines()
    assert any(line.startswith("csu_7221,") for line in rows)
    header, cells = rows[0].split(","), {"source_id": "aunt_may", "title": "Other Aunt", "kind": "other", "lineage": "aunt_may", "grade": "c", "licence_note": "invented"}  # fmt: skip
    rows.insert(next(n for n, line in enumerate(rows) if n and line > "aunt_may"), ",".join(cells.get(name, "") for name in header))  # fmt: skip
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    layer = write_layer(
        seed_longevity="crop_id,low,high,unit,source_id,action\nonion,9,9,years,Aunt May,override\n"
        "leek,9,9,years,CSU 7221,override\ncarrot,9,9,years,other aunt,override\n"
    )
    catalog = cropdata.open(package, layers=[layer])
    titles = {}
    for crop in ("onion", "leek", "carrot"):
        life = catalog.crop(crop).seed_longevity
        assert life
        titles[crop] = catalog.sources[life.sources[0]].title
    assert titles == {"onion": "Aunt May", "leek": "CSU 7221", "carrot": "other aunt"}
