from __future__ import annotations

import json
from pathlib import Path

import pytest

from cropdata.errors import DataError
from cropdata.tabular.descriptor import read_descriptor
from cropdata.tabular.location import package_folder

PACKAGE = Path(__file__).resolve().parents[2] / "datapackage"


def test_every_evidence_table_has_the_columns_of_the_contract() -> None:
    for table in read_descriptor(str(PACKAGE)).evidence:
        names = [field.name for field in table.fields]
        assert names[:6] == ["row_id", "crop_id", "source_id", "locator", "basis", "printed"], table.name
        assert all(field.unit for field in table.fields if field.converted_from), table.name


def test_a_column_of_one_name_means_the_same_everywhere() -> None:
    kinds: dict[str, tuple[str, tuple[str, ...]]] = {}
    for table in read_descriptor(str(PACKAGE)).tables.values():
        for field in table.fields:
            if (
                field.name in ("crop_id", "source_id", "basis", "locator", "printed")
                and not table.is_derived
                and table.name != "rules"
            ):
                assert kinds.setdefault(field.name, (field.type, field.enum)) == (field.type, field.enum), (
                    table.name,
                    field.name,
                )


def test_the_descriptor_minds_the_traps_of_the_standard() -> None:
    raw = json.loads((PACKAGE / "datapackage.json").read_text(encoding="utf-8"))
    assert raw["$schema"].endswith("/2.0/datapackage.json")
    assert {"licenses", "sources", "contributors", "version", "schemaNumber"} <= set(raw)
    for resource in raw["resources"]:
        assert resource["dialect"]["delimiter"] == ","
        assert resource["schema"]["missingValues"] == [""]
        assert resource["schema"]["fieldsMatch"] == "exact"
        assert resource["hash"].startswith("sha256:")
        assert resource["encoding"] == "utf-8"
        for field in resource["schema"]["fields"]:
            pattern = field.get("constraints", {}).get("pattern", "(?:)")
            assert pattern.startswith("(?:") and pattern.endswith(")"), field


def test_a_newer_schema_is_refused_with_advice(package: Path) -> None:
    path = package / "datapackage.json"
    path.write_text(
        path.read_text(encoding="utf-8").replace('"schemaNumber": 1', '"schemaNumber": 2'), encoding="utf-8"
    )
    with pytest.raises(DataError, match="schema number 2.*update cropdata"):
        read_descriptor(str(package))


def test_a_folder_without_a_package_is_named(tmp_path: Path) -> None:
    with pytest.raises(DataError, match=r"no datapackage\.json there"):
        package_folder(tmp_path)
