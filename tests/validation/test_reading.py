"""One engine however a file is read: in one chunk or many, with the extra `fast` or without."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.validation import files, reading
from cropdata.validation.report import Report

ROOT = Path(__file__).resolve().parents[2]
HEADER = "row_id,crop_id,source_id,locator,basis,printed,low,high,unit,meaning,conditions,note"
CROPS = ("onion", "tomato", "leek", "pea")


def rows(count: int) -> list[str]:
    """Invented rows that are right as they stand."""
    return [
        f"{CROPS[n % 4]}.memory.{n % 90 + 10},{CROPS[n % 4]},memory,recalled,from_memory,2 to 3 years,2,3,years,practical,,n{n}"
        for n in range(count)
    ]


def _damaged(count: int = 3000) -> str:
    lines = rows(count)
    lines[1999] = (
        lines[1999]
        .replace(",onion,", ",onoin,")
        .replace(",tomato,", ",tomatto,")
        .replace(",leek,", ",lek,")
        .replace(",pea,", ",pee,")
    )
    lines[700] += ",more"
    lines[1200] = ",,,,,,,,,,,"
    lines[1201] = "# a remark, not a row"
    lines[1500] = lines[1500].replace("n1500", '"a note, with a comma"')
    lines[1501] = lines[1501].replace("n1501", '"a note\nof two lines"')
    lines[2500] = lines[2500].replace(",2,3,years", ",3,2,years")
    lines[2900] = lines[2900].replace(",2,3,years", ',"2,5",3,years')
    lines.append(lines[10])  # a row of the first chunk once more in the last
    return "\n".join([HEADER, *lines]) + "\n"


@pytest.fixture
def damaged(tmp_path: Path) -> Path:
    path = tmp_path / "seed_longevity.csv"
    path.write_text(_damaged(), encoding="utf-8")
    return path


def _said(report: Report) -> list[tuple[object, ...]]:
    return [tuple(item) for item in report.findings]


def test_what_is_found_is_where_it_was_put(damaged: Path) -> None:
    said = {(item.row, item.rule) for item in cropdata.check(damaged).findings}
    # Row 2 is the first line after the header; after the cell of two lines the csv module's rows still count as one.
    assert {(702, "file-ragged-row"), (1202, "file-blank-row"), (2001, "link-broken"), (2502, "low-above-high")} <= said
    assert any(rule in ("cell-decimal-comma", "cell-type") for _, rule in said)


@pytest.mark.parametrize("size", [1, 7, 500, 2999])
def test_chunks_of_any_size_say_the_same(damaged: Path, monkeypatch: pytest.MonkeyPatch, size: int) -> None:
    whole = _said(cropdata.check(damaged))
    monkeypatch.setattr(files, "CHUNK_ROWS", size)
    assert _said(cropdata.check(damaged)) == whole and len(whole) >= 6


@pytest.mark.parametrize("block", [1 << 12, 1 << 14, 1 << 16])
def test_the_extra_fast_says_the_same(damaged: Path, monkeypatch: pytest.MonkeyPatch, block: int) -> None:
    pytest.importorskip("pyarrow", reason="the extra fast is not installed")
    used: list[int] = []
    found: Callable[..., object] = reading.plain_reader
    monkeypatch.setattr(reading, "BLOCK", block)

    def watched(*arguments: object) -> object:
        used.append(1)
        return found(*arguments)

    monkeypatch.setattr(reading, "plain_reader", watched)
    fast = _said(cropdata.check(damaged))
    assert used
    monkeypatch.setattr(reading, "plain_reader", lambda *_: None)
    assert _said(cropdata.check(damaged)) == fast and len(fast) >= 6


def test_a_small_check_loads_neither_numpy_nor_pandas(tmp_path: Path) -> None:
    path = tmp_path / "seed_longevity.csv"
    path.write_text("\n".join([HEADER, *rows(300)]) + "\n", encoding="utf-8")
    code = (
        "import sys; from cropdata.cli.main import main; status = main(['check', sys.argv[1]]);"
        "loaded = {'numpy', 'pandas', 'pandera', 'frictionless', 'pyarrow'} & set(sys.modules);"
        "raise SystemExit(f'{status} {loaded}' if loaded else 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
