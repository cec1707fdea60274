"""Shared fixtures: the shipped catalog, a copy of the package to damage, a layer to write, the command line."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import hypothesis
import pytest

import cropdata
from cropdata.catalog import Catalog

# How long an example takes is no verdict: a busy machine must not fail it.
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "datapackage"


@pytest.fixture(scope="session")
def db() -> Catalog:
    return cropdata.open()


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """A copy of the data package that a test may change."""
    target = tmp_path / "datapackage"
    shutil.copytree(PACKAGE, target)
    return target


@pytest.fixture
def write_layer(tmp_path: Path) -> Callable[..., Path]:
    """Writes a layer folder: title, then file name -> CSV text."""

    def write(title: str = "Invented notes", settings: str = "", **tables: str) -> Path:
        folder = tmp_path / title.replace(" ", "-")
        folder.mkdir()
        (folder / "layer.yaml").write_text(
            f"title: {title}\nauthor: A. Grower (invented)\n{settings}", encoding="utf-8"
        )
        for name, text in tables.items():
            (folder / f"{name}.csv").write_text(text, encoding="utf-8")
        return folder

    return write


@pytest.fixture
def run() -> Callable[..., subprocess.CompletedProcess[str]]:
    """Runs the command line as a process of its own."""

    def call(*arguments: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "cropdata", *map(str, arguments)]
        return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", cwd=cwd or ROOT, check=False)

    return call
