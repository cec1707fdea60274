"""Any bytes at all: a report, never a traceback; and a table survives a round trip through the check's own reader."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

import cropdata
from cropdata.validation.files import shape_of
from cropdata.validation.reading import chunks
from cropdata.validation.report import Finding, Report

ROOT = Path(__file__).resolve().parents[2]
_QUIET = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
_HEADER = b"crop_id,low,high,unit,meaning,printed,action,expects_low\n"
# Pieces that tables are made of, well and badly, so that random bytes reach deep.
_PIECES = st.sampled_from(
    [b"onion", b"1", b"2", b",", b"\n", b"\r\n", b'"', b'""', b"years", b"override", b";", b"\xef\xbb\xbf", b"#", b"\0", b"\xff", b"=1", b"0,5", b"7-Oct",
     b"inf", b"-", b"1e999", b"average", b" ", "ü".encode(), "u\u0308".encode(), "\u200b".encode(), b"9" * 400, b"2024-13-45", b"PK\x03\x04", b"\x1a", b"\x0b", "\u2028".encode()]
)  # fmt: skip


def _shown(report: Report) -> None:
    """Every form of the report can be made and read."""
    import xml.etree.ElementTree as ET

    assert report.text(None).endswith(report.summary()) and report.text(12, width=60, colour=True)
    json.loads(report.json())
    ET.fromstring(report.junit())
    assert len(report.annotations().splitlines()) == len(report.findings) + 1


@_QUIET
@given(data=st.one_of(st.binary(max_size=300), st.lists(_PIECES, max_size=60).map(b"".join)), headed=st.booleans())
@example(data=b'"', headed=True)
@example(data=b"\xef\xbb\xbf", headed=False)
def test_any_bytes_as_a_table_of_a_layer(tmp_path: Path, data: bytes, headed: bool) -> None:
    (tmp_path / "layer.yaml").write_text("title: Any (invented)\n", encoding="utf-8")
    (tmp_path / "seed_longevity.csv").write_bytes((_HEADER if headed else b"") + data)
    _shown(cropdata.check(tmp_path))
    _shown(cropdata.check(tmp_path / "seed_longevity.csv"))


@_QUIET
@given(
    data=st.one_of(
        st.binary(max_size=200),
        st.text(st.sampled_from("title: []{}&*!|>-#'\"\n\t 1a.~?%@`"), max_size=60).map(str.encode),
    )
)
def test_any_bytes_as_settings(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "layer.yaml").write_bytes(data)
    _shown(cropdata.check(tmp_path))
    (tmp_path / "layer.yaml").write_bytes(b"title: x\nexceptions: " + data)
    _shown(cropdata.check(tmp_path))


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 3) | st.text(max_size=4) | st.just("onion"), lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["name", "path", "fields", "type", "x"]), inner, max_size=3), max_leaves=5
)  # fmt: skip


def _places(part: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(part, dict):
        return [found for key, inner in part.items() for found in [(*path, key), *_places(inner, (*path, key))]]
    if isinstance(part, list):
        return [found for key, inner in enumerate(part) for found in [(*path, key), *_places(inner, (*path, key))]]
    return []


def _small_package() -> dict[str, Any]:
    raw: dict[str, Any] = json.loads((ROOT / "datapackage" / "datapackage.json").read_text(encoding="utf-8"))
    raw["resources"] = [
        part
        for part in raw["resources"]
        if part["name"] in ("crops", "sources", "light", "seed_longevity", "decisions")
    ]
    for part in raw["resources"]:
        part["schema"]["fields"] = part["schema"]["fields"][:8]
        part["path"] = Path(part["path"]).name
    return raw


_RAW = _small_package()
_PLACES = _places(_RAW)


@_QUIET
@given(place=st.sampled_from(_PLACES), value=_JSON)
def test_any_value_anywhere_in_a_descriptor(tmp_path: Path, place: tuple[Any, ...], value: Any) -> None:
    raw = json.loads(json.dumps(_RAW))
    part = raw
    for key in place[:-1]:
        part = part[key]
    part[place[-1]] = value
    (tmp_path / "datapackage.json").write_text(json.dumps(raw), encoding="utf-8")
    for resource in _RAW["resources"]:
        header = ",".join(field["name"] for field in resource["schema"]["fields"])
        (tmp_path / resource["path"]).write_text(f"{header}\n{'x' + ',1' * header.count(',')}\n", encoding="utf-8")
    _shown(cropdata.check(tmp_path, standard=False))


@_QUIET
@given(data=st.binary(max_size=200))
def test_any_bytes_as_a_descriptor(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "datapackage.json").write_bytes(data)
    _shown(cropdata.check(tmp_path, standard=False))


@_QUIET
@given(
    rows=st.lists(
        st.lists(
            st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0\r\n"), max_size=8),
            min_size=3,
            max_size=3,
        ),
        max_size=8,
    )
)
def test_cells_survive_a_round_trip(tmp_path: Path, rows: list[list[str]]) -> None:
    """CSV as the csv module writes it comes back cell for cell, blank rows apart."""
    path = tmp_path / "light.csv"
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows([["a", "b", "c"], *rows])
    path.write_text(stream.getvalue(), encoding="utf-8", newline="")
    findings: list[Finding] = []
    shape = shape_of(str(path), "light.csv", release=True)
    read = [
        list(row)
        for chunk in chunks(str(path), "light.csv", shape, findings, comments=False)
        for row in zip(*chunk.cells.values(), strict=True)
    ]
    assert shape.findings == [] and read == [row for row in rows if any(row)]
    assert len(findings) == sum(not any(row) for row in rows)


@_QUIET
@given(data=st.data())
def test_any_frame(data: st.DataObject) -> None:
    """Frames hold anything: numbers, dates, lists, None."""
    import pandas as pd

    values = st.one_of(
        st.none(),
        st.integers(),
        st.floats(),
        st.text(max_size=5),
        st.booleans(),
        st.datetimes(),
        st.lists(st.integers(), max_size=2),
    )
    columns = data.draw(st.lists(st.sampled_from(["crop_id", "low", "high", "unit", "x", "action"]), max_size=4))
    rows = data.draw(st.lists(st.lists(values, min_size=len(columns), max_size=len(columns)), max_size=3))
    _shown(cropdata.check(pd.DataFrame(rows, columns=columns), table="seed_longevity"))


def test_a_frame_of_no_table_is_refused() -> None:
    import pandas as pd

    with pytest.raises(cropdata.InputError):
        cropdata.check(pd.DataFrame(), table="nonsense")
