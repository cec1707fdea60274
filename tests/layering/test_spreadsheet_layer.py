"""Fifteen varieties in a spreadsheet made by hand, with six mistakes in it, and what the grower is told."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from by_hand import MISTAKES, make

import cropdata

Run = Callable[..., subprocess.CompletedProcess[str]]
# What each mistake must be told as: sheet, row, column, and words that a grower understands.
TOLD = [
    ("seed_longevity", 3, "high", "has a decimal comma"),
    ("days_to_emergence", 2, "low", "was it typed as 7-10 or 10-7? The spreadsheet made a date of it"),
    ("packets", 5, "crop_id", "has blanks at its ends"),
    ("crops", 14, "parent_id", "did you mean squash-zucchini"),
    ("sowing_depth", 2, "low", "looks like inches typed as millimetres"),
    ("packets", 10, "unit", "low has a number and no unit"),
]


def test_all_six_are_told_at_once_and_nothing_is_written(tmp_path: Path, run: Run) -> None:
    file = make(tmp_path / "my-varieties.xlsx", MISTAKES)
    done = run("layer", "from-xlsx", file, tmp_path / "mine")
    assert done.returncode == 1 and not (tmp_path / "mine").exists()
    part = ""
    told: dict[tuple[str, str], str] = {}
    for line in done.stdout.splitlines():
        if line.startswith("sheet "):
            part = line.removeprefix("sheet ")
        elif line.startswith("  error row "):
            told[part, line.removeprefix("  error row ").partition(" [")[0]] = line
    for sheet, row, column, words in TOLD:
        assert words in told.pop((sheet, f"{row}, {column}"))
    assert set(told) <= {("sowing_depth", "2, high")}  # the other end of the same figure
    assert "Nothing was written" in done.stdout.splitlines()[-1]


@pytest.mark.parametrize("number", range(len(MISTAKES)), ids=[item[3][:22] for item in TOLD])
def test_each_by_itself_is_told_and_nothing_else(tmp_path: Path, run: Run, number: int) -> None:
    sheet, row, column, words = TOLD[number]
    done = run("layer", "from-xlsx", make(tmp_path / "x.xlsx", [MISTAKES[number]]), tmp_path / "mine", "--json")
    import json

    findings = json.loads(done.stdout)["report"]["findings"]
    places = {(item["file"], item["row"], item["column"]) for item in findings}
    assert places - {("sheet sowing_depth", 2, "high")} == {(f"sheet {sheet}", row, column)}
    assert any(words in f"{item['message']} {item['hint']}" for item in findings)


def test_mended_it_answers(tmp_path: Path, run: Run) -> None:
    done = run(
        "layer",
        "from-xlsx",
        make(tmp_path / "my-varieties.xlsx", []),
        tmp_path / "mine",
        "--author",
        "A. Grower (invented)",
    )
    assert done.returncode == 0, done.stdout
    assert cropdata.check(tmp_path / "mine").findings == ()
    db = cropdata.open(layers=[tmp_path / "mine"])
    (layer,) = db.layers
    assert (layer.title, layer.author) == ("My varieties", "A. Grower (invented)")
    varieties = [row["crop_id"] for row in layer.rows["crops"]]
    assert len(varieties) == 15 and all(db.crop(crop_id).parents and db.crop(crop_id).packets for crop_id in varieties)
    depth = db.crop("Station Road").sowing_depth
    assert depth and (depth.low, depth.high) == (38.1, 50.8)  # 1.5 and 2 inches
    life = db.crop("onion").seed_longevity
    assert life and (life.low, life.high, life.layer) == (1, 2, "my_varieties")
