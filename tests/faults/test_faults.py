"""Seeded faults, one at a time, in a copy of the release: each must be found by its own rule.

The kinds follow the fault list of general validators; each is made from a clean row by a small change.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata

pytestmark = pytest.mark.faults

Rows = list[list[str]]
DEPTH, LIFE, TEMP, CROPS, SOURCES = (
    "evidence/sowing_depth", "evidence/seed_longevity", "evidence/germination_temperature", "reference/crops", "reference/sources",
)  # fmt: skip


def cell(column: str, value: str, row: int = 7) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        rows[row][rows[0].index(column)] = value

    return change


def swap(one: str, other: str, row: int = 7) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        a, b = rows[0].index(one), rows[0].index(other)
        rows[row][a], rows[row][b] = rows[row][b], rows[row][a]

    return change


def best_above_maximum(rows: Rows) -> None:
    best, most = rows[0].index("optimum_high"), rows[0].index("maximum")
    row = next(row for row in rows[1:] if row[best] and row[most])
    row[best] = str(float(row[most]) + 10)


def minimum_above_maximum(rows: Rows) -> None:
    least, most = rows[0].index("minimum"), rows[0].index("maximum")
    row = next(row for row in rows[1:] if row[least] and row[most])
    row[least] = "120"


def twice(rows: Rows) -> None:
    rows.insert(8, list(rows[7]))


def ragged(rows: Rows) -> None:
    rows[7] = rows[7][:-1]


def blank(rows: Rows) -> None:
    rows.insert(7, [""] * len(rows[0]))


def header(name: str, new: str) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        rows[0][rows[0].index(name)] = new

    return change


def reorder(rows: Rows) -> None:
    for row in rows:
        row[0], row[1] = row[1], row[0]


def drop(column: str) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        at = rows[0].index(column)
        for row in rows:
            del row[at]

    return change


CELLS = [
    ("a word for a number", DEPTH, cell("low", "ten"), "cell-type"),
    ("digits grouped", DEPTH, cell("low", "1_0"), "cell-type"),
    ("decimal comma", DEPTH, cell("low", "0,5"), "cell-decimal-comma"),
    ("unit in the cell", DEPTH, cell("low", "12 mm"), "cell-unit-inside"),
    ("infinity", DEPTH, cell("low", "inf"), "cell-type"),
    ("not a number", DEPTH, cell("low", "nan"), "cell-type"),
    ("exponent", DEPTH, cell("low", "1e1"), "cell-type"),
    ("formula", DEPTH, cell("low", "=1+1"), "cell-formula"),
    ("blank at the end of a number", DEPTH, cell("low", "1 "), "cell-blanks"),
    ("blank at the end of an id", DEPTH, cell("crop_id", "tomato "), "cell-blanks"),
    ("required cell empty", DEPTH, cell("locator", ""), "cell-required"),
    ("basis not in the list", DEPTH, cell("basis", "guess"), "cell-enum"),
    ("blank in a listed word", DEPTH, cell("unit", " in"), "cell-blanks"),
    ("capital in a listed word", DEPTH, cell("unit", "IN"), "cell-enum"),
    ("row id of another form", DEPTH, cell("row_id", "Tomato.x.1"), "cell-pattern"),
    ("Cyrillic letter in a crop id", DEPTH, cell("crop_id", "tomаto"), "cell-look-alike"),
    ("crop that is not there", DEPTH, cell("crop_id", "mandrake"), "link-broken"),
    ("source that is not there", DEPTH, cell("source_id", "nobody_1900"), "link-broken"),
    ("canonical out of range", DEPTH, cell("high_mm", "3000"), "cell-limits"),
    ("inches in the millimetre column", DEPTH, cell("low_mm", "1"), "not-as-printed"),
    ("printed value changed, canonical not", DEPTH, cell("high", "33"), "not-as-printed"),
    ("unit changed, canonical not", DEPTH, cell("unit", "cm"), "not-as-printed"),
    ("canonical blank", DEPTH, cell("low_mm", ""), "not-as-printed"),
    ("low and high swapped in the header", LIFE, swap("low", "high", 0), "header-order"),
    ("low above high", LIFE, cell("low", "99"), "low-above-high"),
    ("negative life", LIFE, cell("low_years", "-3"), "cell-limits"),
    ("Celsius typed as Fahrenheit", TEMP, cell("unit", "C"), "not-as-printed"),
    ("minimum above maximum", TEMP, minimum_above_maximum, "low-above-high"),
    ("best range above the maximum", TEMP, best_above_maximum, "temperature-order"),
    ("year that is no year", SOURCES, cell("year", "19xx"), "cell-type"),
    ("year out of range", SOURCES, cell("year", "3019"), "cell-limits"),
    ("lineage that is no source", SOURCES, cell("lineage", "nobody"), "lineage-unknown"),
    ("family that is no family", CROPS, cell("family", "roses"), "cell-pattern"),
    ("parent that is not there", CROPS, cell("parent_id", "mandrake"), "link-broken"),
    ("parent of another species", CROPS, cell("parent_id", "tomato"), "parent-other-species"),
    ("retired without successor", CROPS, cell("status", "retired"), "retired-without-successor"),
    ("retired with evidence", CROPS, cell("status", "retired"), "evidence-for-retired"),
    ("row twice", DEPTH, twice, "key-twice"),
    ("ragged row", DEPTH, ragged, "file-ragged-row"),
    ("blank row", DEPTH, blank, "file-blank-row"),
    ("column renamed", DEPTH, header("locator", "page"), "header-unknown"),
    ("column gone", DEPTH, drop("locator"), "header-missing"),
    ("column twice", DEPTH, header("locator", "basis"), "header-twice"),
    ("columns in another order", DEPTH, reorder, "header-order"),
    ("header in capitals", DEPTH, header("unit", "Unit"), "header-unknown"),
    ("decision about no row", "reference/decisions", cell("row_id", "onion.nobody.01", 1), "decision-unknown-row"),
    ("decision about no table", "reference/decisions", cell("table", "depths", 1), "decision-unknown-table"),
]  # fmt: skip


def _write(path: Path, rows: Rows) -> None:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(rows)
    path.write_bytes(stream.getvalue().encode())


@pytest.mark.parametrize(("kind", "table", "change", "rule"), CELLS, ids=[kind for kind, *_ in CELLS])
def test_a_seeded_fault_is_found(
    package: Path, kind: str, table: str, change: Callable[[Rows], None], rule: str
) -> None:
    path = package / f"{table}.csv"
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    change(rows)
    _write(path, rows)
    report = cropdata.check(package, standard=False)
    found = [item for item in report.findings if item.rule == rule]
    assert found, [item.rule for item in report.findings]
    assert any(item.file == f"{table}.csv" or rule == "evidence-for-retired" for item in found)


BYTES = [
    ("byte-order mark", lambda data: b"\xef\xbb\xbf" + data, "file-bom"),
    ("carriage returns", lambda data: data.replace(b"\n", b"\r\n"), "file-line-ends"),
    ("no final line end", lambda data: data[:-1], "file-final-line-end"),
    ("NUL byte", lambda data: data[:300] + b"\0" + data[300:], "file-nul-byte"),
    ("another encoding", lambda data: data + "é".encode("latin-1"), "file-encoding"),
    ("UTF-16", lambda data: data.decode().encode("utf-16"), "file-encoding"),
    ("empty file", lambda data: b"", "file-empty"),
    ("semicolons", lambda data: data.replace(b",", b";"), "file-delimiter"),
    ("unclosed quote", lambda data: data + b'"', "file-quotes"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "change", "rule"), BYTES, ids=[kind for kind, *_ in BYTES])
def test_a_fault_in_the_bytes_is_found(package: Path, kind: str, change: Callable[[bytes], bytes], rule: str) -> None:
    path = package / "evidence" / "sowing_depth.csv"
    path.write_bytes(change(path.read_bytes()))
    assert rule in {item.rule for item in cropdata.check(package, standard=False).findings}


def test_a_descriptor_that_leaves_the_folder_is_refused(package: Path) -> None:
    path = package / "datapackage.json"
    path.write_text(
        path.read_text(encoding="utf-8").replace('"evidence/light.csv"', '"../light.csv"'), encoding="utf-8"
    )
    assert "path-outside" in {item.rule for item in cropdata.check(package, standard=False).findings}
    assert "descriptor" in {item.rule for item in cropdata.check(_broken(package), standard=False).findings}


def _broken(package: Path) -> Path:
    (package / "datapackage.json").write_text("{", encoding="utf-8")
    return package
