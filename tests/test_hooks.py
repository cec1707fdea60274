"""A grower's own repository: the commit hook and the CI recipe of README, both run for real."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).resolve().parent.parent
GOOD = "crop_id,low,high,unit,action\nonion,1,2,years,override\n"
BAD = "crop_id,low,high,unit,action\nonoin,1,2,years,override\n"


def _git(folder: Path, *arguments: str) -> str:
    identity = ["-c", "user.name=A. Grower (invented)", "-c", "user.email=grower@garden.invalid"]
    done = subprocess.run(["git", *identity, *arguments], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A scratch repository with one layer, an invented one."""
    folder = tmp_path / "garden"
    (folder / "my-notes").mkdir(parents=True)
    (folder / "my-notes" / "layer.yaml").write_text("title: My notes\nauthor: A. Grower (invented)\n", encoding="utf-8")
    (folder / "my-notes" / "seed_longevity.csv").write_text(GOOD, encoding="utf-8")
    _git(folder, "init", "-q")
    _git(folder, "add", "-A")
    return folder


def _bin(folder: Path) -> dict[str, str]:
    """An environment in which `cropdata` is this checkout's."""
    place = folder.parent / "bin"
    place.mkdir(exist_ok=True)
    command = place / "cropdata"
    command.write_text(
        f'#!/bin/sh\nPYTHONPATH={shlex.quote(str(ROOT))} exec {shlex.quote(sys.executable)} -m cropdata "$@"\n',
        encoding="utf-8",
    )
    command.chmod(0o755)
    return {**os.environ, "PATH": f"{place}{os.pathsep}{os.environ['PATH']}"}


def test_the_hook_checks_the_layer_that_a_changed_file_belongs_to(repository: Path) -> None:
    (hook,) = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    tracked = _git(repository, "ls-files").split()
    files = [name for name in tracked if re.search(hook["files"], name)]
    assert files == ["my-notes/layer.yaml", "my-notes/seed_longevity.csv"]
    command = [*shlex.split(hook["entry"]), *files]
    done = subprocess.run(command, cwd=repository, env=_bin(repository), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (repository / "my-notes" / "seed_longevity.csv").write_text(BAD, encoding="utf-8")
    done = subprocess.run(command, cwd=repository, env=_bin(repository), capture_output=True, text=True, check=False)
    assert done.returncode == 1 and "row 2, crop_id [link-broken]" in done.stdout and "onion" in done.stdout


def _recipe() -> list[str]:
    """The lines of README's CI recipe."""
    found = re.search(
        r"<!-- ci recipe -->\n```sh\n(.+?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL
    )
    assert found
    return [line for line in found[1].splitlines() if line and not line.startswith("#")]


def test_the_recipe_passes_a_good_layer_and_fails_a_bad_one(repository: Path) -> None:
    install, *steps = _recipe()
    assert install.startswith("pip install ") and steps  # the wheel's own tests install it for real
    for text, status in ((GOOD, 0), (BAD, 1)):
        (repository / "my-notes" / "seed_longevity.csv").write_text(text, encoding="utf-8")
        done = subprocess.run(
            ["sh", "-e", "-c", "\n".join(steps)],
            cwd=repository,
            env=_bin(repository),
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == status, done.stdout + done.stderr
    assert "my-notes/seed_longevity.csv" in done.stdout and "line=2" in done.stdout


@pytest.mark.full
def test_pre_commit_itself_runs_the_hook(repository: Path, tmp_path: Path) -> None:
    if shutil.which("pre-commit") is None:
        pytest.skip("pre-commit is not on the path: it comes with the extra dev")
    source = tmp_path / "cropdata"
    _git(tmp_path, "clone", "-q", str(ROOT), str(source))
    revision = _git(source, "rev-parse", "HEAD").strip()
    (repository / ".pre-commit-config.yaml").write_text(
        f"repos:\n  - repo: {source}\n    rev: {revision}\n    hooks:\n      - id: cropdata-check\n", encoding="utf-8"
    )
    _git(repository, "add", "-A")
    environment = {**os.environ, "PRE_COMMIT_HOME": str(tmp_path / "pre-commit")}
    environment.pop("PYTHONPATH", None)

    def run() -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["pre-commit", "run", "--all-files"],
            cwd=repository,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )

    good = run()
    assert good.returncode == 0 and "Passed" in good.stdout, good.stdout + good.stderr
    (repository / "my-notes" / "seed_longevity.csv").write_text(BAD, encoding="utf-8")
    _git(repository, "add", "-A")
    bad = run()
    assert bad.returncode == 1 and "link-broken" in bad.stdout, bad.stdout + bad.stderr
