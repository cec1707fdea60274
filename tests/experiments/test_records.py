"""Records as people keep them: what is passed over, which row is named, what is refused."""

from __future__ import annotations

import datetime
from pathlib import Path

import pandas as pd
import pytest

from cropdata.errors import InputError
from cropdata.experiments.records import cell_text, read_records


def written(folder: Path, text: str) -> Path:
    path = folder / "r.csv"
    path.write_bytes(text.encode("utf-8"))
    return path


def test_comments_and_blanks_are_passed_over_and_rows_keep_their_number(tmp_path: Path) -> None:
    text = '\ufeff# a note, with "one quote\r\n\r\nmethod,seed,note\r\na,1,bed #3\r\n,,\r\n#a,2,out\r\nb,1,"two\r\nlines # both"\r\nb,2\r\n'
    records = read_records(written(tmp_path, text))
    assert records.columns == ("method", "seed", "note")
    # As a spreadsheet shows it: note 1, blank 2, header 3, a 4, blank 5, comment 6, b 7 (one row of two lines), b 8.
    assert records.numbers == (4, 7, 8)
    assert [row["note"] for row in records.rows] == ["bed #3", "two\r\nlines # both", ""]


def test_a_comment_that_a_spreadsheet_put_in_quotes(tmp_path: Path) -> None:
    records = read_records(written(tmp_path, '"# tomato, shed",,\nmethod,seed\n"#1 mix",1\n'))
    assert records.rows == ({"method": "#1 mix", "seed": "1"},) and records.numbers == (3,)


def test_a_frame_is_read_as_the_file_would_be() -> None:
    frame = pd.DataFrame(
        {"method": ["a", None], "score": [4.0, float("nan")], "sown": pd.to_datetime(["2027-03-01", None])}
    )
    for form in (frame, frame.convert_dtypes(), frame.astype(object)):
        records = read_records(form)
        assert records.rows == (
            {"method": "a", "score": "4", "sown": "2027-03-01"},
            {"method": "", "score": "", "sown": ""},
        )
        assert records.numbers == (2, 3)
    assert records.date(0, "sown") == datetime.date(2027, 3, 1) and records.date(1, "sown") is None
    assert cell_text(2.5) == "2.5" and cell_text(" x ") == "x"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("# x\nmethod;seed;sown\na;1;2\n", "row 2: the columns are parted by semicolons; allowed: commas"),
        ("method\tseed\na\t1\n", "parted by tabs"),
        ("", "is empty"),
        ("# only a note\n\n", "is empty"),
        ("method,seed\na,1,x\n", "row 2: has 3 cells, the header 2"),
        ("method,seed,seed\n", "stand twice in the header: seed"),
        ('method,seed\n"a,1\n', "row 2: cannot be read as CSV"),
    ],
)
def test_files_that_cannot_be_used(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_records(written(tmp_path, text))


def test_what_is_no_record(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.csv: cannot be read"):
        read_records(tmp_path / "none.csv")
    (tmp_path / "l.csv").write_bytes(b"method,seed\n\xe9,1\n")
    with pytest.raises(InputError, match="not UTF-8"):
        read_records(tmp_path / "l.csv")
    with pytest.raises(InputError, match="DataFrame or the path"):
        read_records([{"method": "a"}])  # type: ignore[arg-type]


def test_the_error_names_row_and_column(tmp_path: Path) -> None:
    records = read_records(written(tmp_path, "# x\nmethod,sown\na,2027-03-01\nb,soon\n"))
    with pytest.raises(InputError, match="row 4, sown: is no date; allowed: YYYY-MM-DD .found 'soon'."):
        records.date(1, "sown")
    with pytest.raises(InputError, match="columns are missing; allowed: method, seed, unit .missing: seed."):
        records.need(("method", "seed"), ("unit",))
