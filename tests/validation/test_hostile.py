"""Files made to harm: each is refused with a message, nothing is run, nothing fetched, memory stays bounded.

Paths that leave the folder, links, addresses, packed files, NUL bytes and descriptors that ask for code stand in the
fault corpus (tests/faults) too; here the command itself meets them, with its memory limited.
"""

from __future__ import annotations

import csv
import io
import json
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import cropdata
from cropdata.cli.plan import as_csv
from cropdata.season import plan_season
from cropdata.tabular.rows import harmless

ROOT = Path(__file__).resolve().parents[2]
MOST_MEMORY = 1_500_000_000  # bytes of address space: numpy and its threads take a good part before any work
Limited = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def limited() -> Limited:
    """Run the command with bounded memory and time."""
    resource = pytest.importorskip("resource", reason="memory is limited by the system call setrlimit, not on Windows")

    def bound() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))

    def run(*arguments: object) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "cropdata", *map(str, arguments)], cwd=ROOT, capture_output=True, text=True,
            timeout=60, preexec_fn=bound, check=False,
        )  # fmt: skip

    return run


@pytest.fixture
def layer(tmp_path: Path) -> Path:
    folder = tmp_path / "layer"
    folder.mkdir()
    (folder / "layer.yaml").write_text("title: Notes\nauthor: A. Grower (invented)\n", encoding="utf-8")
    (folder / "seed_longevity.csv").write_text("crop_id,low,high,unit\nonion,1,2,years\n", encoding="utf-8")
    return folder


def refused(done: subprocess.CompletedProcess[str], status: int, *words: str) -> None:
    told = done.stdout + done.stderr
    assert "Traceback" not in told and "MemoryError" not in told, told
    assert done.returncode == status, told
    assert all(word in told for word in words), told


def laughs(layer: Path) -> None:
    lines = ["title: &a0 [ha, ha, ha, ha, ha, ha, ha, ha, ha]"]
    lines += [f"x{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 12)]
    (layer / "layer.yaml").write_text("\n".join(lines) + "\nauthor: x\n", encoding="utf-8")


def tagged(layer: Path) -> None:
    mark = layer.parent / "ran"
    (layer / "layer.yaml").write_text(
        f"title: !!python/object/apply:os.system ['touch {mark}']\nauthor: x\n", encoding="utf-8"
    )


def endless_line(layer: Path) -> None:
    with (layer / "seed_longevity.csv").open("wb") as stream:
        stream.truncate(1_000_000_000)  # a gigabyte without a line end, sparse on the disk


def million_columns(layer: Path) -> None:
    (layer / "seed_longevity.csv").write_bytes(b",".join(b"c%d" % number for number in range(1_000_000)) + b"\n")


def nul_bytes(layer: Path) -> None:
    (layer / "seed_longevity.csv").write_bytes(b"crop_id,low\nonion\0,1\n")


def packed(layer: Path) -> None:
    with zipfile.ZipFile(layer / "seed_longevity.csv", "w") as archive:
        archive.writestr("seed_longevity.csv", "crop_id,low,high,unit\nonion,1,2,years\n")


def linked(layer: Path) -> None:
    secret = layer.parent / "secret.csv"
    secret.write_text("crop_id,low,high,unit\nonion,1,2,years\n", encoding="utf-8")
    (layer / "seed_longevity.csv").unlink()
    (layer / "seed_longevity.csv").symlink_to(secret)


def endless_quote(layer: Path) -> None:
    (layer / "seed_longevity.csv").write_text(
        'crop_id,low,high,unit\n"' + "onion,1,2,years\n" * 600_000, encoding="utf-8"
    )


@pytest.mark.parametrize(
    ("harm", "words"),
    [
        (laughs, ["layer-settings", "anchors and aliases"]),
        (tagged, ["layer-settings", "tags"]),
        (endless_line, ["file-long-line"]),
        (million_columns, ["seed_longevity.csv"]),
        (nul_bytes, ["file-nul-byte"]),
        (packed, ["file-not-text"]),
        (linked, ["path-link"]),
        (endless_quote, ["seed_longevity.csv"]),
    ],
    ids=lambda part: part.__name__ if callable(part) else "",
)
def test_a_hostile_layer_is_told_by_the_check_and_not_opened(
    limited: Limited, layer: Path, harm: Callable[[Path], None], words: list[str]
) -> None:
    harm(layer)
    refused(limited("check", layer), 1, *words)
    if (
        harm is not linked
    ):  # opening reads the grower's own link; the check refuses it, as it may lead out of the folder
        refused(limited("show", "onion", "--layer", layer), 2, "layer")
    assert not (layer.parent / "ran").exists()


@pytest.mark.parametrize(
    ("part", "value", "rule"),
    [
        ("path", "../../secret.csv", "path-outside"),
        ("path", "/etc/hostname", "path-outside"),
        ("path", "https://example.invalid/x.csv", "path-outside"),
        ("schema", "https://example.invalid/schema.json", "descriptor"),
        ("format", "python", "descriptor-code"),
    ],
)
def test_a_hostile_descriptor_is_refused(limited: Limited, tmp_path: Path, part: str, value: str, rule: str) -> None:
    package = tmp_path / "datapackage"
    shutil.copytree(ROOT / "datapackage", package)
    raw = json.loads((package / "datapackage.json").read_text(encoding="utf-8"))
    raw["resources"][5][part] = value
    (package / "datapackage.json").write_text(json.dumps(raw), encoding="utf-8")
    done = limited("check", package)
    refused(done, done.returncode, rule)
    assert done.returncode in (1, 2)


def test_a_formula_is_harmless_in_what_we_write(tmp_path: Path) -> None:
    text = '=HYPERLINK("http://example.invalid","Tomato")'
    season = (ROOT / "cropdata" / "examples" / "season.yaml").read_text(encoding="utf-8")
    path = tmp_path / "season.yaml"
    path.write_text(season.replace("{crop: tomato,", f"{{crop: tomato, variety: '{text}',"), encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(as_csv(plan_season(path)))))
    varieties = [row["variety"] for row in rows if row["crop_id"] == "tomato"]
    assert varieties == ["'" + text]
    assert [harmless(sign + "x")[0] for sign in "=+-@\t"] == ["'"] * 5 and harmless("tomato") == "tomato"


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=400))
def test_any_bytes_at_all_are_told_of_or_read(tmp_path: Path, data: bytes) -> None:
    """Never a traceback: a report comes back, and what is no table is no clean one."""
    path = tmp_path / "seed_longevity.csv"
    path.write_bytes(data)
    report = cropdata.check(path)
    assert report.findings, data


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cells=st.lists(
        st.lists(st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12), min_size=4, max_size=4),
        min_size=1, max_size=5,
    )
)  # fmt: skip
def test_what_is_written_is_read_again(tmp_path: Path, cells: list[list[str]]) -> None:
    """Round trip: any texts through the one form of a table and back, and through the check without a traceback."""
    from cropdata.tabular.rows import read_rows, table_text

    header = ["crop_id", "low", "high", "unit"]
    rows = [dict(zip(header, row, strict=True)) for row in cells]
    path = tmp_path / "seed_longevity.csv"
    path.write_text(table_text(header, rows), encoding="utf-8", newline="")
    cropdata.check(path)
    plain = all("\n" not in text and "\r" not in text for row in cells for text in row)
    if plain and all(any(row) for row in cells):
        assert read_rows(str(path)) == rows
