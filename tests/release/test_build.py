"""The build, and the day's work of a data editor."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest

import cropdata
from cropdata.errors import DataError
from cropdata.release.building import build_package, stale_files, write_package

ROOT = Path(__file__).resolve().parents[2]


def _build(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(ROOT / "tools" / "build.py"), *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_release_is_fresh() -> None:
    done = _build("--check")
    assert done.returncode == 0, done.stdout + done.stderr


def test_an_edited_value_makes_the_derived_files_stale_and_a_build_mends_them(package: Path) -> None:
    path = package / "evidence" / "seed_longevity.csv"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    at = next(number for number, line in enumerate(lines) if line.startswith("onion."))
    cells = next(csv.reader([lines[at]]))
    cells[5], cells[7] = "7 years at most", "7"
    lines[at] = ",".join(f'"{cell}"' if "," in cell else cell for cell in cells) + "\n"
    path.write_text("".join(lines), encoding="utf-8")
    check = _build("--check", "--package", package)
    assert check.returncode == 1 and "stale: derived/consensus.csv" in check.stdout
    assert _build("--package", package).returncode == 0
    assert _build("--check", "--package", package).returncode == 0
    life = cropdata.open(package).crop("onion").seed_longevity
    assert life and life.envelope_high == 7
    assert cropdata.check(package).ok


def test_rows_added_in_any_order_are_sorted_and_converted(package: Path) -> None:
    path = package / "evidence" / "sowing_depth.csv"
    text = path.read_text(encoding="utf-8")
    header = text.splitlines()[0].split(",")
    row = {"row_id": "zinnia.memory.99", "crop_id": "zinnia", "source_id": "memory", "locator": "invented for a test", "basis": "from_memory",
           "printed": "1/2 in", "low": "0.5", "high": "0.5", "unit": "in"}  # fmt: skip
    first, rest = text.split("\n", 1)
    path.write_text(first + "\n" + ",".join(row.get(name, "") for name in header) + "\n" + rest, encoding="utf-8")
    write_package(str(package), build_package(str(package)))
    rows = list(csv.DictReader(path.open(encoding="utf-8")))
    assert [item["row_id"] for item in rows] == sorted(item["row_id"] for item in rows)
    assert next(item["low_mm"] for item in rows if item["row_id"] == row["row_id"]) == "12.7"


def test_a_merge_conflict_in_generated_files_is_solved_by_a_build(package: Path) -> None:
    """Two branches change different rows of one table: git leaves markers in hashes and derived files."""
    derived = package / "derived" / "consensus.csv"
    derived.write_text(
        "<<<<<<< ours\na\n=======\nb\n>>>>>>> theirs\n" + derived.read_text(encoding="utf-8"), encoding="utf-8"
    )
    (package / "README.md").write_text("<<<<<<< ours\n", encoding="utf-8")
    path = package / "datapackage.json"
    text = path.read_text(encoding="utf-8")
    line = next(item for item in text.splitlines() if '"hash"' in item)
    path.write_text(
        text.replace(line, f"<<<<<<< ours\n{line}\n=======\n{line[:-10]}0000000000\n>>>>>>> theirs", 1),
        encoding="utf-8",
    )
    assert _build("--package", package).returncode == 0
    assert _build("--check", "--package", package).returncode == 0
    assert stale_files(str(ROOT / "datapackage"), build_package(str(package))) == []


def test_a_conflict_in_a_line_that_people_write_is_refused(package: Path) -> None:
    path = package / "datapackage.json"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace('  "version"', '<<<<<<< ours\n  "version": "9",\n=======\n>>>>>>> theirs\n  "version"', 1),
        encoding="utf-8",
    )
    with pytest.raises(DataError, match="a line that people write"):
        build_package(str(package))


def test_a_merge_by_git_itself(package: Path, tmp_path: Path) -> None:
    """The real thing: two branches, a merge with conflicts, one build."""

    def git(*arguments: str, ok: bool = True) -> subprocess.CompletedProcess[str]:
        done = subprocess.run(
            ["git", "-c", "user.name=A", "-c", "user.email=a@example.org", "-C", str(tmp_path), *arguments],
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0 or not ok, done.stderr
        return done

    def change(crop: str, value: str) -> None:
        path = package / "evidence" / "seed_longevity.csv"
        rows = list(csv.reader(path.open(encoding="utf-8", newline="")))
        row = next(row for row in rows if row[1] == crop)
        row[6] = row[7] = value
        with path.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream, lineterminator="\n").writerows(rows)
        assert _build("--package", package).returncode == 0

    git("init", "-q", "-b", "main")
    git("add", "-A")
    git("commit", "-qm", "start")
    git("switch", "-qc", "one")
    change("onion", "41")
    git("commit", "-qam", "one")
    git("switch", "-q", "main")
    change("tomato", "42")
    git("commit", "-qam", "two")
    assert git("merge", "one", ok=False).returncode != 0
    assert _build("--package", package).returncode == 0
    assert _build("--check", "--package", package).returncode == 0
    db = cropdata.open(package)
    assert db.crop("onion").seed_longevity.envelope_high == 41  # type: ignore[union-attr]
    assert db.crop("tomato").seed_longevity.envelope_high == 42  # type: ignore[union-attr]


def test_an_unreadable_row_stops_the_build_and_nothing_is_written(package: Path) -> None:
    path = package / "evidence" / "sowing_depth.csv"
    path.write_text(path.read_text(encoding="utf-8").replace(",in,", ",inch,", 1), encoding="utf-8")
    before = {item: item.read_bytes() for item in package.rglob("*") if item.is_file()}
    done = _build("--package", package)
    assert done.returncode == 2 and "unknown unit 'inch'" in done.stderr and "Traceback" not in done.stderr
    assert {item: item.read_bytes() for item in package.rglob("*") if item.is_file()} == before


def test_profiles_hold_one_row_a_crop_in_metric_units(db: cropdata.Catalog) -> None:
    frame = db.table("profiles")
    assert list(frame["crop_id"]) == list(db)
    onion = frame[frame["crop_id"] == "onion"].iloc[0]
    depth = db.crop("onion").sowing_depth
    assert depth and onion["sowing_depth_low_mm"] == pytest.approx(depth.low, abs=0.01)
    assert onion["germination_temperature_minimum_low_c"] == pytest.approx(1.67)  # 35 °F
    assert set(frame["sowing_depth_status"]) <= {"recorded", "not_applicable", "not_recorded"}


def test_the_dictionary_names_every_table_and_column() -> None:
    text = (ROOT / "datapackage" / "README.md").read_text(encoding="utf-8")
    raw = json.loads((ROOT / "datapackage" / "datapackage.json").read_text(encoding="utf-8"))
    for resource in raw["resources"]:
        assert f"`{resource['path']}`" in text
        if resource["name"] != "profiles":
            assert all(f"| `{field['name']}` |" in text for field in resource["schema"]["fields"])
