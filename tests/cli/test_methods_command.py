"""`cropdata methods` as a grower meets it."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

Run = Callable[..., "subprocess.CompletedProcess[str]"]


def test_the_table_fits_a_screen_and_says_what_is_known(run: Run) -> None:
    done = run("methods", "cucumber", "--plants", 12, "--budget", 20)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 120
    assert lines[0].startswith("Cucumber, 12 plants with 90 % confidence (germination 80 %")
    assert any(line.startswith("Pressed block") and " over " in line for line in lines)
    for title in (
        "Does it suit the crop:",
        "What one pays for the other:",
        "What trials found:",
        "Water to wet the mix before it is filled:",
        "Not known:",
        "Cautions:",
    ):
        assert title in lines
    assert any(line.startswith("Work, as printed, and minutes for these plants") for line in lines)
    assert "The label, local rules and qualified advice come first." in done.stdout
    assert "Prices are recalled, in US dollars" in done.stdout


def test_steps_of_each_method(run: Run) -> None:
    out = run("methods", "tomato", "--steps").stdout
    assert "Damp towel, then mix:" in out and "Root at the move: 2 to 6 mm" in out and "[isu_seedv_1995]" in out
    assert "Squeezed hard: a few drops" in out
    assert "3 sphagnum peat : 1 fine sand" in out and "50 sphagnum peat : 25 compost : 12.5 perlite" in out
    assert "Moisture for filling, mix in cells: target of 50-60 %" in out


def test_json_of_steps_holds_steps_recipes_and_what_it_is_reckoned_with(run: Run) -> None:
    shown = json.loads(run("methods", "tomato", "--steps", "--json", "--mix", "uc-mix-d").stdout)
    tray = shown["how"]["tray"]
    assert (
        len(tray["steps"]) > 3
        and tray["watering"]
        and tray["waste"]
        and tray["reuse"]
        and "in_place" not in shown["how"]
    )
    assert any(each["figure_id"] == "block.block_water.01" for each in shown["how"]["block"]["figures"])
    recipe = next(each for each in shown["recipes"] if each["recipe_id"] == "uc-mix-d")
    assert {each["component"]: each["parts"] for each in recipe["components"]}["sphagnum peat"] == 3
    first = next(each for each in shown["options"] if each["method_id"] == "tray")
    life = next(each for each in first["reckoned_with"] if each["what"] == "life")
    assert (life["low"], life["high"], life["row"]) == (1, 3, "tray.life.01")
    assert first["ingredients"] and shown["layers"] == []
    assert "how" not in json.loads(run("methods", "tomato", "--json").stdout)


def test_steps_show_life_breakage_price_plastic_and_volume(run: Run) -> None:
    out = " ".join(run("methods", "tomato", "--steps", "--mix", "uc-mix-d").stdout.split())
    assert (
        "Tray of 128 cells, thin: 23 ml a cell, 128 in a tray, price 1–3 USD, life 1–3 seasons" in out
        and "breakage 20–40 %" in out and "plastic 60–130 g" in out
    )  # fmt: skip
    assert "Ingredients of University of California mix D" in out


def test_the_towel_speaks_of_the_crop_or_says_that_it_does_not(run: Run) -> None:
    """Onion's root by thermal time: 64 / (20 - 6) = 4.57 days for half at 20 °C; of celery's none is recorded."""
    onion = " ".join(run("methods", "onion", "--steps").stdout.split())
    assert "Onion's root shows, first to last seed:" in onion and "3.4 to 11 days at 20 °C" in onion
    celery = " ".join(run("methods", "celery", "--steps").stdout.split())
    assert "How soon the root of celery shows is not recorded." in celery and "seed in general" in celery
    assert "first on day 10, last on day 21" in celery and "[cfr_7_201_2015]" in celery  # 7 CFR 201.58, Table 2


def test_each_price_names_its_currency_where_there_are_several(run: Run, write_layer: Callable[..., Path]) -> None:
    layer = write_layer(
        containers="container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit,price_low,price_high,currency\n"
        "my-60,tray,My tray,60,unit,40,40,ml,4,5,EUR\n"
    )
    done = run("methods", "tomato", "--layer", layer, "--budget", 1)
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 120 and "money at first" in lines[3]
    mine = next(line for line in lines if line.startswith("My tray"))
    assert "4–5 EUR +mix" in mine and "over" not in mine and "+mix: mix comes on top" in done.stdout
    assert "USD over" in next(line for line in lines if line.startswith("Tray of 24 cells"))
    assert any(line.startswith("Laid over the release: ") for line in lines)
    assert "  My tray: invented_notes, containers.csv row 2" in lines
    shown = json.loads(run("methods", "tomato", "--layer", layer, "--json").stdout)
    assert [each["name"] for each in shown["layers"]] == ["invented_notes"]


def test_json_holds_the_same(run: Run) -> None:
    done = run("methods", "carrot", "--json")
    shown = json.loads(done.stdout)
    assert done.returncode == 0 and shown["format"] == 1 and shown["crop_id"] == "carrot" and shown["plants"] == 24
    words = {each["method_id"]: each["fit"]["word"] for each in shown["options"]}
    assert words == {
        "towel": "not_done",
        "tray": "not_done",
        "block": "not_done",
        "flat": "not_done",
        "pot": "not_done",
        "in_place": "yes",
    }
    assert shown["effects"][0]["source_id"] and shown["cautions"] and shown["trade_offs"] == []


def test_wrong_use_is_one_line_and_status_two_not_found_one(run: Run) -> None:
    for arguments, status, words in (
        (("tomatoo",), 1, "did you mean tomato"),
        (("tomato", "--plants", 0), 2, "whole number, 1 or more"),
        (("tomato", "--plants", 10_000_000), 2, "at most 100000"),
        (("tomato", "--mix", "mud"), 2, "no mix is called 'mud'"),
        (("tomato", "--budget", -3), 2, "a budget is an amount of money"),
        (("tomato", "--germination", 80), 2, "write 0.8 for 80 %"),
        (("tomato", "onion"), 2, "tomato and onion are different crops: name one at a time"),
        (("tomato", "onionn"), 1, "no crop is called"),
    ):
        done = run("methods", *arguments)
        assert (done.returncode, done.stdout) == (status, "") and words in done.stderr
        assert len(done.stderr.strip().splitlines()) == 1


def test_a_layers_container_is_shown(run: Run, write_layer: Callable[..., Path]) -> None:
    layer = write_layer(
        containers="container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit\n"
        "tray-77,tray,My tray of 77,77,unit,45,45,ml\n"
    )
    assert "My tray of 77, thin" in run("methods", "tomato", "--layer", layer).stdout


def test_a_confidence_is_stated_only_where_germination_is_known(run: Run) -> None:
    shown = run("methods", "lobelia").stdout
    assert "confidence" not in shown and " 24+ " in shown and "Cells marked +: as if all seed came up" in shown
    known = run("methods", "lobelia", "--germination", 0.8).stdout
    assert "24 plants with 90 % confidence" in known and "Cells marked +" not in known


def test_a_share_may_be_written_in_percent(run: Run) -> None:
    for text in ("80%", "80 %", "0.8"):
        assert "germination 80 %, as given" in run("methods", "tomato", "--germination", text).stdout
    wrong = run("methods", "tomato", "--germination", "0,8")
    assert wrong.returncode == 2 and "found '0,8'; allowed: a share such as 0.8, or 80%" in wrong.stderr
