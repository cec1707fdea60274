"""What a row of a layer must say: the same verdict on opening and from the check, and no answer made of empty cells."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.catalog import Catalog
from cropdata.cli.main import main

Write = Callable[..., Path]
PACKAGE = Path(__file__).resolve().parents[2] / "datapackage"
# Filled by the layer: its own id, name and place, the text that is made of the row; and what a row means as it stands.
FILLED = {"row_id", "crop_id", "source_id", "locator", "basis", "printed"}
MEANT = {
    ("emergence_by_temperature", "event"), ("emergence_spread", "event"),
    ("spacing_in_row", "arrangement"), ("spacing_between_rows", "arrangement"),
}  # fmt: skip


def _wanting() -> list[tuple[str, list[str]]]:
    """Evidence tables and the columns that a row must fill, from the descriptor's own JSON."""
    found = []
    for table in json.loads((PACKAGE / "datapackage.json").read_text(encoding="utf-8"))["resources"]:
        if table["path"].startswith("evidence/"):
            needed = [
                field["name"] for field in table["schema"]["fields"]
                if field.get("constraints", {}).get("required") and field["name"] not in FILLED
                and "convertedFrom" not in field and "rankOf" not in field
                and "unstated" not in field["constraints"].get("enum", ()) and (table["name"], field["name"]) not in MEANT
            ]  # fmt: skip
            found.append((table["name"], needed))
    return found


@pytest.mark.parametrize(("table", "needed"), [pair for pair in _wanting() if pair[1]], ids=lambda part: str(part)[:25])
def test_a_row_without_what_it_must_say_is_refused_on_opening_and_by_the_check(
    write_layer: Write, table: str, needed: list[str]
) -> None:
    layer = write_layer(**{table: "crop_id,note,action\ntomato,hello,override\n"})
    with pytest.raises(cropdata.LayerError) as caught:
        cropdata.open(layers=[layer])
    assert f"{table}.csv, row 2, {needed[0]}: missing; allowed: " in str(caught.value) or table == "cautions"
    told = {(item.row, item.column) for item in cropdata.check(layer).errors if item.rule == "header-missing"}
    assert told == {(1, name) for name in needed}


@pytest.mark.parametrize(("table", "needed"), [pair for pair in _wanting() if pair[1]], ids=lambda part: str(part)[:25])
def test_an_empty_cell_is_told_in_its_row(write_layer: Write, table: str, needed: list[str]) -> None:
    header = ",".join(["crop_id", *needed, "note"])
    layer = write_layer(**{table: f"{header}\ntomato{',' * len(needed)},hello\n"})
    with pytest.raises(cropdata.LayerError):
        cropdata.open(layers=[layer])
    told = {(item.row, item.column) for item in cropdata.check(layer).errors if item.rule == "cell-required"}
    assert told == {(2, name) for name in needed}


def test_a_row_that_hides_needs_nothing_more(write_layer: Write) -> None:
    layer = write_layer(frost_tolerance="crop_id,action\ntomato,hide\n", light="crop_id,need,action\nageratum,,hide\n")
    assert cropdata.open(layers=[layer]).crop("tomato").frost_tolerance is None
    assert cropdata.check(layer).findings == ()


def test_days_without_an_outcome_are_days_to_emergence(write_layer: Write) -> None:
    """9 days at 18 °C were answered as "none came up"."""
    layer = write_layer(emergence_by_temperature="crop_id,temperature,unit,days\ntomato,18,C,9\n")
    assert cropdata.check(layer).findings == ()
    (row,) = (row for row in cropdata.open(layers=[layer]).crop("tomato").evidence("emergence_by_temperature") if row["layer"] != "release")  # fmt: skip
    assert (row["days"], row["outcome"], row["event"]) == (9.0, "emerged", "emergence")
    days = cropdata.open(layers=[layer]).crop("tomato").days_to_emergence(18)
    assert days is not None and days.last < 60


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("temperature,unit\ntomato,18,C\n", "outcome: missing; allowed: emerged, none, not_tested"),
        ("temperature,unit,outcome\ntomato,18,C,emerged\n", "days: found nothing beside the outcome emerged"),
        ("temperature,unit,outcome,days\ntomato,18,C,none,9\n", "days: found 9 beside the outcome none"),
    ],
)
def test_an_outcome_and_its_days_agree(write_layer: Write, text: str, said: str) -> None:
    layer = write_layer(emergence_by_temperature=f"crop_id,{text}")
    with pytest.raises(cropdata.LayerError, match=said):
        cropdata.open(layers=[layer])
    assert [item for item in cropdata.check(layer).errors if item.rule != "layer-does-not-fit"]


@pytest.mark.parametrize(
    ("table", "text", "said"),
    [
        ("emergence_spread", "crop_id,days_50\ntomato,9\n", "days 50 9"),
        ("storage_observations", "crop_id,conditions,period_low,period_high,period_unit\ntomato,a shed,2,3,years\n", "conditions a shed"),
        ("season_signals", "crop_id,signal,effect\nonion,bolts_in_heat,it bolts\n", "bolts in heat"),
        ("transplant_ease", "crop_id,measure\ntomato,ease\n", "measure ease"),
        ("raising", "crop_id,aspect\ntomato,light\n", "light"),
        ("pretreatment", "crop_id,treatment\ntomato,soak\n", "soak"),
        ("packets", "crop_id,note\ntomato,no days on it\n", "no days"),
    ],
)  # fmt: skip
def test_cells_that_may_be_empty_are_no_traceback(
    write_layer: Write, capsys: pytest.CaptureFixture[str], table: str, text: str, said: str
) -> None:
    layer = write_layer(**{table: text})
    crop = text.split("\n")[1].split(",")[0]
    for command in (("show", crop), ("why", crop, table), ("show", crop, "--json"), ("why", crop, table, "--json")):
        assert main([*command, "--layer", str(layer)]) == 0, command
        told = capsys.readouterr()
        assert "None" not in told.out and not told.err
    assert main(["why", crop, table, "--layer", str(layer)]) == 0
    assert said in capsys.readouterr().out


def test_every_table_of_the_release_can_be_asked_why(db: Catalog) -> None:
    """Printed cells may be empty too: one crop of each table."""
    for table in db.descriptor.evidence:
        if not table.may_be_empty:
            crop = db.table(table.name)["crop_id"].iloc[0]
            assert main(["why", crop, table.name]) == 0
