from __future__ import annotations

import pytest

import cropdata
from cropdata.catalog import Catalog


@pytest.mark.parametrize(
    ("typed", "crop_id"),
    [
        ("tomato", "tomato"),
        ("TOMATO ", "tomato"),
        ("  Tomato", "tomato"),
        ("tomatoes", "tomato"),
        ("Solanum lycopersicum", "tomato"),
        ("Lycopersicon esculentum", "tomato"),
        ("aubergine", "eggplant"),
        ("Möhre", "carrot"),
        ("zanahoria", "carrot"),
        ("courgette", "squash-zucchini"),
        ("rocket", "arugula"),
        ("snap bean", "bean-snap"),
        ("bean snap", "bean-snap"),
        ("Bean_Snap", "bean-snap"),
        ("epinard", "spinach"),
        ("radishes", "radish"),
        ("ｔｏｍａｔｏ", "tomato"),
    ],
)
def test_names_lead_where_one_hopes(db: Catalog, typed: str, crop_id: str) -> None:
    assert db.crop(typed).id == crop_id
    assert typed in db


def test_a_near_miss_is_suggested(db: Catalog) -> None:
    with pytest.raises(cropdata.UnknownCropError, match="did you mean tomato") as caught:
        db.crop("tomatoe")
    assert caught.value.suggestions[0] == "tomato"
    assert isinstance(caught.value, LookupError)


@pytest.mark.parametrize("typed", ["", "   ", "\t"])
def test_an_empty_name_is_refused(db: Catalog, typed: str) -> None:
    with pytest.raises(cropdata.InputError, match="the name of a crop is empty"):
        db.crop(typed)
    assert typed not in db


@pytest.mark.parametrize("typed", ["xyzzy", "qqqqqqqq", "12345", "🍅"])
def test_nonsense_is_unknown(db: Catalog, typed: str) -> None:
    with pytest.raises(cropdata.UnknownCropError, match="no crop is called"):
        db.crop(typed)
    assert typed not in db


def test_a_name_of_several_crops_names_them(db: Catalog) -> None:
    with pytest.raises(cropdata.AmbiguousCropError, match="beet, chard") as caught:
        db.crop("Beta vulgaris")
    assert caught.value.suggestions == ("beet", "chard")
    assert "Beta vulgaris" in db


def test_something_that_is_no_text_is_refused(db: Catalog) -> None:
    with pytest.raises(cropdata.InputError, match="the name of a crop is a text"):
        db.crop(7)  # type: ignore[arg-type]
    assert 7 not in db


def test_every_listed_name_leads_to_its_crop_or_to_candidates(db: Catalog) -> None:
    for name, crop_id in db.table("crop_names")[["name", "crop_id"]].itertuples(index=False):
        try:
            found = {db.crop(name).id}
        except cropdata.AmbiguousCropError as error:
            found = set(error.suggestions)
        # An id means its own crop even where another crop carries the same word as a name (salvia).
        assert crop_id in found or name.casefold().replace(" ", "-") in db, name
