"""Both readers of blocks, row by row. The expected rows come from the csv module on the whole text."""

from __future__ import annotations

import csv
import io
import random
import sys
from pathlib import Path

import pytest

import cropdata
from cropdata.validation import fast, files, reading
from cropdata.validation.report import Finding

HEADER = ["row_id", "crop_id", "note"]
START = ",".join(HEADER) + "\n"
Read = tuple[list[tuple[int, list[str]]], list[Finding]]
ODD = [
    "a,b,plain\n", 'a,b,"quoted, with a comma"\n', 'a,b,"said ""so"""\n', 'a,b,"two\nlines"\n', "\n", ",,\n", "a,b\n",
    "a,b,c,d\n", "# a remark\n", '"# quoted, remark",b,c\n', ",b,c\n", 'a,b,5" pot\n', 'a,b,""\n', "a,b,é½\n", "a,b,c\r\n",
    '"a",b,c\n', "a,b, c \n", "NA,null,nan\n", 'a,"b",c\r\n', '"",b,c\n', "x,=1,#\n",
]  # fmt: skip


@pytest.fixture
def small_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks of a few lines and chunks of three rows, so that few rows cross many borders."""
    monkeypatch.setattr(reading, "BLOCK", 120)
    monkeypatch.setattr(reading, "TOGETHER", 3)
    monkeypatch.setattr(files, "CHUNK_ROWS", 3)


def _read(path: Path, *, comments: bool = False) -> Read:
    findings: list[Finding] = []
    parts = reading.chunks(str(path), "t.csv", files.Shape(HEADER, [], ",", 100), findings, comments=comments)
    rows = [
        (number, list(cells))
        for chunk in parts
        for number, *cells in zip(chunk.numbers, *(chunk.cells[name] for name in HEADER), strict=True)
    ]
    return rows, findings


def _read_without_fast(path: Path, *, comments: bool = False) -> Read:
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, "pyarrow", None)
        return _read(path, comments=comments)


@pytest.mark.parametrize("comments", [False, True])
def test_rows_are_those_of_the_csv_module_wherever_blocks_end(
    tmp_path: Path, small_blocks: None, comments: bool
) -> None:
    """Odd lines among plain ones in a hundred orders."""
    pytest.importorskip("pyarrow", reason="needs the extra `fast`")
    draw = random.Random(4)
    path = tmp_path / "t.csv"
    for _ in range(100):
        lines = [draw.choice(ODD) if draw.random() < 0.15 else f"r{n},crop,no {n}\n" for n in range(draw.randrange(60))]
        text = START + "".join(lines)
        path.write_text(text, encoding="utf-8", newline="")
        expected, blank, ragged = [], [], []
        for number, cells in enumerate(csv.reader(io.StringIO(text, newline=""), strict=True), start=1):
            if number == 1 or (comments and cells and cells[0].startswith("#")):
                continue
            if not any(cells):
                blank.append(number)
            elif len(cells) != len(HEADER):
                ragged.append(number)
            else:
                expected.append((number, cells))
        rows, findings = _read(path, comments=comments)
        assert rows == expected
        assert [item.row for item in findings if item.rule == "file-blank-row"] == blank
        assert [item.row for item in findings if item.rule == "file-ragged-row"] == ragged
        assert _read_without_fast(path, comments=comments) == (rows, findings)


@pytest.mark.parametrize(
    ("end", "rules"),
    [
        (b'a,b,"never closed\nx,y,z\n', ["file-quotes"]),
        (b'a,b,"closed" badly\n', ["file-quotes"]),
        (b"r,c,\xe9\nr,c,d\n", ["file-encoding"]),
        (b"a,b,c\rd,e,f\n", []),
    ],
    ids=["unclosed", "badly closed", "no UTF-8", "lone return"],
)
def test_rows_before_the_place_where_a_file_breaks_are_kept(
    tmp_path: Path, small_blocks: None, end: bytes, rules: list[str]
) -> None:
    pytest.importorskip("pyarrow", reason="needs the extra `fast`")
    path = tmp_path / "t.csv"
    path.write_bytes(START.encode() + b"r,c,d\n" * 50 + end)
    rows, findings = _read(path)
    assert [number for number, _ in rows][:50] == list(range(2, 52))
    assert [item.rule for item in findings] == rules
    assert _read_without_fast(path) == (rows, findings)


def test_a_key_that_stands_again_chunks_below_is_found_and_plain_blocks_are_taken(
    package: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("pyarrow", reason="needs the extra `fast`")
    path = package / "evidence" / "seed_longevity.csv"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    lines.insert(320, lines[3])
    path.write_text("".join([*lines, lines[3]]), encoding="utf-8")
    whole = cropdata.check(package, standard=False).findings
    twice = [(item.row, item.message) for item in whole if item.rule == "key-twice"]
    assert twice == [(row, "the key stands in row 4 already") for row in (321, len(lines) + 1)]
    taken = []
    plain = fast.PlainReader.columns
    monkeypatch.setattr(fast.PlainReader, "columns", lambda self, table: taken.append(plain(self, table)) or taken[-1])
    for size in (1_000, 7_777):
        monkeypatch.setattr(reading, "BLOCK", size)
        monkeypatch.setattr(files, "CHUNK_ROWS", size // 150)
        assert cropdata.check(package, standard=False).findings == whole
    assert any(taken)


def test_an_id_of_another_crop_is_found_in_plain_blocks(package: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the middle, at the beginning and at the end of a run of rows about one crop from one source."""
    pytest.importorskip("pyarrow", reason="needs the extra `fast`")
    path = package / "evidence" / "seed_longevity.csv"
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    for number, crop in ((100, rows[200][1]), (300, rows[299][1]), (301, rows[302][1])):
        rows[number][1] = crop if crop != rows[number][1] else rows[1][1]
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows(rows)
    expected = [n + 1 for n, row in enumerate(rows) if n and not row[0].startswith(f"{row[1]}.{row[2]}.")]
    assert 101 in expected and len(expected) >= 2
    for size in (reading.BLOCK, 1_000, 7_777):
        monkeypatch.setattr(reading, "BLOCK", size)
        found = cropdata.check(package, standard=False).findings
        assert [item.row for item in found if item.rule == "row-id-other"] == expected
