"""Wheel and sdist: built, installed each in an environment of its own, used there, outside the checkout."""

from __future__ import annotations

import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
pytestmark = pytest.mark.wheel

LOOK_UP = """
import cropdata, sys
db = cropdata.open()
assert "site-packages" in db.folder.replace("\\\\", "/"), db.folder
assert db.crop("aubergine").id == "eggplant" and db.crop("tomato").sowing_depth.unit == "mm"
assert not any(name.split(".")[0] in ("numpy", "pandas") for name in sys.modules)
try:
    import datapackage
except ImportError:
    print(db.version)
else:
    raise SystemExit("a top-level name datapackage was installed")
"""


def _run(*command: object, cwd: Path) -> str:
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True, cwd=cwd, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("dist")
    _run(sys.executable, "-m", "build", "--outdir", target, ROOT, cwd=target)
    return target


def _environment(where: Path) -> Path:
    venv.create(where, with_pip=True)
    return where / ("Scripts" if sys.platform == "win32" else "bin") / "python"


def test_the_wheel_carries_the_data_under_one_name(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert {name.split("/")[0] for name in names if ".dist-info/" not in name} == {"cropdata"}
    assert {"cropdata/datapackage/datapackage.json", "cropdata/datapackage/evidence/sowing_depth.csv", "cropdata/py.typed",
            "cropdata/examples/season.yaml", "cropdata/datapackage/LICENSE"} <= set(names)  # fmt: skip
    (sdist,) = built.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        inside = {name.split("/", 1)[-1] for name in archive.getnames()}
    assert {"datapackage/datapackage.json", "cropdata/__init__.py", "README.md", "pyproject.toml"} <= inside


@pytest.mark.parametrize("kind", ["*.whl", pytest.param("*.tar.gz", marks=pytest.mark.full)])
def test_installed_elsewhere_it_answers(built: Path, tmp_path: Path, kind: str) -> None:
    (artefact,) = built.glob(kind)
    python = _environment(tmp_path / "env")
    # A look-up needs no dependency: that it works without any is part of the test.
    _run(python, "-m", "pip", "install", "--quiet", "--no-deps", artefact, cwd=tmp_path)
    assert _run(python, "-c", LOOK_UP, cwd=tmp_path).strip()
    assert _run(python, "-m", "cropdata", "show", "tomato", cwd=tmp_path).startswith("Tomato")
    _run(python, "-m", "cropdata", "find", "bean", cwd=tmp_path)


def test_the_installed_data_are_the_checkouts(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    archive = zipfile.ZipFile(wheel)
    for path in (ROOT / "datapackage").rglob("*"):
        if path.is_file():
            assert (
                archive.read(f"cropdata/datapackage/{path.relative_to(ROOT / 'datapackage').as_posix()}")
                == path.read_bytes()
            )
