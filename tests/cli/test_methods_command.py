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
        "Work, as printed:",
        "Not known:",
        "Cautions:",
    ):
        assert title in lines
    assert "The label, local rules and qualified advice come first." in done.stdout
    assert "Prices are recalled, in US dollars" in done.stdout


def test_steps_of_each_method(run: Run) -> None:
    out = run("methods", "tomato", "--steps").stdout
    assert "Damp towel, then mix:" in out and "Root at the move: 2 to 6 mm" in out and "[isu_seedv_1995]" in out
    assert "Squeezed hard: a few drops" in out
    assert "3 sphagnum peat : 1 fine sand" in out and "50 sphagnum peat : 25 compost : 12.5 perlite" in out
    assert "Moisture for filling, mix in cells: target of 50-60 %" in out


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
        (("tomato", "--budget", -3), 2, "a budget is an amount of money"),
        (("tomato", "--germination", 80), 2, "write 0.8 for 80 %"),
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
