"""Rules that the fault corpus cannot hold: dates, editions, retired crops; single judgements held to hand-made examples."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.tabular.units import convert
from cropdata.validation.comparing import Expected, slip_in
from cropdata.validation.print_check import numbers_in, units_in
from cropdata.validation.report import rows_named

LOOKS = [f"2026-04-{day:02}" for day in (13, 14, 15, 16, 18, 20)]


def _dated(folder: Path, days: list[str]) -> Path:
    """A package with one table that has a date column (invented)."""
    raw = {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json", "name": "looks", "version": "1.0.0", "schemaNumber": 1,
        "resources": [{
            "name": "looks", "type": "table", "path": "looks.csv", "dialect": {"delimiter": ","},
            "schema": {"fields": [{"name": "look", "type": "integer", "constraints": {"required": True}}, {"name": "seen", "type": "date"}], "primaryKey": ["look"]},
        }],
    }  # fmt: skip
    folder.mkdir()
    (folder / "datapackage.json").write_text(json.dumps(raw), encoding="utf-8")
    rows = "".join(f"{number},{day}\n" for number, day in enumerate(days, 1))
    (folder / "looks.csv").write_text("look,seen\n" + rows, encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("05/01/2026", "write 2026-01-05 or 2026-05-01, whichever is meant"),
        ("13.4.2026", "write 2026-04-13, whichever is meant"),
        ("2026-30-04", "write 2026-04-30, whichever is meant"),
        ("2026/4/5", "write 2026-04-05 or 2026-05-04, whichever is meant"),
    ],
)
def test_a_date_in_another_order_is_told_with_what_it_may_mean(tmp_path: Path, text: str, hint: str) -> None:
    report = cropdata.check(_dated(tmp_path / "looks", [*LOOKS, text]), standard=False)
    (finding,) = report.findings
    assert (finding.row, finding.column, finding.rule, finding.hint) == (8, "seen", "cell-date-order", hint)


def test_day_and_month_swapped_within_the_right_form(tmp_path: Path) -> None:
    """12 April typed as 4 December: a good date, far from all others, among them once swapped back."""
    days = ["2026-04-10", *LOOKS, "2026-12-04"]
    assert cropdata.check(_dated(tmp_path / "clean", days[:-1]), standard=False).findings == ()
    (finding,) = cropdata.check(_dated(tmp_path / "looks", days), standard=False).findings
    assert (finding.row, finding.rule, finding.severity) == (9, "slip-day-month", "warning")
    assert finding.hint == "write 2026-04-12, if that is meant"
    # A late look that no swap explains is none of our business.
    assert cropdata.check(_dated(tmp_path / "late", [*days[:-1], "2026-12-24"]), standard=False).findings == ()


def test_a_crop_that_vanishes_without_a_new_major_version(package: Path) -> None:
    path = package / "reference" / "crops.csv"
    rows = list(csv.reader(path.open(encoding="utf-8", newline="")))
    gone = rows.pop(5)
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows(rows)
    found = [item for item in cropdata.check(package, standard=False).findings if item.rule == "id-vanished"]
    assert [(item.file, item.column, item.found) for item in found] == [("reference/crops.csv", "crop_id", gone[0])]
    raw = json.loads((package / "datapackage.json").read_text(encoding="utf-8"))
    raw["version"] = "99.0.0"
    (package / "datapackage.json").write_text(json.dumps(raw), encoding="utf-8")
    assert "id-vanished" not in {item.rule for item in cropdata.check(package, standard=False).findings}


def test_evidence_for_a_retired_crop(package: Path) -> None:
    path = package / "reference" / "crops.csv"
    rows = list(csv.reader(path.open(encoding="utf-8", newline="")))
    onion = next(row for row in rows if row[0] == "onion")
    onion[rows[0].index("status")], onion[rows[0].index("replaced_by")] = "retired", "leek"
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows(rows)
    found = [item for item in cropdata.check(package, standard=False).findings if item.rule == "evidence-for-retired"]
    assert found and {(item.found, item.hint) for item in found} == {("onion", "use leek")}


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("1/2 in", {0.5, 0.0}), ("1 1/2 inch", {1.5, 1.0, 0.5}), ("¼-½ in", {0.25, 0.5, 0.0}), ("7-10 days at 70-75 F", {7, 10, 70, 75}),
        ("1,500 per ounce", {1500}), ("6.5 weeks", {6.5}), ("NG", set()), (".025 inch", {0.025}), ("61(53)", {61, 53}),
    ],
)  # fmt: skip
def test_numbers_of_a_printed_text(text: str, numbers: set[float]) -> None:
    assert numbers_in(text) == numbers


def test_units_of_a_printed_text() -> None:
    assert units_in('1/2" deep') == {"in"} and units_in("7-10 days at 70 °F") == {"days", "F"}
    assert (
        units_in("4 wks") == {"weeks"} and units_in("sown in place") == {"in"} and units_in("as in the table") == {"in"}
    )


# Expected 10 to 25 mm by four sources: figures reckoned by hand (1 in = 25.4 mm).
@pytest.mark.parametrize(
    ("figure", "unit", "slip"),
    [
        (0.5, "mm", "slip-unit"),  # half an inch
        (1, "mm", "slip-unit"),
        (12, "in", "slip-unit"),  # twelve millimetres
        (15, "in", "slip-unit"),
        (200, "mm", "slip-ten-times"),
        (1.2, "cm", None),  # right
        (40, "mm", None),  # deep, and no slip makes it right
        (0.02, "mm", "far-from-others"),
    ],
)
def test_a_depth_beside_others(figure: float, unit: str, slip: str | None) -> None:
    found = slip_in(figure, unit, "mm", Expected(10, 25, "others print", 4, "error"))
    assert (found[0] if found else None) == slip


def test_a_mistaken_unit_must_explain_every_figure_of_the_row() -> None:
    others = Expected(1, 4, "others print", 4, "error")
    assert convert(9, "months", "years") == pytest.approx(0.75)
    assert slip_in(9, "years", "years", others) == ("slip-unit", "looks like months typed as years", 9)
    assert slip_in(9, "years", "years", others, (2,)) != ("slip-unit", "looks like months typed as years", 9)
    assert slip_in(24, "years", "years", others, (18,)) == ("slip-unit", "looks like months typed as years", 24)


def test_a_unit_is_not_suspected_where_sources_differ_as_much() -> None:
    assert (
        slip_in(1, "in", "mm", Expected(8, 10, "others print", 2, "error")) is None
    )  # 1 cm would fit, 1 in may be meant


def test_two_columns_swapped_are_told_as_that(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit,meaning\nonion,1,2,average,years\n")
    swapped = [item for item in cropdata.check(layer).findings if item.rule == "columns-swapped"]
    assert [(item.row, item.column, item.found) for item in swapped] == [(2, "unit, meaning", "average, years")]


def test_decimal_commas_are_one_finding_that_names_every_cell(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(
        sowing_depth='crop_id,low,high,unit\nonion,"0,5","1,5",cm\nleek,1,"1,5",cm\npea,"2,5","3,5",cm\n'
    )
    (finding,) = cropdata.check(layer).findings
    assert finding.message == "has decimal commas, 5 cells: low in rows 2 and 4; high in rows 2 to 4"


def test_a_semicolon_file_is_one_finding_and_its_rows_are_checked(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(seed_longevity="crop_id;low;high;unit\nonion;1;2;years\nonoin;3;2;years\n")
    rules = [(item.rule, item.row) for item in cropdata.check(layer).findings]
    assert rules == [("file-delimiter", None), ("link-broken", 3), ("low-above-high", 3)]


def test_an_exception_needs_a_reason_and_a_finding(write_layer: Callable[..., Path]) -> None:
    rows = "crop_id,low,unit\nbean-snap,1.5,mm\n"  # others print 12.7 to 50.8 mm
    for entry, rule in (
        ("{file: sowing_depth.csv, row: 2, rule: slip-unit}", "exception-not-reasoned"),
        ("{file: sowing_depth.csv, row: 2, rule: cell-type, reason: x}", "exception-not-reasoned"),
        ("{file: sowing_depth.csv, row: 3, rule: slip-unit, reason: x}", "exception-unused"),
    ):
        layer = write_layer(f"Layer {rule} {len(entry)}", f"exceptions: [{entry}]\n", sowing_depth=rows)
        report = cropdata.check(layer)
        assert rule in {item.rule for item in report.findings} and not report.ok
    reason = write_layer(
        "Reasoned",
        "exceptions: [{file: sowing_depth.csv, row: 2, rule: slip-unit, reason: as printed}]\n",
        sowing_depth=rows,
    )
    (finding,) = cropdata.check(reason).findings
    assert finding.severity == "excused" and finding.hint == "nothing: as printed"


def test_no_exception_makes_a_layer_open_that_cannot(write_layer: Callable[..., Path]) -> None:
    """The check says so, where a reason is given for what opening refuses."""
    entry = "{file: seed_longevity.csv, row: 2, rule: low-above-high, reason: printed so}"
    layer = write_layer("Odd", f"exceptions: [{entry}]\n", seed_longevity="crop_id,low,high,unit\nonion,3,2,years\n")
    report = cropdata.check(layer)
    assert not report.ok and [item.severity for item in report.findings] == ["error", "excused"]
    with pytest.raises(cropdata.LayerError, match="low 3 is above high 2"):
        cropdata.open(layers=[layer])


def test_what_the_release_sets_aside_is_listed_apart() -> None:
    report = cropdata.check(Path(__file__).resolve().parents[2] / "datapackage", standard=False)
    assert report.findings == () and report.set_aside
    assert json.loads(report.json())["set_aside"][0]["rule"] == report.set_aside[0].rule


def test_rows_in_words() -> None:
    assert rows_named([2]) == "row 2" and rows_named([2, 3, 4, 7]) == "rows 2 to 4 and 7"
    assert rows_named(range(2, 100, 2)).endswith("and 37 more")


@pytest.mark.parametrize(
    ("table", "row", "column", "hint"),
    [
        ("sowing_depth", "tomato,1,1,inch", "unit", "write in"),
        ("seed_longevity", "onion,1,1,year", "unit", "write years"),
        ("days_to_emergence", "onion,9,9,Day", "unit", "write days"),
        ("germination_temperature", "onion,,,°F", "unit", "write F"),
        ("sowing_depth", "tomato,1/2,1,in", "low", "write 0.5"),
        ("sowing_depth", "tomato,1 1/4,2,in", "low", "write 1.25"),
        ("sowing_depth", 'tomato,"1,200",2,in', "low", "write a point; where a thousand is meant, 1200; numbers are never read by locale"),
        ("sowing_depth", 'tomato,"1,5",2,in', "low", "write a point; numbers are never read by locale"),
        ("packets", 'tomato,"1,200",,', "seeds_in_packet", "write 1200"),
        ("crops", "Pea Tall,,,", "crop_id", "write pea-tall"),
    ],
)  # fmt: skip
def test_a_hint_says_what_to_write(tmp_path: Path, table: str, row: str, column: str, hint: str) -> None:
    heads = {"germination_temperature": "crop_id,minimum,maximum,unit", "packets": "crop_id,seeds_in_packet,habit,note", "crops": "crop_id,name,note,parent_id"}  # fmt: skip
    file = tmp_path / f"{table}.csv"
    file.write_text(f"{heads.get(table, 'crop_id,low,high,unit')}\n{row}\n", encoding="utf-8")
    told = [item.hint for item in cropdata.check(file).errors if (item.row, item.column) == (2, column)]
    assert hint in told


def test_weeks_on_both_sides_of_the_frost_are_no_months(write_layer: Callable[..., Path]) -> None:
    """2 weeks alone may be 2 months among 6 to 8 weeks; from -3 to 2 they are not, as -3 months is far from all."""
    layer = write_layer(weeks_before_last_frost="crop_id,low,high,unit\ntomato,-3,2,weeks\n")
    assert "slip-unit" not in {item.rule for item in cropdata.check(layer).findings}
    alone = write_layer("Alone", weeks_before_last_frost="crop_id,low,high,unit\ntomato,2,2,months\n")
    assert "slip-unit" not in {item.rule for item in cropdata.check(alone).findings}
    typed = write_layer("Typed", weeks_before_last_frost="crop_id,low,high,unit\ntomato,2,2,weeks\n")
    assert "slip-unit" in {item.rule for item in cropdata.check(typed).findings}
