"""The command line as a person uses it, each call a process of its own."""

from __future__ import annotations

import csv
import io
import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., subprocess.CompletedProcess[str]]


def test_show_prints_the_headline_first_and_the_sources(run: Run) -> None:
    done = run("show", "tomato")
    lines = done.stdout.splitlines()
    assert done.returncode == 0 and done.stderr == ""
    assert lines[0] == "Tomato: Solanum lycopersicum, Solanaceae (vegetable, annual)"
    assert [line.split("  ")[0] for line in lines[2:7]] == [
        "Sowing depth", "Germination temperature", "Days to emergence", "Sow under cover, before last frost", "Seed keeps",
    ]  # fmt: skip
    assert "days     none  none  43  14  8   6   6   9   none" in done.stdout
    assert "Harrington" not in lines[0] and "harrington_minges_1954_knott1997_ucsc" in done.stdout


def test_show_json_is_the_documented_object(run: Run) -> None:
    body = json.loads(run("show", "--json", "Solanum lycopersicum").stdout)
    assert body["format"] == 1 and body["crop_id"] == "tomato" and body["scientific_name"] == "Solanum lycopersicum"
    assert {
        "sowing_depth",
        "germination_temperature",
        "days_to_emergence",
        "weeks_before_last_frost",
        "seed_longevity",
    } <= set(body["traits"])
    depth = body["traits"]["sowing_depth"]
    assert {"low", "high", "unit", "agreement", "basis", "status", "sources", "layer"} <= set(depth)
    assert depth["unit"] == "mm" and depth["status"] == "recorded" and depth["sources"]
    assert body["traits"]["germination_temperature"]["minimum"] == 10
    carrot = json.loads(run("show", "carrot", "--json").stdout)["traits"]["weeks_before_last_frost"]
    assert carrot["status"] == "not_applicable" and carrot["low"] is None and carrot["sources"]


def test_show_says_how_a_crop_is_raised_and_what_the_season_does(run: Run) -> None:
    onion = run("show", "onion").stdout
    for told in (
        "Warmth by day    18–21 °C       2 sources agree",
        "- short-day kinds; 10–12 hours of daylight: begins to bulb [isu_long_day_onion]",
        "Transplanting                       easy or with care                2 sources disagree",
        "To seal airtight, moisture at most  6.5 %",
    ):
        assert told in onion, onion
    artichoke = run("show", "artichoke").stdout
    assert "- Green Globe kinds; below 10 °C, for 500 hours (21 days): sets buds in the first year" in artichoke
    assert "- 1 year after sowing: crops in its first year" in artichoke
    assert "weeks before the first frost" in run("show", "spinach").stdout
    assert "What cold" not in run("show", "yarrow").stdout
    body = json.loads(run("show", "onion", "--json").stdout)
    assert body["raising"]["day_warmth"]["unit"] == "°C" and len(body["season_signals"]) == 10


@pytest.mark.parametrize(
    ("arguments", "status", "message"),
    [
        (("show", "tomatoe"), 1, "did you mean tomato"),
        (("show", "xyzzy"), 1, "no crop is called 'xyzzy'"),
        (("show", ""), 2, "the name of a crop is empty"),
        (("show", "Beta vulgaris"), 1, "may mean several crops: beet, chard"),
        (("why", "tomato", "depth"), 2, "no trait is called 'depth'; allowed:"),
        (("find", "--group", "fruit"), 2, "no crop has the group 'fruit'"),
        (("plan",), 2, "no season file given"),
        (("plan", "none.yaml"), 2, "none.yaml: cannot be read: No such file"),
        (("check", "none"), 2, "none: no such file or folder"),
        (("show", "tomato", "--layer", "none"), 2, "none: no such folder"),
        (("sow",), 2, "invalid choice: 'sow'"),
        ((), 2, "usage: cropdata"),
        (("find", "--germinates-at", "warm"), 2, "invalid float value"),
    ],
)
def test_wrong_use_gives_one_message_and_no_traceback(
    run: Run, arguments: tuple[str, ...], status: int, message: str
) -> None:
    done = run(*arguments)
    assert done.returncode == status and message in done.stderr
    assert "Traceback" not in done.stderr and done.stdout == ""


def test_debug_shows_where_an_error_came_from(run: Run) -> None:
    assert "Traceback" in run("show", "xyzzy", "--debug").stderr


def test_why_shows_each_row_as_printed_and_the_rule(run: Run) -> None:
    done = run("why", "eggplant", "days_to_emergence")
    assert done.returncode == 0 and "The rule:" in done.stdout
    assert "* shown, but left out of the answer:" in done.stdout and "one column" in done.stdout
    body = json.loads(run("why", "onion", "seed_longevity", "--json").stdout)
    assert (
        body["format"] == 1
        and body["evidence"]
        and {row["source_id"] for row in body["evidence"]} == set(body["sources"])
    )


def test_find(run: Run) -> None:
    done = run("find", "savoy")
    assert done.returncode == 0 and done.stdout.startswith("cabbage-savoy  Savoy")
    body = json.loads(run("find", "--group", "green_manure", "--json").stdout)
    assert body["count"] == len(body["crops"]) > 5
    assert run("find", "zzzz").returncode == 1


def test_version(run: Run) -> None:
    assert run("--version").stdout.startswith("cropdata 0.")


def test_check_of_the_shipped_data_in_every_form(run: Run) -> None:
    done = run("check")
    assert done.returncode == 0 and done.stdout.endswith("0 errors, 0 warnings\n")
    assert json.loads(run("check", "--format", "json").stdout)["ok"] is True


def test_check_of_a_layer_with_mistakes_fails(run: Run, write_layer: Callable[..., Path]) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit\nonion,3,2,years\n")
    done = run("check", layer)
    assert done.returncode == 1 and "low-above-high" in done.stdout
    assert "::error file=seed_longevity.csv,line=2" in run("check", layer, "--format", "annotations").stdout


def test_plan_of_the_example_tells_dates_and_the_frost_left(run: Run, tmp_path: Path) -> None:
    done = run("plan", "--example", "--out", tmp_path / "out")
    assert done.returncode == 0 and "written to" in done.stderr
    assert "(invented)" in done.stdout.splitlines()[0] and "Toronto" in done.stdout
    assert "frost left" in done.stdout and "common practice, no source" in done.stdout
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out" / "plan.csv").read_text(encoding="utf-8"))))
    tomato = next(row for row in rows if row["crop_id"] == "tomato")
    # Its nights of 10 °C come with 22 May on average, 7 days after the date of one year in ten.
    assert tomato["plant_out_first"] == "2027-05-22" and 0.02 < float(tomato["frost_left"]) < 0.1
    body = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    assert body["format"] == 1 and len(body["sowings"]) == len(rows) == 13
    assert json.loads(run("plan", "--example", "--json").stdout) == body


def test_the_example_can_be_printed_and_planned_again(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(run("plan", "--print-example").stdout, encoding="utf-8")
    assert run("plan", path, "--today", "2027-03-01").stdout == run("plan", "--example").stdout


def test_a_layer_reaches_the_plan_and_the_look_up(run: Run, write_layer: Callable[..., Path]) -> None:
    layer = write_layer(weeks_to_raise="crop_id,low,high,unit,action\ntomato,3,3,weeks,override\n")
    assert "layer invented_notes" in run("show", "tomato", "--layer", layer).stdout
    line = next(
        item
        for item in json.loads(run("plan", "--example", "--json", "--layer", layer).stdout)["sowings"]
        if item["crop_id"] == "tomato"
    )
    # Three weeks before 22 May; planted out for a week from then on, so sown for a week.
    assert line["sow"] == {"first": "2027-05-01", "last": "2027-05-08"}


def test_output_into_a_closed_pipe_is_quiet() -> None:
    import sys

    done = subprocess.run(
        f"{sys.executable} -m cropdata find | head -1", shell=True, capture_output=True, text=True, check=False
    )
    assert done.stderr == "" and done.stdout.startswith("african-daisy")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("germination", "tomato"), "how many seeds were sown"),
        (("germination", "tomato", "--sown", "10"), "how many germinated"),
        (("germination", "tomato", "--sown", "10", "--germinated", "11"), "0 <= germinated <= sown"),
        (
            ("germination", "tomato", "--sown", "10", "--germinated", "5", "--year", "1900"),
            "the year that the seed was packed",
        ),
        (("germination", "tomato", "--sown", "10", "--record", "none.csv"), "cannot be read"),
        (("trial",), "no records given"),
        (("trial", "none.csv"), "cannot be read"),
        (("trial", "--new", "x", "--methods", "a"), "two methods or more"),
        (("trial", "--example", "--picture", "x.gif"), "written as PNG or SVG"),
        (("trial", "--example", "--target-days", "0"), "above 0"),
        (("trial", "--example", "--target-days", "inf"), "allowed: 0.1 to 365 days"),
        (("trial", "--example", "--target-days", "0.01"), "allowed: 0.1 to 365 days"),
        (("trial", "--example", "--crop", "tomato"), "--crop and --temp go together"),
        (("trial", "--example", "--temp", "21"), "--crop and --temp go together"),
        (("trial", "--example", "--crop", "tomato", "--temp", "nan"), "is no warmth"),
        (("trial", "--new", "x", "--methods", "a,b", "--random", "-1"), "0 or more"),
        (("trial", "--new", "x", "--methods", "a,b", "--seeds", "1000000"), "too many for a trial"),
    ],
)
def test_wrong_use_of_tests_and_trials(run: Run, tmp_path: Path, arguments: tuple[str, ...], message: str) -> None:
    done = run(*arguments)
    assert done.returncode == 2 and message in done.stderr and "Traceback" not in done.stderr


def test_a_trial_gives_the_verdict_first_then_table_and_picture(run: Run, tmp_path: Path) -> None:
    done = run("trial", "--example", "--picture", tmp_path / "t.svg", "--csv", tmp_path / "t.csv")
    assert done.returncode == 0
    assert done.stdout.index("came") < done.stdout.index("middle day") < done.stdout.index("How:")
    assert "<svg" in (tmp_path / "t.svg").read_text(encoding="utf-8")
    assert len(list(csv.DictReader((tmp_path / "t.csv").open(encoding="utf-8")))) == 3
    body = json.loads(run("trial", "--example", "--json").stdout)
    assert body["format"] == 1 and body["verdict"] and len(body["pairs"]) == 3


def test_a_new_trial_is_written_once(run: Run, tmp_path: Path) -> None:
    arguments = (
        "trial",
        "--new",
        tmp_path / "new",
        "--methods",
        "towel,tray",
        "--seeds",
        "12",
        "--units",
        "4",
        "--crop",
        "tomato",
    )
    done = run(*arguments)
    assert done.returncode == 0 and {path.name for path in (tmp_path / "new").iterdir()} == {
        "records.csv",
        "layout.csv",
        "labels.txt",
    }
    again = run(*arguments)
    assert again.returncode == 2 and "never written over" in again.stderr
    # One of the three is enough to refuse, before anything is written.
    (tmp_path / "half").mkdir()
    (tmp_path / "half" / "labels.txt").write_text("mine", encoding="utf-8")
    half = run(*arguments[:2], tmp_path / "half", *arguments[3:])
    assert half.returncode == 2 and "labels.txt: exists already" in half.stderr
    assert [path.name for path in (tmp_path / "half").iterdir()] == ["labels.txt"]
    as_json = json.loads(run(*arguments[:2], tmp_path / "json", *arguments[3:], "--json").stdout)
    assert as_json["format"] == 1 and len(as_json["files"]) == 3 and as_json["advice"]


def test_warmth_without_seedlings_is_said_and_json_has_no_bare_nan(run: Run, tmp_path: Path) -> None:
    cold = run("trial", "--example", "--crop", "tomato", "--temp", "1")
    assert cold.returncode == 0 and "the trial's own middle day is used" in " ".join(cold.stdout.split())
    path = tmp_path / "r.csv"
    path.write_text(
        "method,seed,sown,last_absent,first_seen,score\n"
        "a,1,2027-03-01,2027-03-08,2027-03-09,4\nb,1,2027-03-01,2027-03-09,,\nb,2,2027-03-01,2027-03-09,,\n",
        encoding="utf-8",
    )

    def refuse(text: str) -> float:
        raise AssertionError(text)

    body = json.loads(run("trial", path, "--json").stdout, parse_constant=refuse)
    assert body["nothing_detectable"] and body["detectable_days"] is None and body["lowest_p"] == pytest.approx(1 / 3)
    assert body["pairs"][0]["detectable_days"] is None and "1 to 2 seeds a method" in body["verdict"]


def test_columns_parted_by_semicolons_are_told(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text("# a note\nmethod;seed;sown;last_absent;first_seen\na;1;2027-03-01;;2027-03-09\n", encoding="utf-8")
    done = run("trial", path)
    assert done.returncode == 2 and "row 2: the columns are parted by semicolons" in done.stderr


def test_a_file_that_is_no_table_is_not_mended(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "letter.csv"
    path.write_bytes(b"Dear A., \r\nno table")
    done = run("check", "--fix", path)
    assert done.returncode == 2 and "is named after no table" in done.stderr
    assert path.read_bytes() == b"Dear A., \r\nno table"


def test_a_file_that_cannot_be_written_is_named_as_the_user_named_it(run: Run, tmp_path: Path) -> None:
    done = run("trial", "--example", "--csv", tmp_path)
    assert done.returncode == 2 and f"{tmp_path}: is a directory" in done.stderr
    assert list(tmp_path.iterdir()) == []
