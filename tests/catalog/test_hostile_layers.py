"""A layer made to harm is not opened: one message, nothing run, memory bounded.

What the check says of such files stands in tests/validation/test_hostile.py.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata

ROOT = Path(__file__).resolve().parents[2]
MOST_MEMORY = 1_500_000_000  # bytes of address space
_SHOW = f"""
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, ({MOST_MEMORY}, {MOST_MEMORY}))
from cropdata.cli.main import main
raise SystemExit(main(["show", "onion", "--layer", sys.argv[1]]))
"""


def laughs(layer: Path) -> None:
    lines = ["title: &a0 [ha, ha, ha, ha, ha, ha, ha, ha, ha]"]
    lines += [f"x{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 12)]
    (layer / "layer.yaml").write_text("\n".join(lines) + "\nauthor: x\n", encoding="utf-8")


def tagged(layer: Path) -> None:
    mark = layer.parent / "ran"
    (layer / "layer.yaml").write_text(f"title: !!python/object/apply:os.system ['touch {mark}']\n", encoding="utf-8")


def endless_line(layer: Path) -> None:
    with (layer / "seed_longevity.csv").open("wb") as stream:
        stream.truncate(1_000_000_000)  # a gigabyte without a line end, sparse on the disk


def million_columns(layer: Path) -> None:
    (layer / "seed_longevity.csv").write_bytes(b",".join(b"c%d" % number for number in range(1_000_000)) + b"\n")


def nul_bytes(layer: Path) -> None:
    (layer / "seed_longevity.csv").write_bytes(b"crop_id,low\nonion\0,1\n")


def endless_quote(layer: Path) -> None:
    text = 'crop_id,low,high,unit\n"' + "onion,1,2,years\n" * 600_000
    (layer / "seed_longevity.csv").write_text(text, encoding="utf-8")


def pipe(layer: Path) -> None:
    (layer / "seed_longevity.csv").unlink()
    os.mkfifo(layer / "seed_longevity.csv")


def linked_device(layer: Path) -> None:
    (layer / "seed_longevity.csv").unlink()
    (layer / "seed_longevity.csv").symlink_to("/dev/zero")


def _linked(layer: Path, name: str) -> None:
    """Something of the reader's own that must not come into the layer."""
    (layer / name).rename(layer.parent / "private")
    (layer / name).symlink_to(layer.parent / "private")


def linked_table(layer: Path) -> None:
    _linked(layer, "seed_longevity.csv")


def linked_settings(layer: Path) -> None:
    _linked(layer, "layer.yaml")


def linked_folder(layer: Path) -> None:
    (layer / "evidence").mkdir()
    (layer / "seed_longevity.csv").rename(layer / "evidence" / "seed_longevity.csv")
    _linked(layer, "evidence")


NO_FILES = [pipe, linked_device, linked_table, linked_settings, linked_folder]


@pytest.mark.parametrize("harm", NO_FILES)
def test_what_is_no_ordinary_file_does_not_come_into_a_workbook(
    write_layer: Callable[..., Path], run: Callable[..., subprocess.CompletedProcess[str]], harm: Callable[[Path], None]
) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("Windows has no pipes among its files")
    layer = write_layer(seed_longevity="crop_id,low,high,unit\nonion,1,2,years\n")
    harm(layer)
    done = run("layer", "to-xlsx", layer, layer.parent / "out.xlsx")
    assert done.returncode == 2 and not (layer.parent / "out.xlsx").exists()
    assert "put the file itself there" in done.stderr or "put the folder itself there" in done.stderr or "no ordinary file" in done.stderr  # fmt: skip
    assert cropdata.check(layer).errors


@pytest.mark.parametrize("harm", [*NO_FILES, laughs, tagged, endless_line, million_columns, nul_bytes, endless_quote])
def test_a_layer_made_to_harm_is_not_opened(write_layer: Callable[..., Path], harm: Callable[[Path], None]) -> None:
    pytest.importorskip("resource", reason="memory is limited by the system call setrlimit, not on Windows")
    layer = write_layer(seed_longevity="crop_id,low,high,unit\nonion,1,2,years\n")
    harm(layer)
    done = subprocess.run(
        [sys.executable, "-c", _SHOW, str(layer)], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 2 and "Traceback" not in done.stderr, done.stderr
    assert str(layer) in done.stderr and len(done.stderr) < 2000
    assert not (layer.parent / "ran").exists()
