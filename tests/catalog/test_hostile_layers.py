"""A layer made to harm is not opened: one message, nothing run, memory bounded.

What the check says of such files stands in tests/validation/test_hostile.py.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

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


@pytest.mark.parametrize("harm", [laughs, tagged, endless_line, million_columns, nul_bytes, endless_quote])
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
