from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropdata.errors import DataError
from cropdata.tabular.rows import TableText, read_rows, table_text, write_whole

CELL = st.text(st.characters(exclude_characters="\r\n\x00", exclude_categories=("Cs",)), max_size=12)


@given(st.lists(st.tuples(CELL, CELL, CELL), max_size=8))
def test_what_is_written_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, cells: list[tuple[str, str, str]]
) -> None:
    path = tmp_path_factory.mktemp("rows") / "t.csv"
    rows = [dict(zip("abc", row, strict=True)) for row in cells]
    write_whole(str(path), table_text(list("abc"), rows))
    assert read_rows(str(path)) == rows


def test_rows_starting_finds_one_crop_and_not_its_namesakes(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text('id,v\nbean-pole.x.01,1\nbean.x.01,2\nbean.x.02,"a, b"\nbeet.x.01,3\n', encoding="utf-8")
    assert [row["v"] for row in TableText(str(path)).rows_starting("bean.")] == ["2", "a, b"]
    assert TableText(str(path)).rows_starting("pea.") == []
    assert [row["v"] for row in TableText(str(path)).rows_starting("beet.")] == ["3"]


def test_a_missing_file_and_bytes_that_are_no_text_are_data_errors(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="No such file"):
        read_rows(str(tmp_path / "none.csv"))
    bad = tmp_path / "bad.csv"
    bad.write_bytes(b"a,b\n\xff\xfe,1\n")
    with pytest.raises(DataError, match="not UTF-8 at byte 4"):
        read_rows(str(bad))


def test_a_ragged_row_is_a_data_error(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("a,b\n1\n", encoding="utf-8")
    with pytest.raises(DataError, match="1 cells, the header 2"):
        read_rows(str(path))
