from __future__ import annotations

import datetime
from pathlib import Path

import pandas as pd
import pytest

from cropdata.errors import InputError
from cropdata.experiments.germination_record import read_germination

SOWN_ON = datetime.date(2027, 3, 1)


def written(folder: Path, text: str) -> Path:
    path = folder / "counts.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_counts_by_day_and_replicate(tmp_path: Path) -> None:
    text = "# shed, mat\ndate,germinated,replicate\n\n2027-03-04,3,a\n2027-03-04,1,b\n2027-03-06,2,b\n2027-03-09,0,a\n"
    path = written(tmp_path, text)
    found = read_germination(path, 20, SOWN_ON)
    assert found == (6, 20, 8, (3, 5, 8), (4, 2, 0), ((3, 10), (3, 10)))
    speed = found.speed()
    assert speed is not None and speed["mean_days"] == pytest.approx((4 * 3 + 2 * 5) / 6)
    unknown = read_germination(path, 20)
    assert (unknown.day, unknown.days, unknown.germinated) == (None, (), 6) and unknown.speed() is None


def test_a_frame_is_the_same_record() -> None:
    frame = pd.DataFrame({"date": pd.to_datetime(["2027-03-04", "2027-03-06"]), "germinated": [3, 2]})
    assert read_germination(frame, 10, SOWN_ON) == (5, 10, 5, (3, 5), (3, 2), ())


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("date,germinated\n4 March,3\n", "row 2, date: is no date; allowed: YYYY-MM-DD"),
        # Rows as a spreadsheet counts them: comment 1, header 2, blank 3, comment 4.
        ("# a\ndate,germinated\n\n# b\n2027-03-04,-3\n", "row 5, germinated: is no count.*found '-3'"),
        ("date,germinated\n2027-03-04,2.5\n", "row 2, germinated: is no count"),
        ("date,germinated\n2027-03-04,\n", "row 2, germinated: is no count"),
        ("date,germinated\n,3\n", "row 2, date: the day of the look is missing"),
        ("date,germinated\n", "needs rows"),
        ("a,b\n1,2\n", "columns are missing; allowed: date, germinated"),
        ("date,germinated\n2027-02-04,3\n", "row 2, date: seed that was sown on 2027-03-01 cannot have been counted"),
        ("date,germinated\n2027-03-01,3\n", "cannot have been counted on 2027-03-01"),
        ("date,germinated\n2027-03-04,21\n", "21 germinated of 20 sown"),
        ("date,germinated,replicate\n2027-03-04,3,a\n2027-03-04,3,\n", "row 3, replicate: some rows name a replicate"),
        ("date,germinated,replicate\n2027-03-04,3,\n2027-03-04,3,a\n", "row 3, replicate: some rows name a replicate"),
        ("date,germinated,replicate\n2027-03-04,11,a\n2027-03-04,3,b\n", "11 germinated of 10 in replicate 'a'"),
        (
            "date,germinated,replicate\n2027-03-04,1,a\n2027-03-04,3,b\n2027-03-04,3,c\n",
            "20 seeds do not part into 3 equal",
        ),
    ],
)
def test_the_row_of_the_mistake_is_named(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_germination(written(tmp_path, text), 20, SOWN_ON)
