"""What only shows when a layer is laid over the release is told with its place, beside every other mistake."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata

Write = Callable[..., Path]
LIFE = "crop_id,low,high,unit,action,expects_low\n"


def _errors(layer: Path) -> set[tuple[str, int | None, str | None, str]]:
    return {(item.file, item.row, item.column, item.rule) for item in cropdata.check(layer).errors}


def test_each_mistake_is_told_whatever_else_is_wrong(write_layer: Write) -> None:
    """An unmet expectation, a second one, nothing to hide and a misspelt crop, all in one run."""
    layer = write_layer(
        seed_longevity=LIFE + "onion,1,2,years,override,77\nleek,1,2,years,override,78\nonoin,1,2,years,add,\n",
        light="crop_id,action\nlettuce,hide\n",
    )
    assert _errors(layer) == {
        ("seed_longevity.csv", 2, "expects_low", "layer-does-not-fit"),
        ("seed_longevity.csv", 3, "expects_low", "layer-does-not-fit"),
        ("seed_longevity.csv", 4, "crop_id", "link-broken"),
        ("light.csv", 2, None, "layer-does-not-fit"),
    }


def test_two_crops_of_one_id_are_told_beside_a_misspelt_one(write_layer: Write) -> None:
    """Once only the misspelt packet was told, and of a crop that exists the wrong rows were blamed."""
    layer = write_layer(
        crops="crop_id,parent_id,note\nred-ridge,tomato,a\ngold-ridge,tomato,b\nred-ridge,tomato,c\ntomato,tomato,d\n",
        packets="crop_id,habit\nred-ridge,bush\ngold-rigde,bush\n",
    )
    assert _errors(layer) == {
        ("crops.csv", 4, "crop_id", "key-twice"),
        ("crops.csv", 5, "crop_id", "key-twice"),
        ("packets.csv", 3, "crop_id", "link-broken"),
    }


def test_an_excused_figure_does_not_hide_what_does_not_fit(write_layer: Write) -> None:
    layer = write_layer(
        settings="exceptions:\n  - {file: sowing_depth.csv, row: 2, rule: slip-ten-times, reason: mice}\n",
        sowing_depth="crop_id,low,high,unit\npea,300,300,mm\n", light="crop_id,action\nlettuce,hide\n",
    )  # fmt: skip
    assert _errors(layer) == {("light.csv", 2, None, "layer-does-not-fit")}


@pytest.mark.parametrize(
    ("table", "text", "place"),
    [
        ("seed_longevity", LIFE + "onion,1,2,years,override,77\n", (2, "expects_low")),
        ("seed_longevity", LIFE + "onoin,1,2,years,add,\n", (2, "crop_id")),
        ("seed_longevity", "crop,low\nonion,1\n", (1, None)),
        ("crops", "crop_id,parent_id\nmine,tomatoe\n", (2, "parent_id")),
    ],
)
def test_an_error_knows_its_file_row_and_column(
    write_layer: Write, table: str, text: str, place: tuple[int, str | None]
) -> None:
    layer = write_layer(**{table: text})
    with pytest.raises(cropdata.LayerError) as caught:
        cropdata.open(layers=[layer])
    for error in (caught.value, pickle.loads(pickle.dumps(caught.value))):
        assert (error.file, error.row, error.column) == (str(layer / f"{table}.csv"), *place)
        assert str(error).endswith(f": {error.fault}")
