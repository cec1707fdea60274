from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from cropdata.errors import InputError
from cropdata.season import plan_season
from cropdata.season.daily_record import read_daily_minima


def _write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_a_record_is_read_in_celsius(tmp_path: Path) -> None:
    path = _write(tmp_path / "r.csv", "date,minimum\n2021-01-02,32\n2021-01-01,14\n2021-01-03,\n")
    series = read_daily_minima(path, unit="F")
    assert list(series.dropna()) == pytest.approx([-10, 0]) and series.isna().sum() == 1
    assert series.index.is_monotonic_increasing


def test_every_row_that_cannot_be_used_is_named(tmp_path: Path) -> None:
    path = _write(
        tmp_path / "r.csv",
        "date,minimum\n2021-01-01,1\n2021-01-01,2\n2021-02-30,1\n01/02/2021,1\n2021-01-05,x\n2021-01-06,-99\n",
    )
    with pytest.raises(InputError, match="5 rows cannot be used") as caught:
        read_daily_minima(path)
    assert all(f"row {number}" in str(caught.value) for number in (3, 4, 5, 6, 7))
    assert "stands in row 2 already" in str(caught.value) and "is impossible" in str(caught.value)


def test_a_record_in_fahrenheit_that_is_read_as_celsius(tmp_path: Path) -> None:
    text = "date,minimum\n2021-07-01,58\n2021-07-02,61\n"
    with pytest.raises(InputError, match="is this record in °F.*daily_minima_unit: F"):
        read_daily_minima(_write(tmp_path / "r.csv", text))
    assert list(read_daily_minima(_write(tmp_path / "r.csv", text), unit="F")) == pytest.approx([130 / 9, 145 / 9])
    with pytest.raises(InputError) as caught:
        read_daily_minima(_write(tmp_path / "r.csv", "date,minimum\n2021-01-01,-99\n"))
    assert "°F" not in str(caught.value)


def test_rows_are_numbered_as_a_spreadsheet_shows_them(tmp_path: Path) -> None:
    text = "# shed\ndate,minimum\n\n2021-01-01,1\n# moved\n2021-W05-1,2\n0001-01-01,3\n9999-01-01,3\n"
    with pytest.raises(InputError, match="3 rows cannot be used") as caught:
        read_daily_minima(_write(tmp_path / "r.csv", text))
    assert all(f"row {number}: " in str(caught.value) for number in (6, 7, 8))
    good = read_daily_minima(_write(tmp_path / "r.csv", text[: text.index("2021-W05")]))
    assert list(good) == [1.0]


def test_impossible_values_can_be_left_out(tmp_path: Path) -> None:
    path = _write(tmp_path / "r.csv", "date,minimum\n2021-01-01,-99\n2021-01-02,1\n")
    assert np.isnan(read_daily_minima(path, drop_impossible=True).iloc[0])


@pytest.mark.parametrize("text", ["", "day,low\n2021-01-01,1\n"])
def test_a_file_that_is_no_record(tmp_path: Path, text: str) -> None:
    with pytest.raises(InputError, match="needs the columns date and minimum"):
        read_daily_minima(_write(tmp_path / "r.csv", text))


def test_a_season_from_a_record(tmp_path: Path) -> None:
    """An invented record of twelve years: the last frost moves about 1 May, so the record is called short."""
    days = pd.date_range("2010-07-24", "2022-07-23")
    minima = pd.Series(8 + 10 * np.cos(2 * np.pi * (days.day_of_year - 200) / 365), index=days)
    for year in range(2011, 2023):
        minima.loc[f"{year}-04-01" : f"{year}-07-01"] = 5.0  # type: ignore[misc]
        minima.loc[f"{year}-04-{20 + year % 9:02d}"] = -1.0
    minima.rename_axis("date").rename("minimum").to_csv(tmp_path / "record.csv", date_format="%Y-%m-%d")
    season = _write(
        tmp_path / "s.yaml",
        "season: 2027\nplace:\n  name: Invented\n  daily_minima: record.csv\n  bench_temperature_c: 20\npackets:\n  - {crop: tomato}\n",
    )
    plan = plan_season(season)
    assert plan.place.last_frost.month == 4 and 20 <= plan.place.last_frost.day <= 28
    assert any("12 years of record" in warning for warning in plan.warnings)
    assert any("its own damage temperature came after" in note for note in plan.sowings[0].notes)
    bad = _write(
        tmp_path / "b.yaml",
        "season: 2027\nplace:\n  name: Invented\n  daily_minima: none.csv\npackets:\n  - {crop: tomato}\n",
    )
    with pytest.raises(InputError, match="daily_minima: .*cannot be read"):
        plan_season(bad)


@pytest.mark.parametrize(
    ("frosty", "risk", "counted", "risk_date"),
    # A third of the years has no even chance of a frost; two thirds never come to nine years in ten.
    [(1, 0.1, "02-20", True), (3, 0.1, None, True), (2, 0.9, None, False)],
)
def test_a_place_with_frost_in_few_years_counts_from_a_stated_day(
    tmp_path: Path, frosty: int, risk: float, counted: str | None, risk_date: bool
) -> None:
    """Invented: 12 years of 5 °C; a frost about 10 February in so many years of three."""
    rows, day = ["date,minimum"], datetime.date(2001, 1, 1)
    while day < datetime.date(2013, 1, 1):
        frost = day.year % 3 < frosty and (day.month, day.day) == (2, 4 + day.year % 12)
        rows.append(f"{day},{-1 if frost else 5}")
        day += datetime.timedelta(days=1)
    (tmp_path / "record.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    season = "season: 2027\nplace: {{daily_minima: record.csv, risk: {}{}}}\npackets: [{{crop: tomato, method: pot}}]\n"
    file = tmp_path / "s.yaml"
    file.write_text(season.format(risk, ""), encoding="utf-8")
    if counted is not None:
        with pytest.raises(InputError, match="counted_from: missing; weeks are counted from the last frost"):
            plan_season(file)
        file.write_text(season.format(risk, f", counted_from: {counted}"), encoding="utf-8")
    place = plan_season(file).place
    if counted is not None:
        assert place.last_frost is None and place.counted_from == datetime.date(2027, 2, 20)
    else:
        assert place.last_frost == place.counted_from and place.counted_from.month == 2
    assert (place.risk_date is not None) == risk_date
    assert place.risk_date is None or datetime.date(2027, 2, 1) < place.risk_date < datetime.date(2027, 2, 20)
