"""Season files with mistakes: each gives one clear message. Places and packets are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from cropdata.catalog import Catalog
from cropdata.errors import InputError
from cropdata.season import read_season

GOOD = """\
season: 2027
place:
  name: Reed Hollow (invented)
  last_spring_frost: {0.9: 04-10, 0.5: 04-28, 0.1: 05-15}
  bench_temperature_c: 20
packets:
  - {crop: tomato, packed: 2025, plants: 12, method: tray}
"""


def _read(tmp_path: Path, text: str, db: Catalog) -> object:
    path = tmp_path / "season.yaml"
    path.write_text(text, encoding="utf-8")
    return read_season(path, db)


def test_a_good_file_is_read(tmp_path: Path, db: Catalog) -> None:
    season = _read(tmp_path, GOOD, db)
    assert season.year == 2027 and season.packets[0].crop.id == "tomato"  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("crop: tomato", "crop: tomatoe", r"packets\[1\]\.crop: no crop is called 'tomatoe'; did you mean tomato"),
        ("crop: tomato", "crop: 12", r"packets\[1\]\.crop: found 12"),
        ("04-10", "2027-13-45", "holds a date that is none"),
        ("season: 2027", "season: " + "9" * 5000, "a number of thousands of digits"),
        ("0.1: 05-15", "0.50: 05-15", "'0.50' stands twice"),
        ("name: Reed Hollow (invented)", "name: [a, b]", r"place\.name: found \['a', 'b'\]; allowed: one line"),
        ("name: Reed Hollow (invented)", r'name: "a\nb"', r"place\.name: .*one line of text"),
        ("plants: 12", "variety: {a: b}", r"packets\[1\]\.variety: .*one line of text"),
        ("bench_temperature_c: 20", "bench_temperature_c: {day: 10, night: 30}", "warmer than the day"),
        ("bench_temperature_c: 20", "daily_minima: r.csv", "both tell when the last frost comes"),
        ("bench_temperature_c: 20", "daily_minima_unit: F", "belongs to daily_minima"),
        ("last_spring_frost: {0.9: 04-10, 0.5: 04-28, 0.1: 05-15}", "daily_minima:", "the name of a CSV file"),
        ("plants: 12", "tested: {germinated: 8, sown: }", r"tested\.sown: found None"),
        ("04-28", "04-31", r"place\.last_spring_frost: the frost date at chance 0\.5 is no date"),
        ("0.9: 04-10, 0.5: 04-28, 0.1: 05-15", "0.1: 04-10, 0.5: 04-28, 0.9: 05-15", "out of order for their chances"),
        ("0.9: 04-10, 0.5: 04-28, 0.1: 05-15", "0.5: 04-28", "two or more chances are needed"),
        ("bench_temperature_c: 20", "bench_temperature_c: -5", r"bench_temperature_c: found -5; allowed: 0 to 45 °C"),
        ("bench_temperature_c: 20", "bench_temperature_c: warm", "found 'warm'; allowed: a number of °C"),
        ("bench_temperature_c: 20", "bench_temp: 20", "unknown key 'bench_temp'; allowed:.*bench_temperature_c"),
        ("bench_temperature_c: 20", "soil_temperature_c: [1, 2]", "twelve monthly temperatures"),
        ("bench_temperature_c: 20", "risk: 0.001", r"risk: found 0\.001; allowed: 0\.02 to 0\.98"),
        ("packed: 2025", "packed: 2030", r"packed: found 2030; allowed: a whole number from 1950 to 2027"),
        ("plants: 12", "plants: -3", r"plants: found -3"),
        ("method: tray", "method: magic", "method: found 'magic'; allowed: towel, tray, block"),
        ("method: tray", "method: tray, tested: {germinated: 11, sown: 10}", "11 germinated of 10 sown"),
        ("season: 2027", "season: soon", "season: found 'soon'"),
        ("season: 2027\n", "", "season: missing"),
        ("packets:\n  - {crop: tomato, packed: 2025, plants: 12, method: tray}", "packets: []", "packets: found"),
        ("  name: Reed", "  name: A\n  name: Reed", "'name' stands twice, the second time in line 4"),
        ("season: 2027", "season: [2027", "is not valid YAML: line"),
        ("season: 2027", "season: !!python/object/apply:os.system ['true']", "is not valid YAML"),
        ("season: 2027", "a: &x [1]\nseason: *x", "anchors and aliases"),
    ],
)
def test_a_mistake_is_named(tmp_path: Path, db: Catalog, old: str, new: str, message: str) -> None:
    assert old in GOOD
    with pytest.raises(InputError, match=message):
        _read(tmp_path, GOOD.replace(old, new), db)


def test_all_mistakes_come_in_one_run(tmp_path: Path, db: Catalog) -> None:
    text = GOOD.replace("crop: tomato", "crop: tomatoe").replace("plants: 12", "plants: 0").replace("04-28", "04-31")
    with pytest.raises(InputError, match="3 mistakes") as caught:
        _read(tmp_path, text, db)
    assert all(part in str(caught.value) for part in ("tomatoe", "plants", "no date"))


@pytest.mark.parametrize("text", ["", "just words", "- 1\n- 2\n"])
def test_a_file_that_holds_no_season(tmp_path: Path, db: Catalog, text: str) -> None:
    with pytest.raises(InputError, match="holds no season"):
        _read(tmp_path, text, db)


def test_a_missing_file(tmp_path: Path, db: Catalog) -> None:
    with pytest.raises(InputError, match="cannot be read: No such file"):
        read_season(tmp_path / "none.yaml", db)


def test_a_huge_file_is_refused_unread(tmp_path: Path, db: Catalog) -> None:
    path = tmp_path / "season.yaml"
    path.write_bytes(b"#" * 2_000_000)
    with pytest.raises(InputError, match="larger than a season file"):
        read_season(path, db)


def test_a_name_left_blank_is_no_name(tmp_path: Path, db: Catalog) -> None:
    season = _read(tmp_path, GOOD.replace("name: Reed Hollow (invented)", "name:"), db)
    assert season.place.name == "unnamed place"  # type: ignore[attr-defined]
