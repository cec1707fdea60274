from __future__ import annotations

import csv
import json
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.validation import checking
from cropdata.validation.frames import schema_for
from cropdata.validation.report import Finding, Report


def test_the_release_is_clean() -> None:
    report = cropdata.check(Path(__file__).resolve().parents[2] / "datapackage")
    assert report.ok and not report.findings, report.text()
    assert report.rows > 5000


def _edit(package: Path, table: str, change: Callable[[list[list[str]]], None]) -> None:
    path = package / f"{table}.csv"
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    change(rows)
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows(rows)


def test_a_finding_names_file_row_column_found_and_allowed(package: Path) -> None:
    def change(rows: list[list[str]]) -> None:
        rows[5][rows[0].index("unit")] = "furlong"

    _edit(package, "evidence/sowing_depth", change)
    report = cropdata.check(package, standard=False)
    finding = next(item for item in report.findings if item.rule == "cell-enum")
    assert (finding.file, finding.row, finding.column, finding.found) == (
        "evidence/sowing_depth.csv",
        6,
        "unit",
        "furlong",
    )
    assert finding.allowed == "in, cm, mm" and not report.ok


def test_frictionless_gives_the_standards_own_verdict(package: Path) -> None:
    def change(rows: list[list[str]]) -> None:
        rows[5][rows[0].index("unit")] = "furlong"

    _edit(package, "evidence/sowing_depth", change)
    rules = {item.rule for item in cropdata.check(package).findings}
    assert "standard-constraint-error" in rules and "standard-hash-count" in rules


def test_inches_typed_into_the_millimetre_column_are_caught(package: Path) -> None:
    """The slip that no general validator finds: the value lies inside the allowed range."""

    def change(rows: list[list[str]]) -> None:
        rows[5][rows[0].index("low_mm")] = "1"

    _edit(package, "evidence/sowing_depth", change)
    assert [item.rule for item in cropdata.check(package, standard=False).findings] == ["not-as-printed"]


def test_nothing_is_hidden_by_another_finding(package: Path) -> None:
    def change(rows: list[list[str]]) -> None:
        for number in range(1, 200):
            rows[number][rows[0].index("low")] = "ten"

    _edit(package, "evidence/sowing_depth", change)
    report = cropdata.check(package, standard=False)
    assert sum(item.rule == "cell-type" for item in report.findings) == 199
    assert "rows 2 to 200, low [cell-type]" in report.text()
    assert len(json.loads(report.json())["findings"]) == len(report.findings)


def test_a_layer_is_checked_with_fewer_columns(write_layer: Callable[..., Path]) -> None:
    good = write_layer("Good", seed_longevity="crop_id,low,high,unit\nonion,2,3,years\n")
    assert cropdata.check(good).findings == ()
    bad = write_layer("Bad", seed_longevity="crop_id,low,high,unit\nonoin,3,2,decades\n")
    assert {item.rule for item in cropdata.check(bad).findings} == {"link-broken", "low-above-high", "cell-enum"}
    hint = next(item.hint for item in cropdata.check(bad).findings if item.rule == "link-broken")
    assert hint == "did you mean onion?"


def test_rows_of_no_crop_are_told(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(seed_longevity="low,high,unit\n2,3,years\n")
    assert ("header-missing", "crop_id") in {(item.rule, item.column) for item in cropdata.check(layer).findings}


def test_a_layer_that_does_not_fit_is_told(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit,action,expects_low\nonion,2,3,years,override,77\n")
    (finding,) = cropdata.check(layer).findings
    assert finding.rule == "layer-does-not-fit" and "meant to replace 77 years" in finding.message


def test_a_single_table_is_checked_by_its_name(tmp_path: Path) -> None:
    path = tmp_path / "seed_longevity.csv"
    path.write_text("crop_id,low,high,unit\nonion,2,3,years\nleek,x,3,years\n", encoding="utf-8")
    (finding,) = cropdata.check(path).findings
    assert (finding.row, finding.column, finding.rule) == (3, "low", "cell-type")
    other = tmp_path / "mine.csv"
    other.write_text("a\n", encoding="utf-8")
    with pytest.raises(cropdata.InputError, match=r"named after no table; allowed:.*seed_longevity\.csv"):
        cropdata.check(other)


def test_what_cannot_be_checked_is_refused(tmp_path: Path) -> None:
    with pytest.raises(cropdata.InputError, match="neither a data package nor a layer"):
        cropdata.check(tmp_path)
    with pytest.raises(cropdata.InputError, match="no such file or folder"):
        cropdata.check(tmp_path / "none")


def test_a_frame_is_checked_like_a_file() -> None:
    frame = cropdata.open().table("sowing_depth")
    assert cropdata.check(frame, table="sowing_depth").findings == ()
    frame = frame.drop(columns="note")  # a frame may have fewer columns, as a layer may
    frame.loc[3, "unit"] = "furlong"
    frame.loc[4, "crop_id"] = "onoin"
    frame["low_mm"] = frame["low_mm"].where(frame.index != 5, 1.0)
    report = cropdata.check(frame, table="sowing_depth")
    assert {(item.row, item.column, item.rule) for item in report.findings} == {
        (5, "unit", "cell-enum"),
        (6, "crop_id", "link-broken"),
        (7, "low_mm", "not-as-printed"),
    }
    with pytest.raises(cropdata.InputError, match="which table is the frame of"):
        cropdata.check(frame)


def test_the_pandera_schema_agrees_with_our_own_verdict() -> None:
    """pandera is the general library here: it must pass each shipped table and refuse what the descriptor forbids."""
    import pandera.errors

    db = cropdata.open()
    for name in ("crops", "sowing_depth", "seed_longevity", "germination_temperature"):
        schema_for(name).validate(db.table(name), lazy=True)
    for column, value, check in (
        ("unit", "furlong", "isin"),
        ("high_mm", 9999.0, "less_than_or_equal_to"),
        ("crop_id", None, "not_nullable"),
    ):
        frame = db.table("sowing_depth")
        frame.loc[3, column] = value
        with pytest.raises(pandera.errors.SchemaErrors) as caught:
            schema_for("sowing_depth").validate(frame, lazy=True)
        assert check in " ".join(str(name) for name in caught.value.failure_cases["check"]), column
    with pytest.raises(cropdata.InputError, match="no table is called 'nonsense'"):
        schema_for("nonsense")


def test_a_row_that_the_release_sets_aside_raises_no_alarm_in_its_file_alone() -> None:
    data = Path(__file__).resolve().parents[2] / "datapackage"
    assert cropdata.check(data / "evidence" / "sowing_depth.csv").findings == ()


def test_a_remark_is_passed_over_in_a_layer_and_found_in_the_release(
    package: Path, write_layer: Callable[..., Path]
) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit\n# my own\nonion,2,3,years\n")
    assert cropdata.check(layer).findings == ()
    _edit(package, "evidence/sowing_depth", lambda rows: rows.insert(4, ["# my own"]))
    (finding,) = (item for item in cropdata.check(package, standard=False).findings if item.file.endswith("depth.csv"))
    assert (finding.row, finding.rule) == (5, "file-ragged-row")


def test_rows_beyond_those_that_are_compared_are_checked_and_said(
    package: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No silent limit: links and cells are checked in every row, and what was not compared is a warning."""
    monkeypatch.setattr(checking, "MOST_HELD", 100)

    def change(rows: list[list[str]]) -> None:
        rows[-1][rows[0].index("crop_id")] = "zzz-mandrake"

    _edit(package, "evidence/sowing_depth", change)
    report = cropdata.check(package, standard=False)
    assert [item.column for item in report.findings if item.rule == "link-broken"] == ["crop_id"]
    assert "evidence/sowing_depth.csv" in {item.file for item in report.findings if item.rule == "rows-not-compared"}


def test_an_exception_with_a_reason_is_listed_and_not_counted(write_layer: Callable[..., Path]) -> None:
    rows = "crop_id,low,unit\nbean-snap,1.5,mm\n"  # others print 12.7 to 50.8 mm
    layer = write_layer("Odd", sowing_depth=rows)
    assert [item.severity for item in cropdata.check(layer).findings] == ["error"]
    note = "exceptions:\n  - {file: sowing_depth.csv, row: 2, rule: slip-unit, reason: printed so}\n"
    with (layer / "layer.yaml").open("a", encoding="utf-8") as stream:
        stream.write(note)
    report = cropdata.check(layer)
    assert report.ok and [item.severity for item in report.findings] == ["excused"]
    assert report.text().endswith("0 errors, 0 warnings, 1 excused")
    assert ET.fromstring(report.junit()).attrib["failures"] == "0" and "::notice " in report.annotations()


FINDING = Finding("a.csv", 3, "low", "cell-type", "error", "x<&>", "a number", "is no number", "type a number")


def test_reports_in_every_form() -> None:
    report = Report((FINDING,), 1, 10)
    assert not report.ok
    assert (
        "row 3, low [cell-type]: is no number; found 'x<&>'; allowed: a number; to mend: type a number" in report.text()
    )
    body = json.loads(report.json())
    assert body["format"] == 1 and body["errors"] == 1 and body["findings"][0]["row"] == 3
    suite = ET.fromstring(report.junit())
    assert suite.attrib["failures"] == "1" and suite.find("testcase/failure") is not None
    assert report.annotations().startswith("::error file=a.csv,line=3,title=cell-type::")
    clean = Report((), 1, 10)
    assert clean.ok and ET.fromstring(clean.junit()).attrib["failures"] == "0"


def test_inches_typed_as_feet_are_caught(write_layer: Callable[..., Path]) -> None:
    """Six sources print 18 to 24 inches for peppers in the row; 18 feet is inches with the wrong unit."""
    layer = write_layer(spacing_in_row="crop_id,low,high,unit,arrangement\npepper,15,18,ft,row\n")
    findings = [finding for finding in cropdata.check(layer).findings if finding.rule == "slip-unit"]
    assert findings and "inches typed as feet" in findings[0].message


def test_sarif_names_rule_file_and_line_of_each_finding(tmp_path: Path) -> None:
    """SARIF 2.1.0, OASIS standard of 2020: sections 3.14 run, 3.19 tool component, 3.27 result, 3.30 region, from memory."""
    (tmp_path / "layer.yaml").write_text(
        "title: Notes\nexceptions: [{file: my depths.csv, row: 2, rule: slip-unit, reason: mice}]\n", encoding="utf-8"
    )
    (tmp_path / "seed_longevity.csv").write_text("crop_id,low,unit\nonoin,2,years\n", encoding="utf-8")
    (tmp_path / "my depths.csv").write_text("a\n1\n", encoding="utf-8")
    report = cropdata.check(tmp_path)
    log = json.loads(report.sarif())
    assert log["version"] == "2.1.0" and len(log["runs"]) == 1
    rules = log["runs"][0]["tool"]["driver"]["rules"]
    results = log["runs"][0]["results"]
    assert len(results) == len(report.findings) > 1
    for result, finding in zip(results, report.findings, strict=True):
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"] == finding.rule
        assert result["level"] in ("error", "warning", "note") and finding.message in result["message"]["text"]
    link = next(result for result in results if result["ruleId"] == "link-broken")["locations"][0]["physicalLocation"]
    assert link["region"] == {"startLine": 2} and link["artifactLocation"]["uri"].endswith("seed_longevity.csv")
    odd = next(result for result in results if result["ruleId"] == "file-unknown-table")["locations"][0][
        "physicalLocation"
    ]
    assert odd["artifactLocation"]["uri"].endswith("my%20depths.csv") and "region" not in odd
