"""Legal minimum germination: every kind of 7 CFR 201.31, read through the public interface.

Source: Federal Seed Act Regulations, 7 CFR Part 201, section 201.31 (2015 annual edition, U.S. Government
Publishing Office). Figures typed from that section: kind as printed, our crop, percent.
"""

from __future__ import annotations

import pytest

from cropdata.catalog import Catalog

pytestmark = pytest.mark.published

KINDS = [
    ("artichoke", "artichoke", 60),
    ("asparagus", "asparagus", 70),
    ("asparagusbean", "bean-yardlong", 75),
    ("bean, garden", "bean-snap", 70),
    ("bean, lima", "bean-lima", 70),
    ("bean, runner", "bean-runner", 75),
    ("beet", "beet", 65),
    ("broadbean", "bean-fava", 75),
    ("broccoli", "broccoli", 75),
    ("brussels sprouts", "brussels-sprouts", 70),
    ("burdock, great", "burdock", 60),
    ("cabbage", "cabbage", 75),
    ("cabbage, tronchuda", "cabbage-tronchuda", 70),
    ("cardoon", "cardoon", 60),
    ("carrot", "carrot", 55),
    ("cauliflower", "cauliflower", 75),
    ("celeriac", "celeriac", 55),
    ("celery", "celery", 55),
    ("chard, swiss", "chard", 65),
    ("chicory", "chicory", 65),
    ("chinese cabbage", "chinese-cabbage", 75),
    ("chives", "chives", 50),
    ("citron", "citron-melon", 65),
    ("collards", "collard", 80),
    ("corn, sweet", "corn-sweet", 75),
    ("cornsalad", "corn-salad", 70),
    ("cowpea", "cowpea", 75),
    ("cress, garden", "cress-garden", 75),
    ("cress, upland", "cress-upland", 60),
    ("cress, water", "watercress", 40),
    ("cucumber", "cucumber", 80),
    ("dandelion", "dandelion", 60),
    ("dill", "dill", 60),
    ("eggplant", "eggplant", 60),
    ("endive", "endive", 70),
    ("kale", "kale", 75),
    ("kale, chinese", "chinese-kale", 75),
    ("kale, siberian", "kale-siberian", 75),
    ("kohlrabi", "kohlrabi", 75),
    ("leek", "leek", 60),
    ("lettuce", "lettuce", 80),
    ("melon", "melon", 75),
    ("mustard, india", "mustard", 75),
    ("mustard, spinach", "komatsuna", 75),
    ("okra", "okra", 50),
    ("onion", "onion", 70),
    ("onion, welsh", "onion-bunching", 70),
    ("pak-choi", "pak-choi", 75),
    ("parsley", "parsley", 60),
    ("parsnip", "parsnip", 60),
    ("pea", "pea", 80),
    ("pepper", "pepper", 55),
    ("pumpkin", "pumpkin", 75),
    ("radish", "radish", 75),
    ("rhubarb", "rhubarb", 60),
    ("rutabaga", "rutabaga", 75),
    ("sage", "sage", 60),
    ("salsify", "salsify", 75),
    ("savory, summer", "savory-summer", 55),
    ("sorrel", "sorrel", 65),
    ("soybean", "soybean", 75),
    ("spinach", "spinach", 60),
    ("spinach, new zealand", "new-zealand-spinach", 40),
    ("squash", "squash", 75),
    ("tomato", "tomato", 75),
    ("tomato, husk", "ground-cherry", 50),
    ("turnip", "turnip", 80),
    ("watermelon", "watermelon", 70),
]


@pytest.mark.parametrize(("kind", "crop", "percent"), KINDS, ids=[kind for kind, *_ in KINDS])
def test_the_minimum_of_the_regulation(db: Catalog, kind: str, crop: str, percent: int) -> None:
    rows = [row for row in db.crop(crop).evidence("germination_standards") if row["jurisdiction"] == "United States"]
    assert percent in [row["percent"] for row in rows]


def test_no_kind_is_left_out_and_none_is_added(db: Catalog) -> None:
    stored = db.table("germination_standards")
    stored = stored[stored["jurisdiction"] == "United States"]
    assert sorted(zip(stored["crop_id"], stored["percent"], strict=True)) == sorted((crop, p) for _, crop, p in KINDS)
