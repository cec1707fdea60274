"""Input made to harm: refused with a message, nothing run, nothing fetched, memory bounded.

Each check runs as a process of its own under a limit of address space, with a network that fails the test.
"""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import cropdata
from cropdata.tabular.values import harmless, is_formula
from cropdata.validation.fixing import mend

# Room for the interpreter, numpy and the address space that their threads reserve; a gigabyte read whole would not fit.
ROOM = 1_200_000_000
_GUARDED = """
import resource, socket, subprocess, sys
resource.setrlimit(resource.RLIMIT_AS, ({room}, {room}))
def refused(*_, **__):
    sys.stderr.write("REACHED OUT")
    sys.exit(99)
socket.socket.connect = socket.getaddrinfo = subprocess.Popen.__init__ = refused
import os; os.system = refused
from cropdata.cli import main
sys.exit(main(["check", sys.argv[1], "--format", "json"]))
"""

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="address space is limited by a call of Unix")


def _checked(path: Path) -> list[dict[str, Any]]:
    """Findings of a guarded check."""
    done = subprocess.run(
        [sys.executable, "-c", _GUARDED.format(room=ROOM), str(path)],
        capture_output=True, text=True, encoding="utf-8", timeout=120, check=False, env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip
    assert done.returncode == 1, (done.returncode, done.stderr[-800:], done.stdout[-300:])
    assert "Traceback" not in done.stderr
    findings: list[dict[str, Any]] = json.loads(done.stdout)["findings"]
    return findings


def _rules(path: Path) -> set[str]:
    return {item["rule"] for item in _checked(path)}


def _described(package: Path, **changed: object) -> Path:
    path = package / "datapackage.json"
    raw = json.loads(path.read_text(encoding="utf-8"))
    next(part for part in raw["resources"] if part["name"] == "light").update(changed)
    path.write_text(json.dumps(raw), encoding="utf-8")
    return package


@pytest.mark.parametrize(
    "path",
    ["../light.csv", "evidence/../../light.csv", "/light.csv", "~/light.csv", "C:\\light.csv", "C:/light.csv", "https://x.example/light.csv",
     "ftp://x.example/l.csv", "file:light.csv", "evidence\\light.csv", "evidence/light.csv\0", ["evidence/light.csv", "../x.csv"]],
)  # fmt: skip
def test_a_path_that_leaves_the_folder(package: Path, path: object) -> None:
    assert "path-outside" in _rules(_described(package, path=path))


def test_a_list_of_paths_is_no_path(package: Path) -> None:
    assert _rules(_described(package, path=["evidence/light.csv"])) & {"descriptor", "path-outside"}


@pytest.mark.parametrize(
    "changed",
    [
        {"format": "python"}, {"scheme": "https"}, {"format": "inline", "data": []}, {"compression": "zip", "innerpath": "x.csv"},
        {"dialect": {"delimiter": ",", "python": {"code": "import os"}}}, {"control": {"code": "x"}}, {"encoding": "unicode_escape"},
        {"mediatype": "application/zip"}, {"pipeline": {"steps": []}}, {"extrapaths": ["x"]}, {"type": "file"},
    ],
    ids=str,
)  # fmt: skip
def test_a_descriptor_that_names_code(package: Path, changed: dict[str, object]) -> None:
    assert "descriptor-code" in _rules(_described(package, **changed))


@pytest.mark.parametrize(
    "changed",
    [{"schema": "https://x.example/s.json"}, {"dialect": "https://x.example/d.json"}, {"profile": "https://x.example/p.json"}, {"$schema": "https://x.example/p.json"}],
    ids=str,
)  # fmt: skip
def test_a_descriptor_that_would_be_fetched(package: Path, changed: dict[str, object]) -> None:
    assert _rules(_described(package, **changed)) & {"descriptor-reference", "descriptor"}


def test_symbolic_links(package: Path, write_layer: Callable[..., Path], tmp_path: Path) -> None:
    secret = tmp_path / "secret.csv"
    secret.write_text("secret\n", encoding="utf-8")
    for name in ("evidence/light.csv", "datapackage.json"):
        (package / name).unlink()
        (package / name).symlink_to(secret)
        findings = _checked(package)
        assert {item["rule"] for item in findings} & {"path-link", "descriptor"} and "secret\n" not in str(findings)
    layer = write_layer("Linked")
    (layer / "seed_longevity.csv").symlink_to(secret)
    outside = tmp_path / "outside"
    outside.mkdir()
    (layer / "evidence").symlink_to(outside)
    assert [item["rule"] for item in _checked(layer)] == ["path-link", "path-link"]
    (layer / "layer.yaml").rename(tmp_path / "layer.yaml")
    (layer / "layer.yaml").symlink_to(tmp_path / "layer.yaml")
    assert "layer.yaml" in {item["file"] for item in _checked(layer)}


def test_a_folder_that_is_a_link_within_a_package(package: Path, tmp_path: Path) -> None:
    (package / "evidence").rename(tmp_path / "elsewhere")
    (package / "evidence").symlink_to(tmp_path / "elsewhere")
    assert "path-link" in _rules(package)


def test_a_pipe_under_the_name_of_a_table(write_layer: Callable[..., Path]) -> None:
    layer = write_layer()
    os.mkfifo(layer / "seed_longevity.csv")
    assert _rules(layer) == {"file-unreadable"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("title: !!python/object/apply:os.system ['touch hacked']\n", "tags such as"),
        ("title: !include /secret/x.csv\n", "tags such as"),
        ("a: &a [x, x]\nb: &b [*a, *a]\ntitle: *b\n", "anchors and aliases"),
        ("title: " + "[" * 5000 + "\n", "nested too deeply"),
        ("title: 2026-99-99\n", ""),
        ("title: x\0y\n", "not valid YAML"),
        ("title: a\ntitle: b\n", "stands twice"),
        ("title: " + "x" * 2_000_000 + "\n", "larger than"),
    ],
    ids=["tag that runs", "tag that reads", "aliases", "deep", "no such date", "NUL", "key twice", "huge"],
)
def test_settings_made_to_harm(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "layer.yaml").write_text(text, encoding="utf-8")
    findings = _checked(tmp_path) if said else [item._asdict() for item in cropdata.check(tmp_path).findings]
    assert all(item["rule"] in ("layer-settings", "layer-does-not-fit") for item in findings)
    assert said in str(findings) and not (tmp_path / "hacked").exists()


def test_a_billion_laughs(tmp_path: Path) -> None:
    lines = ["a0: &a0 lol"] + [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 10)]
    (tmp_path / "layer.yaml").write_text("\n".join(lines) + "\ntitle: *a9\n", encoding="utf-8")
    assert "anchors and aliases" in str(_checked(tmp_path))
    with pytest.raises(cropdata.LayerError, match="anchors and aliases"):
        cropdata.open(layers=[tmp_path])


def _layer(tmp_path: Path) -> Path:
    (tmp_path / "layer.yaml").write_text("title: Hostile (invented)\n", encoding="utf-8")
    return tmp_path / "seed_longevity.csv"


def test_a_zip_in_disguise(tmp_path: Path) -> None:
    import zipfile

    path = _layer(tmp_path)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("seed_longevity.csv", b"\0" * 10_000_000)
    assert _rules(tmp_path) == {"file-not-text"}


def test_a_line_of_a_gigabyte(tmp_path: Path) -> None:
    path = _layer(tmp_path)
    with path.open("wb") as stream:
        stream.write(b"crop_id,low,high,unit\n")
        for _ in range(20):
            stream.write(b"x" * 1_000_000)
        stream.truncate(1 << 30)  # the rest is a hole: it takes no room on the disk
    assert _rules(tmp_path) & {"file-long-line", "file-nul-byte"}


def test_a_gigabyte_of_nothing(tmp_path: Path) -> None:
    path = _layer(tmp_path)
    with path.open("wb") as stream:
        stream.truncate(1 << 30)
    assert _rules(tmp_path) & {"file-long-line", "file-nul-byte"}


def test_nul_bytes(tmp_path: Path) -> None:
    _layer(tmp_path).write_bytes(b"crop_id,low,high,unit\nonion,1\0,2,years\n")
    assert _rules(tmp_path) == {"file-nul-byte"}


def test_a_million_columns(tmp_path: Path) -> None:
    path = _layer(tmp_path)
    path.write_bytes(b"," * 1_000_000 + b"\nonion\n")
    assert _rules(tmp_path) == {"file-columns"}
    path.write_bytes(b"crop_id,low,high,unit\nonion,1,2,years\n" + b"," * 1_000_000 + b"x\n")
    assert _rules(tmp_path) == {"file-ragged-row"}


def test_a_row_without_end_inside_quotes(tmp_path: Path) -> None:
    """Short lines, so that no line is long; one row, so that a reader would hold it all."""
    _layer(tmp_path).write_bytes(b"crop_id,low,high,unit\n" + b'"a\n",' * 3_000_000 + b"\n")
    assert "file-quotes" in _rules(tmp_path)


def test_millions_of_blank_rows(tmp_path: Path) -> None:
    _layer(tmp_path).write_bytes(b"crop_id,low,high,unit\nonion,1,2,years\n" + b"\n" * 3_000_000)
    findings = _checked(tmp_path)
    assert findings[-1]["rule"] == "file-stopped" or "file-stopped" in {item["rule"] for item in findings}
    assert len(findings) < 110_000


def test_half_a_million_bad_rows(tmp_path: Path) -> None:
    _layer(tmp_path).write_bytes(b"crop_id,low,high,unit\n" + b"onion,ten,eleven,decades\n" * 500_000)
    assert "file-stopped" in _rules(tmp_path)


def test_a_name_that_steers_a_terminal_or_a_ci(tmp_path: Path) -> None:
    path = _layer(tmp_path)
    path.write_text(
        'crop_id,low,"\x1b[2J\n::set-env name=x::y",unit\n"on\x1b]0;x\x07ion",ten,2,years\n', encoding="utf-8"
    )
    report = cropdata.check(tmp_path)
    assert "\x1b" not in report.text() and "\x07" not in report.text()
    assert all(
        line.startswith(("::error ", "::warning ", "::notice ")) for line in report.annotations().splitlines()[:-1]
    )
    import xml.etree.ElementTree as ET

    assert ET.fromstring(report.junit()).attrib["failures"] == str(len(report.errors))


FORMULAS = (
    "=1+1",
    "@SUM(A1)",
    "+cmd|' /C calc'!A0",
    "-2+3+cmd|' /C calc'!A0",
    "=HYPERLINK(1)",
    "+SUM(1)",
    "-5+SUM(A1)",
)


def test_a_formula_is_found_on_the_way_in(tmp_path: Path) -> None:
    path = _layer(tmp_path)
    for formula in FORMULAS:
        path.write_text(f'crop_id,low,high,unit,conditions\nonion,1,2,years,"{formula}"\n', encoding="utf-8")
        assert {item.rule for item in cropdata.check(tmp_path).findings} == {"cell-formula"}, formula
        assert harmless(formula) == f"'{formula}"
    for text in ("-5", "-3 to -2 weeks", "+2.5", "-4--2 C", "- dry", "1=1"):
        path.write_text(f'crop_id,low,high,unit,conditions\nonion,1,2,years,"{text}"\n', encoding="utf-8")
        assert ("cell-formula" in {item.rule for item in cropdata.check(tmp_path).findings}) == (text == "- dry"), text


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_formula_never_leaves_as_one(
    tmp_path: Path, run: Callable[..., subprocess.CompletedProcess[str]], formula: str
) -> None:
    """Texts of the grower's go into files that a spreadsheet opens: the plan and the table of a trial."""
    season = run("plan", "--print-example").stdout.replace(
        "crop: carrot", f"crop: carrot, variety: {json.dumps(formula)}"
    )
    (tmp_path / "season.yaml").write_text(season, encoding="utf-8")
    done = run("plan", tmp_path / "season.yaml", "--out", tmp_path)
    assert done.returncode == 0, done.stderr
    with (tmp_path / "plan.csv").open(encoding="utf-8", newline="") as stream:
        cells = [cell for row in csv.reader(stream) for cell in row]
    assert f"'{formula}" in cells and not any(is_formula(cell) for cell in cells)
    seeds = [
        f'"{method}",{n},2026-04-01,2026-04-0{3 + n},2026-04-0{4 + n}'
        for method in (formula, "tray")
        for n in range(1, 5)
    ]
    (tmp_path / "trial.csv").write_text(
        "method,seed,sown,last_absent,first_seen\n" + "\n".join(seeds) + "\n", encoding="utf-8"
    )
    done = run("trial", tmp_path / "trial.csv", "--csv", tmp_path / "table.csv")
    assert done.returncode == 0, done.stderr
    with (tmp_path / "table.csv").open(encoding="utf-8", newline="") as stream:
        cells = [cell for row in csv.reader(stream) for cell in row]
    assert f"'{formula}" in cells and not any(is_formula(cell) for cell in cells)


def test_mending_writes_through_no_link(tmp_path: Path) -> None:
    path = _layer(tmp_path)
    secret = tmp_path / "secret.txt"
    secret.write_text("crop_id \n", encoding="utf-8")
    path.symlink_to(secret)
    (tmp_path / "sowing_depth.csv").write_text("crop_id,low,high,unit\nonion ,10,20,mm\n", encoding="utf-8")
    (tmp_path / "sowing_depth.csv.part").symlink_to(secret)
    mend(str(tmp_path))
    assert secret.read_text(encoding="utf-8") == "crop_id \n"
    assert "onion,10" in (tmp_path / "sowing_depth.csv").read_text(encoding="utf-8")
