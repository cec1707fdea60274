"""`--fix`: what is safe is mended and said, no value is touched, nothing is half-written."""

from __future__ import annotations

import csv
import io
import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

import cropdata
from cropdata.validation.fixing import mend

Run = Callable[..., subprocess.CompletedProcess[str]]
SHEET = b'\xef\xbb\xbfcrop_id,low,high,unit,note\r\n# mine \r\nonion ,1,2,years,"rose\xcc\x81, dry"\r\npea,3,4,years, x'


def test_a_spreadsheets_file_is_mended_and_each_change_is_named(write_layer: Callable[..., Path], run: Run) -> None:
    layer = write_layer()
    path = layer / "seed_longevity.csv"
    path.write_bytes(SHEET)
    done = run("check", layer, "--fix")
    assert done.returncode == 0, done.stdout
    assert (
        path.read_bytes()
        == 'crop_id,low,high,unit,note\n# mine \nonion,1,2,years,"rosé, dry"\npea,3,4,years,x\n'.encode()
    )
    for said in ("byte-order mark is taken away", "line ends become LF", "row 3, crop_id: 'onion ' becomes 'onion'",
                 r"row 3, note: 'rose\u0301, dry' becomes 'ros\xe9, dry'", "row 4, note: ' x' becomes 'x'"):  # fmt: skip
        assert said in done.stderr
    again = run("check", layer, "--fix")
    assert again.returncode == 0 and again.stderr == ""


def test_semicolons_and_the_commas_that_come_with_them(write_layer: Callable[..., Path], run: Run) -> None:
    layer = write_layer()
    path = layer / "sowing_depth.csv"
    path.write_text("crop_id;low;high;unit;note\nonion;0,5;1,5;cm;a, b\npea;2;1,500;cm;\n", encoding="utf-8")
    done = run("check", layer, "--fix", "--json")
    assert (
        path.read_text(encoding="utf-8") == 'crop_id,low,high,unit,note\nonion,0.5,1.5,cm,"a, b"\npea,2,"1,500",cm,\n'
    )
    (finding,) = json.loads(done.stdout)[
        "findings"
    ]  # 1,500 may be one and a half or fifteen hundred: left to the grower
    assert (finding["row"], finding["column"], finding["rule"]) == (3, "high", "cell-decimal-comma")


def test_rows_of_the_release_are_put_in_order(package: Path) -> None:
    path = package / "evidence" / "seed_longevity.csv"
    before = path.read_text(encoding="utf-8")
    head, one, two, *rest = before.splitlines(keepends=True)
    path.write_text("".join([head, two, *rest, one]), encoding="utf-8")
    (mended,) = mend(str(package))
    assert "rows are sorted by row_id" in mended.changes[0]
    assert path.read_text(encoding="utf-8") == before and cropdata.check(package).findings == ()


def test_a_release_that_is_right_is_left_as_it_is(package: Path) -> None:
    assert mend(str(package)) == []


@pytest.mark.parametrize(
    "data",
    [b'crop_id,low\nonion,"1\n', b"PK\x03\x04", b"a,b\n\xff\n", b"", b"a\0b\n"],
    ids=["quote", "zip", "bytes", "empty", "NUL"],
)
def test_what_cannot_be_read_is_left_alone_and_said(write_layer: Callable[..., Path], run: Run, data: bytes) -> None:
    layer = write_layer()
    path = layer / "seed_longevity.csv"
    path.write_bytes(data)
    done = run("check", layer, "--fix")
    assert done.returncode == 1 and "is left alone" in done.stderr and "Traceback" not in done.stderr
    assert path.read_bytes() == data and sorted(item.name for item in layer.iterdir()) == [
        "layer.yaml",
        "seed_longevity.csv",
    ]


def test_the_shipped_package_is_not_mended_by_mistake(run: Run) -> None:
    done = run("check", "--fix")
    assert done.returncode == 2 and "cropdata check --fix PATH" in done.stderr


_CELLS = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), max_size=12)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(st.lists(_CELLS, min_size=3, max_size=3), min_size=1, max_size=6),
    ends=st.sampled_from(["\n", "\r\n"]),
    bom=st.booleans(),
)
@example(rows=[["", "", "0\n0 "]], ends="\n", bom=False)  # a row was torn at the line break inside a cell
def test_mending_changes_form_only_and_once(tmp_path: Path, rows: list[list[str]], ends: str, bom: bool) -> None:
    """Round trip of any cells: the same ones come back, but for blanks at their ends and the Unicode form; twice is once."""
    import unicodedata

    path = tmp_path / "cautions.csv"
    stream = io.StringIO()
    csv.writer(stream, lineterminator=ends, quoting=csv.QUOTE_ALL).writerows([["crop_id", "hazard", "note"], *rows])
    path.write_bytes((b"\xef\xbb\xbf" if bom else b"") + stream.getvalue().encode())
    results = mend(str(path))
    if any(result.text is None for result in results):
        return

    def plain(cell: str) -> str:
        return unicodedata.normalize("NFC", cell).strip().replace("\r\n", "\n").replace("\r", "\n")

    with path.open(encoding="utf-8", newline="") as text:
        read = list(csv.reader(text, strict=True))
    assert [[plain(cell) for cell in row] for row in read[1:]] == [[plain(cell) for cell in row] for row in rows]
    after = path.read_bytes()
    mend(str(path))
    assert path.read_bytes() == after
