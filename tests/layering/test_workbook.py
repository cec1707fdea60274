"""A layer as a workbook and back. Growers and figures are invented; workbooks are made with openpyxl as a person would."""

from __future__ import annotations

import csv
import datetime
import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cropdata
from cropdata.layering import begin_layer
from cropdata.layering.workbook_in import from_workbook
from cropdata.layering.workbook_out import to_workbook

Run = Callable[..., subprocess.CompletedProcess[str]]
Write = Callable[..., Path]
HARD = [
    "007", "7-10", "1/4", "=1+1", "@here", "+cmd|x", "-2", "2026-10-07", "1e5", "TRUE", "true", "é ñ ß Zwölf 春", "'quoted",
    'say "deep"', "a, b; c", " blanks ", "x" * 9000, "12.50", "0.1", "1000000000000000000000", "NaN", "#N/A", "", "_x0041_", "%", "50%",
]  # fmt: skip


def _round(layer: Path, tmp_path: Path, descriptor: Any) -> dict[str, str]:
    """The layer's files, by way of a workbook."""
    file = tmp_path / "layer.xlsx"
    file.unlink(missing_ok=True)
    to_workbook(str(layer), str(file), descriptor)
    sheets = from_workbook(str(file), descriptor)
    assert sheets.misread == []
    return {f"{name}.csv": text for name, text in sheets.tables.items()} | {"layer.yaml": sheets.settings or ""}


def _cells(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def _table(rows: list[list[str]]) -> str:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(rows)
    return stream.getvalue()


def test_a_new_layer_comes_back_byte_for_byte(tmp_path: Path, db: cropdata.Catalog) -> None:
    begin_layer(tmp_path / "mine", db.descriptor, title="Née à 7-10", author="A. Grower (invented)")
    files = {path.name: path.read_text(encoding="utf-8") for path in (tmp_path / "mine").iterdir()}
    assert _round(tmp_path / "mine", tmp_path, db.descriptor) == files


def test_whatever_stands_in_a_cell_comes_back(write_layer: Write, tmp_path: Path, db: cropdata.Catalog) -> None:
    """Each hard text in a text column and in a number column, numbers as typed, remarks and blank rows in their places."""
    rows = [["crop_id", "low", "note", "high"], ["# a remark", "", "", ""]]
    rows += [["onion", text, text, "2.5"] for text in HARD]
    rows += [["# 7-10", "1/4", "=x", "007"], ["onion", "0.1", "two\nlines", "30"]]
    text = _table(rows).replace("# a remark,,,\n", "# a remark, with a comma\n\n")
    layer = write_layer(seed_longevity=text)
    assert _round(layer, tmp_path, db.descriptor)["seed_longevity.csv"] == text


@given(
    st.lists(
        st.lists(
            st.text(
                st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"), exclude_characters="\ufffe\uffff"),
                max_size=20,
            ),
            min_size=3,
            max_size=3,
        ),
        max_size=6,
    )
)
@settings(max_examples=60, deadline=None)
def test_any_text_comes_back(tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]]) -> None:
    descriptor = cropdata.open().descriptor
    place = tmp_path_factory.mktemp("any")
    (place / "layer.yaml").write_text("title: Any\n", encoding="utf-8")
    kept = [[f"c{row[0]}", *row[1:]] for row in rows]  # a row behind a # is a remark, above
    text = _table([["crop_id", "low", "note"], *kept])
    (place / "seed_longevity.csv").write_text(text, encoding="utf-8")
    back = _round(place, place, descriptor)["seed_longevity.csv"]
    assert _cells(back) == _cells(text)


def test_text_is_text_and_numbers_are_numbers_in_the_workbook(
    write_layer: Write, tmp_path: Path, db: cropdata.Catalog
) -> None:
    layer = write_layer(seed_longevity="crop_id,low,high,unit,note\nonion,2,2.50,years,=1+1\n")
    to_workbook(str(layer), str(tmp_path / "x.xlsx"), db.descriptor)
    sheet = openpyxl.load_workbook(tmp_path / "x.xlsx")["seed_longevity"]
    assert (sheet["B2"].value, sheet["B2"].data_type) == (2, "n")
    assert (sheet["C2"].value, sheet["C2"].data_type) == ("2.50", "s")  # a number would lose its zero
    assert (sheet["E2"].value, sheet["E2"].data_type, sheet["E2"].number_format) == ("=1+1", "s", "@")
    assert sheet.column_dimensions["E"].number_format == "@"


def _book(path: Path, **sheets: list[list[Any]]) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def test_what_a_spreadsheet_changed_is_told_by_sheet_row_and_column(tmp_path: Path, db: cropdata.Catalog) -> None:
    head = ["crop_id", "low", "high", "unit", "note"]
    file = _book(
        tmp_path / "x.xlsx",
        seed_longevity=[
            head, ["onion", datetime.date(2026, 10, 7), 3, "years"], ["leek", datetime.time(7, 30), 3, "years"],
            ["beet", "=1+1", 3, "years"], ["carrot", 0.75, 3, "years"], ["pea", 2, 3, "years", datetime.datetime(2026, 4, 1)],
        ],
    )  # fmt: skip
    book = openpyxl.load_workbook(file)
    book["seed_longevity"]["B5"].number_format = "0%"
    book["seed_longevity"]["C6"].value = "#DIV/0!"
    book["seed_longevity"]["C6"].data_type = "e"
    book.save(file)
    misread = from_workbook(str(file), db.descriptor).misread
    assert [(item.sheet, item.row, item.column, item.rule) for item in misread] == [
        ("seed_longevity", 2, "low", "cell-sheet-date"), ("seed_longevity", 3, "low", "cell-sheet-date"),
        ("seed_longevity", 4, "low", "cell-formula"), ("seed_longevity", 5, "low", "cell-type"),
        ("seed_longevity", 6, "high", "cell-type"), ("seed_longevity", 6, "note", "cell-sheet-date"),
    ]  # fmt: skip
    assert "7 October 2026: was it typed as 7-10 or 10-7?" in misread[0].message
    assert misread[3].message == "is shown as 75 % and stored as 0.75"


def test_sheets_by_the_names_that_people_give_them(tmp_path: Path, db: cropdata.Catalog) -> None:
    life = [["crop_id", "low", "high", "unit"], ["onion", 2, 3, "years"]]
    file = _book(
        tmp_path / "x.xlsx",
        **{"Seed longevity": life, "#scratch": [["anything", 1]], "Sheet1": [], "Shopping": [["peat", 2]]},
    )
    sheets = from_workbook(str(file), db.descriptor)
    assert sheets.settings is None and sheets.tables == {"seed_longevity": "crop_id,low,high,unit\nonion,2,3,years\n"}
    assert [(item.sheet, item.rule) for item in sheets.misread] == [("Shopping", "file-unknown-table")]
    _book(tmp_path / "y.xlsx", **{"Seed longevity": life, "seed_longevity": life})
    assert "second sheet of one table" in from_workbook(str(tmp_path / "y.xlsx"), db.descriptor).misread[0].message


def test_the_way_back_is_checked_and_replaces_only_when_asked(write_layer: Write, tmp_path: Path, run: Run) -> None:
    layer = write_layer(
        seed_longevity="crop_id,low,high,unit\nonion,2,3,years\n", crop_names="name,crop_id\nzwiebel am zopf,onion\n"
    )
    file = tmp_path / "x.xlsx"
    assert run("layer", "to-xlsx", layer, file).returncode == 0
    again = run("layer", "to-xlsx", layer, file)
    assert again.returncode == 2 and "nothing is overwritten" in again.stderr
    book = openpyxl.load_workbook(file)
    book["seed_longevity"]["B2"].value = 2.5
    del book["crop_names"]
    book.save(file)
    refused = run("layer", "from-xlsx", file, layer)
    assert refused.returncode == 2 and "--replace replaces the tables of a layer" in refused.stderr
    done = run("layer", "from-xlsx", file, layer, "--replace")
    assert done.returncode == 0 and "left as they were, having no sheet: crop_names.csv" in done.stdout
    assert (layer / "seed_longevity.csv").read_text(encoding="utf-8") == "crop_id,low,high,unit\nonion,2.5,3,years\n"
    assert "zwiebel am zopf" in cropdata.open(layers=[layer])
    book["seed_longevity"]["A2"].value = "onoin"
    book.save(file)
    new = tmp_path / "new"
    told = run("layer", "from-xlsx", file, new, "--json")
    shown = json.loads(told.stdout)
    assert told.returncode == 1 and shown["written"] and new.is_dir()
    assert [(item["file"], item["row"], item["rule"]) for item in shown["report"]["findings"]] == [
        ("sheet seed_longevity", 2, "link-broken")
    ]


def test_a_table_below_a_folder_goes_back_there(write_layer: Write, tmp_path: Path, run: Run) -> None:
    layer = write_layer()
    (layer / "evidence").mkdir()
    (layer / "evidence" / "seed_longevity.csv").write_text("crop_id,low,high,unit\nonion,2,3,years\n", encoding="utf-8")
    run("layer", "to-xlsx", layer, tmp_path / "x.xlsx")
    assert run("layer", "from-xlsx", tmp_path / "x.xlsx", layer, "--replace").returncode == 0
    assert sorted(path.name for path in layer.rglob("*")) == ["evidence", "layer.yaml", "seed_longevity.csv"]
    (layer / "seed_longevity.csv").write_text("crop_id\n", encoding="utf-8")
    twice = run("layer", "to-xlsx", layer, tmp_path / "y.xlsx")
    assert twice.returncode == 2 and "stands twice" in twice.stderr and not (tmp_path / "y.xlsx").exists()


# Made to harm


def _zip(path: Path, **members: bytes) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name.replace("__", "/"), data)
    return path


def bomb(path: Path, _: Path) -> None:
    _zip(path, **{"xl__worksheets__sheet1.xml": b"0" * 200_000_000})


def many(path: Path, _: Path) -> None:
    _zip(path, **{f"part{number}": b"" for number in range(3000)})


def laughs(path: Path, good: Path) -> None:
    with zipfile.ZipFile(good) as source, zipfile.ZipFile(path, "w") as target:
        for item in source.infolist():
            data = source.read(item)
            if item.filename == "xl/workbook.xml":
                data = b"<?xml version='1.0'?>" + b" " * 2_000_000 + b"<!DOCTYPE x [<!ENTITY a 'ha'>]>" + data
            target.writestr(item, data)


def no_zip(path: Path, _: Path) -> None:
    path.write_bytes(b"\xd0\xcf\x11\xe0" + b"0" * 4000)  # the old binary workbook, and any that has a password


def half(path: Path, good: Path) -> None:
    path.write_bytes(good.read_bytes()[:-300])


def no_book(path: Path, _: Path) -> None:
    _zip(path, **{"readme.txt": b"hello"})


def far_cell(path: Path, good: Path) -> None:
    book = openpyxl.load_workbook(good)
    book["seed_longevity"].cell(2, 16_000).value = "far"
    book.save(path)


def far_row(path: Path, good: Path) -> None:
    with zipfile.ZipFile(good) as source, zipfile.ZipFile(path, "w") as target:
        for item in source.infolist():
            data = source.read(item)
            if item.filename.startswith("xl/worksheets/sheet"):
                data = data.replace(
                    b"</sheetData>", b'<row r="999999999"><c r="A999999999"><v>1</v></c></row></sheetData>'
                )
            target.writestr(item, data)


def _one_text(path: Path, good: Path, length: int, rows: int, cells: int) -> None:
    """`rows` rows of `cells` cells that all name one text, which the file holds once."""
    main = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    row = b"<row>" + b'<c t="s"><v>0</v></c>' * cells + b"</row>"
    parts = {
        "xl/worksheets/sheet1.xml": b"<worksheet %s><sheetData>%s</sheetData></worksheet>" % (main, row * rows),
        "xl/sharedStrings.xml": b"<sst %s><si><t>%s</t></si></sst>" % (main, b"z" * length),
    }
    with zipfile.ZipFile(good) as source, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            if name not in parts:
                parts[name] = source.read(name)
        kind = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
        named = b'<Override PartName="/xl/sharedStrings.xml" ContentType="%s"/></Types>' % kind
        parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace(b"</Types>", named)
        for name, data in parts.items():
            target.writestr(name, data)
    assert path.stat().st_size < 50_000


def one_endless_text(path: Path, good: Path) -> None:
    _one_text(path, good, 1_000_000, 3, 300)


def one_long_text(path: Path, good: Path) -> None:
    _one_text(path, good, 32_000, 300, 300)


@pytest.mark.parametrize("harm", [one_endless_text, one_long_text])
def test_one_text_of_many_cells_does_not_fill_the_memory(tmp_path: Path, harm: Callable[[Path, Path], None]) -> None:
    pytest.importorskip("resource", reason="memory is limited by the system call setrlimit, not on Windows")
    good = _book(tmp_path / "good.xlsx", seed_longevity=[["crop_id", "low"], ["onion", 2]])
    harm(tmp_path / "bad.xlsx", good)
    code = (
        "import resource, sys\nresource.setrlimit(resource.RLIMIT_AS, (1_000_000_000,) * 2)\n"
        "from cropdata.cli.main import main\nraise SystemExit(main(['layer', 'from-xlsx', *sys.argv[1:]]))"
    )
    done = subprocess.run([sys.executable, "-c", code, tmp_path / "bad.xlsx", tmp_path / "out"],
                          cwd=Path(__file__).resolve().parents[2], capture_output=True, text=True, check=False)  # fmt: skip
    assert done.returncode == 2 and len(done.stderr) < 1000 and not (tmp_path / "out").exists(), done.stderr
    assert "bad.xlsx, row " in done.stderr and "the sheet 'seed_longevity' h" in done.stderr


def other_name(path: Path, good: Path) -> None:
    """The part that declares entities does not end in .xml; the workbook names it all the same."""
    with zipfile.ZipFile(good) as source, zipfile.ZipFile(path, "w") as target:
        for item in source.infolist():
            data = source.read(item).replace(b"sheet1.xml", b"sheet1.dat")
            if item.filename == "xl/worksheets/sheet1.xml":
                data = b"<!DOCTYPE x [<!ENTITY a 'ha'>]>" + data
            target.writestr(item.filename.replace("sheet1.xml", "sheet1.dat"), data)


@pytest.mark.parametrize("harm", [bomb, many, laughs, other_name, no_zip, half, no_book, far_cell, far_row])
def test_a_workbook_made_to_harm_is_refused_in_words(
    tmp_path: Path, run: Run, harm: Callable[[Path, Path], None]
) -> None:
    good = _book(tmp_path / "good.xlsx", seed_longevity=[["crop_id", "low", "high", "unit"], ["onion", 2, 3, "years"]])
    harm(tmp_path / "bad.xlsx", good)
    done = run("layer", "from-xlsx", tmp_path / "bad.xlsx", tmp_path / "out")
    assert done.returncode == 2 and "Traceback" not in done.stderr and len(done.stderr) < 1000
    assert "bad.xlsx" in done.stderr and not (tmp_path / "out").exists()


def test_links_and_macros_of_a_workbook_are_left_alone(tmp_path: Path, db: cropdata.Catalog) -> None:
    """A part with a macro and a link to another workbook changes nothing of what is read."""
    life = [
        ["crop_id", "low", "high", "unit", "note"],
        ["onion", 2, 3, "years", '=HYPERLINK("http://invented.example")'],
    ]
    good = _book(tmp_path / "good.xlsx", seed_longevity=life)
    with zipfile.ZipFile(good, "a") as archive:
        archive.writestr("xl/vbaProject.bin", b"invented macro")
        archive.writestr("xl/externalLinks/externalLink1.xml", b"<externalLink/>")
    sheets = from_workbook(str(good), db.descriptor)
    assert [item.rule for item in sheets.misread] == ["cell-formula"]
    assert "onion,2,3,years" in sheets.tables["seed_longevity"]


def test_the_extra_is_named_where_it_is_missing(tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "openpyxl", None)  # as Python itself marks a module that cannot be imported
    with pytest.raises(cropdata.MissingExtraError) as caught:
        from_workbook(str(tmp_path / "x.xlsx"), cropdata.open().descriptor)
    assert caught.value.install == "pip install 'cropdata[xlsx]'"


@pytest.mark.parametrize("sign", ["\ufffe", "\uffff", "\x01"])
def test_a_sign_that_no_workbook_can_hold_is_refused(
    write_layer: Write, tmp_path: Path, db: cropdata.Catalog, sign: str
) -> None:
    """XML 1.0 leaves them out; openpyxl writes two of them into a file that nothing can read."""
    layer = write_layer(seed_longevity=f"crop_id,low,high,unit,note\nonion,1,2,years,a{sign}b\n")
    with pytest.raises(
        cropdata.InputError, match=r"seed_longevity\.csv, row 2: a cell holds a sign that a spreadsheet cannot hold"
    ):
        to_workbook(str(layer), str(tmp_path / "x.xlsx"), db.descriptor)
    assert not (tmp_path / "x.xlsx").exists()


def test_an_array_formula_and_a_dated_year_are_told_as_such(tmp_path: Path, db: cropdata.Catalog) -> None:
    file = _book(
        tmp_path / "x.xlsx",
        packets=[["crop_id", "low", "packed_year"], ["tomato", 70, datetime.date(2026, 3, 1)], ["tomato", 70, 2026]],
    )
    book = openpyxl.load_workbook(file)
    book["packets"]["B3"] = openpyxl.worksheet.formula.ArrayFormula("B3", "=SUM(60,10)")
    book.save(file)
    year, formula = from_workbook(str(file), db.descriptor).misread
    assert (year.row, year.column, year.hint) == (2, "packed_year", "format the column as number, then write 2026")
    assert (formula.row, formula.column, formula.rule, formula.found) == (3, "low", "cell-formula", "=SUM(60,10)")


def test_a_title_above_the_table_is_told_once_and_not_as_a_comma(tmp_path: Path, run: Run) -> None:
    rows = [["tomato", 70 + number, 80 + number, "days", "planting"] for number in range(6)]
    head = ["crop_id", "low", "high", "unit", "counted_from"]
    file = _book(tmp_path / "x.xlsx", packets=[["My seed packets 2026"], head, *rows])
    told = run("layer", "from-xlsx", file, tmp_path / "out", "--title", "Mine").stdout
    assert told.count("more cells than the header has names") == 1 and "rows 2 to 8" in told
    assert "comma" not in told and "move a title above it" in told
    assert "did you mean" not in told and "column is missing" not in told  # what follows from the one mistake
