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
        ("04-10", "2027-13-45", r"place\.last_spring_frost: the frost date at chance 0\.9 is no date"),
        ("plants: 12", "sow: 2027-02-30", r"packets\[1\]\.sow: found '2027-02-30'; allowed: a date such as 2027-03-15"),
        ("season: 2027", "season: 2027-02-30", "season: found '2027-02-30'"),
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
        ("plants: 12", "sowings: 3", "sowings .2 or more. and every_days belong together"),
        ("plants: 12", "every_days: 14", "sowings .2 or more. and every_days belong together"),
        ("plants: 12", "sowings: 99, every_days: 3", r"sowings: found 99; allowed: a whole number from 1 to 52"),
        ("plants: 12", "sow: soon", r"packets\[1\]\.sow: found 'soon'; allowed: a date such as 2027-03-15"),
        ("plants: 12", "sow: 2031-03-15", r"sow: found 2031-03-15; allowed: a date of 2026 to 2028"),
        ("plants: 12", "seeds: -1", r"seeds: found -1; allowed: a whole number from 0"),
        ("plants: 12", "price: much", r"price: found 'much'; allowed: a number of money"),
        ("plants: 12", "autumn: perhaps", r"autumn: found 'perhaps'; allowed: true or false"),
        ("plants: 12", "autumn: true", r"autumn: is counted back from the first frost; give place\.first_autumn_frost"),
        ("plants: 12", "per_cell: 0", r"per_cell: found 0"),
        ("plants: 12", "container: tray-71", r"container: no container is called 'tray-71'.*did you mean tray-72"),
        ("plants: 12", "container: pot-9cm", r"pot-9cm \(Square pot 9 cm\) goes with method pot, not with tray"),
        ("bench_temperature_c: 20", "mats: -1", r"place\.mats: found -1"),
        ("bench_temperature_c: 20", "shelf_trays: few", r"place\.shelf_trays: found 'few'"),
        ("bench_temperature_c: 20", "mat_temperature_c: 80", r"mat_temperature_c: found 80; allowed: 5 to 45 °C"),
        ("bench_temperature_c: 20", "plant_minus_screen_c: 3", r"plant_minus_screen_c: found 3; allowed: -10 to 0"),
        ("bench_temperature_c: 20", "night_temperature_c: [1]", r"night_temperature_c: .*twelve monthly temperatures"),
        (
            "bench_temperature_c: 20",
            "soil_temperature_c: [30, 32, 37, 44, 55, 64, 70, 70, 62, 52, 43, 36]",
            r"^[^\n]*soil_temperature_c: found 55, 64, 70, 70, 62, 52; allowed: -20 to 45 °C; are these °F\? "
            r"Give \(°F - 32\) × 5/9: 70 °F are 21 °C$",
        ),
        (
            "season: 2027",
            "season: 2027\nmaterials: {mix: mud}",
            r"materials\.mix: found 'mud'; allowed: .*compost-peat",
        ),
        (
            "season: 2027",
            "season: 2027\nmaterials: {make: gold}",
            r"materials\.make: found 'gold'; allowed: thin, thick, wood",
        ),
        ("season: 2027", "season: 2027\nmaterials: {containers: [a]}", r"materials\.containers: found \['a'\]"),
        (
            "season: 2027",
            "season: 2027\nmaterials: {containers: {bag: tray-72}}",
            r"containers\.bag: no method of that name",
        ),
        ("season: 2027", "season: 2027\nmaterials: all", r"materials: found 'all'"),
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
    with pytest.raises(InputError, match="4 mistakes"):  # a date that is none hides nothing else
        _read(tmp_path, text.replace("packed: 2025", "sow: 2027-02-30"), db)


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


def test_every_key_of_the_explanation_can_be_read(tmp_path: Path, db: Catalog) -> None:
    """The file in the module's own explanation, less what it offers instead of dates."""
    import inspect

    from cropdata.season import season_file

    body = inspect.getdoc(season_file) or ""
    other = ("daily_minima", "counted_from")
    lines = [
        line[4:] for line in body.splitlines() if line.startswith("    ") and not any(key in line for key in other)
    ]
    season = _read(tmp_path, "\n".join(lines), db)
    packet = season.packets[0]  # type: ignore[attr-defined]
    assert (packet.seeds, packet.price, packet.sowings, packet.every_days, packet.autumn) == (40, 3.1, 3, 14, True)
    assert season.kit.mix == "compost-peat" and season.currency == "CAD"  # type: ignore[attr-defined]
    assert season.place.mats == 1 and season.place.shelf_trays == 6  # type: ignore[attr-defined]


def test_a_container_tells_the_method(tmp_path: Path, db: Catalog) -> None:
    season = _read(tmp_path, GOOD.replace("method: tray", "container: block-50mm"), db)
    assert season.packets[0].method == "block"  # type: ignore[attr-defined]


def test_a_mapping_is_read_as_a_file_is(tmp_path: Path, db: Catalog) -> None:
    import yaml

    from cropdata.season import plan_season, season_of

    (tmp_path / "same.yaml").write_text(GOOD, encoding="utf-8")
    assert plan_season(yaml.safe_load(GOOD), db) == plan_season(tmp_path / "same.yaml", db)
    with pytest.raises(InputError, match="season: missing"):
        season_of({"place": {}}, db)


@pytest.mark.parametrize(
    ("spring", "autumn", "found"),
    [
        ("0.5: 04-28", "0.1: 05-01, 0.5: 05-10", "(05-10) lies 12 days after the last of spring (04-28, place.last_spring_frost)"),
        ("0.5: 04-28", "0.1: 04-01, 0.5: 04-10", "(04-10) lies before the last of spring (04-28"),
        ("0.5: 10-05", "0.1: 10-01, 0.5: 10-20", "(10-20) lies 15 days after the last of spring (10-05"),
        ("0.5: 10-05", "0.1: 09-01, 0.5: 09-20", "(09-20) lies before the last of spring (10-05"),
    ],
)  # fmt: skip
def test_a_first_frost_right_after_the_last_or_before_it_is_one_mistake(
    tmp_path: Path, db: Catalog, spring: str, autumn: str, found: str
) -> None:
    """12 days from 28 April to 10 May, 15 from 5 to 20 October; 18 days of frost in April are nobody's winter."""
    text = GOOD.replace("0.9: 04-10, 0.5: 04-28, 0.1: 05-15", f"{spring}, 0.1: {spring[5:7]}-30")
    with pytest.raises(InputError) as caught:
        _read(tmp_path, text.replace("  bench", f"  first_autumn_frost: {{{autumn}}}\n  bench"), db)
    message = str(caught.value)
    assert "place.first_autumn_frost: " in message and found in message and "mistakes" not in message


@pytest.mark.parametrize(
    ("spring", "autumn"),
    [
        ("0.5: 10-05, 0.1: 10-28", "0.1: 04-01, 0.5: 04-25"),  # south of the equator
        ("0.5: 01-10, 0.1: 02-01", "0.1: 12-01, 0.5: 12-20"),  # frost around New Year only
        ("0.5: 12-28, 0.1: 01-20", "0.1: 11-20, 0.5: 12-15"),
        ("0.5: 07-20, 0.1: 08-20", "0.1: 06-10, 0.5: 07-01"),  # the same in the south
        ("0.5: 06-15, 0.1: 07-05", "0.1: 08-10, 0.5: 08-31"),  # a short summer
        ("0.5: 04-28, 0.1: 05-15", "none"),
    ],
)
def test_frost_of_every_kind_of_winter_is_read(tmp_path: Path, db: Catalog, spring: str, autumn: str) -> None:
    text = GOOD.replace("0.9: 04-10, 0.5: 04-28, 0.1: 05-15", spring)
    value = autumn if autumn == "none" else f"{{{autumn}}}"
    _read(tmp_path, text.replace("  bench", f"  first_autumn_frost: {value}\n  bench"), db)
