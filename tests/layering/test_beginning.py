"""`cropdata layer new`: a folder that explains itself, whose examples work once their # is gone."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.layering import begin_layer

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def folder(tmp_path: Path, db: cropdata.Catalog) -> Path:
    begin_layer(tmp_path / "my-notes", db.descriptor, author="A. Grower (invented)")
    return tmp_path / "my-notes"


def _uncomment(path: Path) -> int:
    """Take the # from the examples, as a grower does: from the line that is a row of its own. Returns how many."""
    lines = path.read_text(encoding="utf-8").splitlines()
    examples = [line for line in lines if line.startswith("#") and not line.startswith("# ")]
    path.write_text(
        "\n".join(line.removeprefix("#") if line in examples else line for line in lines) + "\n", encoding="utf-8"
    )
    return len(examples)


def test_as_written_it_checks_clean_and_changes_nothing(folder: Path, db: cropdata.Catalog) -> None:
    report = cropdata.check(folder)
    assert report.findings == () and report.files == 18 and report.rows == 0
    opened = cropdata.open(layers=[folder])
    assert opened.crop("tomato").facts() == db.crop("tomato").facts() and len(opened) == len(db)
    (layer,) = opened.layers
    assert (layer.title, layer.author, layer.made_for) == ("My notes", "A. Grower (invented)", db.version)


@pytest.mark.parametrize("name", [
    "crops", "crop_names", "packets", "sowing_depth", "germination_temperature", "days_to_emergence", "weeks_to_raise",
    "planting_out_weeks", "weeks_before_last_frost", "direct_sowing_weeks", "seed_longevity", "spacing_in_row",
    "spacing_between_rows", "days_to_maturity", "containers", "media", "sources",
])  # fmt: skip
def test_each_example_works_by_itself(folder: Path, name: str) -> None:
    assert _uncomment(folder / f"{name}.csv") == 1
    report = cropdata.check(folder)
    assert report.rows == 1 and report.ok, report.text()
    assert {item.rule for item in report.findings} <= {"source-not-cited"}
    table = cropdata.open(layers=[folder]).table(name)
    assert list(table["layer"]).count("my_notes") == (2 if name == "sources" else 1)


def test_all_examples_work_together_and_are_answered(folder: Path) -> None:
    assert sum(_uncomment(path) for path in folder.glob("*.csv")) == 17
    assert cropdata.check(folder).findings == ()
    db = cropdata.open(layers=[folder])
    life = db.crop("onion").seed_longevity
    assert life and (life.low, life.high, life.sources) == (1, 2, ("a_neighbours_notebook",))
    assert db.crop("love apple").id == "tomato" and db.crop("Hill Farm").parents == ("tomato",)
    assert [packet["habit"] for packet in db.crop("tomato").packets] == ["cordon"]


def test_nothing_is_overwritten(folder: Path, run: Run) -> None:
    before = sorted((path.name, path.read_bytes()) for path in folder.iterdir())
    done = run("layer", "new", folder)
    assert done.returncode == 2 and "is there already, and nothing is overwritten" in done.stderr
    assert sorted((path.name, path.read_bytes()) for path in folder.iterdir()) == before
    assert sorted(path.name for path in folder.parent.iterdir()) == ["my-notes"]


def test_a_title_is_text_whatever_it_holds(tmp_path: Path, run: Run) -> None:
    title = 'Notes: "early" # 2026, für Anna'
    done = run("layer", "new", tmp_path / "deep" / "x", "--title", title, "--author", "*anna", "--json")
    shown = json.loads(done.stdout)
    assert shown["format"] == 1 and shown["files"][0] == "layer.yaml" and len(shown["files"]) == 18
    (layer,) = cropdata.open(layers=[tmp_path / "deep" / "x"]).layers
    assert (layer.title, layer.author) == (title, "*anna")


def test_remarks_may_stand_above_the_header(folder: Path) -> None:
    path = folder / "seed_longevity.csv"
    path.write_text("# my own remark\ncrop_id,low,high,unit\nonion,2,3,years\n", encoding="utf-8")
    life = cropdata.open(layers=[folder]).crop("onion").seed_longevity
    assert life and "my_notes: seed_longevity.csv row 3" in life.layer_rows
    assert cropdata.check(folder).findings == ()
