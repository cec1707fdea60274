"""What must hold of the shipped data themselves, checked without the package's own validator."""

from __future__ import annotations

import csv
import json
import re
import unicodedata
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "datapackage"
RAW = json.loads((PACKAGE / "datapackage.json").read_text(encoding="utf-8"))
FILES = sorted(PACKAGE.rglob("*.csv"))


def rows(path: str) -> list[dict[str, str]]:
    with (PACKAGE / path).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_files_are_utf8_lf_nfc_and_sorted_by_key(path: Path) -> None:
    data = path.read_bytes()
    text = data.decode("utf-8")
    assert not data.startswith(b"\xef\xbb\xbf") and b"\r" not in data and data.endswith(b"\n")
    assert unicodedata.normalize("NFC", text) == text
    resource = next(item for item in RAW["resources"] if item["path"].endswith(path.name))
    table = rows(resource["path"])
    keys = [tuple(row[name] for name in resource["schema"]["primaryKey"]) for row in table]
    assert keys == sorted(keys) and len(set(keys)) == len(keys)
    assert text.split("\n")[0].split(",") == [field["name"] for field in resource["schema"]["fields"]]


def test_every_listed_file_stands_and_no_other() -> None:
    assert {str(path.relative_to(PACKAGE)) for path in FILES} == {item["path"] for item in RAW["resources"]}


def test_every_value_has_a_source_a_place_and_a_kind() -> None:
    sources = {row["source_id"] for row in rows("reference/sources.csv")}
    for resource in RAW["resources"]:
        if resource["path"].startswith("evidence/"):
            for row in rows(resource["path"]):
                assert row["source_id"] in sources and row["locator"] and row["printed"], row
                assert (row["basis"] == "from_memory") == (row["source_id"] == "memory") or row["locator"], row


def test_a_recalled_value_is_marked_so() -> None:
    for resource in RAW["resources"]:
        if resource["path"].startswith("evidence/"):
            for row in rows(resource["path"]):
                if row["source_id"] == "memory":
                    assert row["basis"] == "from_memory", row


def test_what_a_crop_withstands_is_not_counted_as_what_damages_it() -> None:
    aside = {row["row_id"] for row in rows("reference/decisions.csv") if row["table"] == "frost_damage"}
    odd = [
        row["row_id"] for row in rows("evidence/frost_damage.csv") if re.match("withstands|to be kept", row["effect"])
    ]
    assert odd and set(odd) <= aside


def test_a_caution_speaks_of_a_hazard() -> None:
    """Remarks on raising stood there once, read as poison."""
    for row in rows("evidence/cautions.csv"):
        assert not re.search(r"(?i)transplant|cuttings|propagat|set out|sown in place", row["printed"]), row


def test_one_statement_of_a_source_stands_once() -> None:
    """Same crop, source and figures in one table: the two would be one statement entered twice."""
    for name in ("seed_longevity", "sowing_depth", "days_to_emergence", "seeds_per_gram"):
        seen: dict[tuple[str, ...], str] = {}
        for row in rows(f"evidence/{name}.csv"):
            key = tuple(value for part, value in row.items() if part not in ("row_id", "locator", "printed", "note"))
            assert key not in seen, (seen[key], row["row_id"])
            seen[key] = row["row_id"]


def test_nothing_of_the_workshop_is_left_in_the_data() -> None:
    """Local paths are looked for in every tracked file by `test_project`; here also an absolute path of any machine."""
    for path in FILES:
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"(?i)stored copy of ours|\bTODO\b|(?:^|[\s,\"'(])/[a-z]+/", text, re.MULTILINE), path


def test_enough_crops_and_real_figures() -> None:
    crops = [row for row in rows("reference/crops.csv") if row["status"] == "active"]
    assert len(crops) >= 70
    with_depth = {row["crop_id"] for row in rows("evidence/sowing_depth.csv") if row["basis"] == "published"}
    assert len(with_depth) >= 70
