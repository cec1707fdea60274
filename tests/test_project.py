"""The project as a whole: what stands at the top, what the documents promise, what must not be said."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def _tracked() -> list[str]:
    return subprocess.run(["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=True).stdout.splitlines()


def test_nothing_else_stands_at_the_top() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "cropdata", "datapackage", "tests", "tools"}
    top = {name.split("/")[0] for name in _tracked()}
    assert {name for name in top if not name.startswith(".")} == allowed


def test_the_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, paragraph, *_ = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")
    assert title.startswith("# ") and len(paragraph.split()) > 40 and not paragraph.startswith(("#", "-", "`", "|"))


def test_the_readmes_test_command_is_what_ci_runs() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    command = re.search(r"<!-- test command -->\n```sh\n(.+?)\n```", readme, re.DOTALL)
    assert command and "\n" not in command[1]
    assert "test command" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_every_python_example_of_the_readme_runs() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    examples = re.findall(r"```python\n(.+?)```", readme, re.DOTALL)
    assert examples
    for example in examples:
        exec(compile(example, "README.md", "exec"), {})


def test_shown_output_of_the_readme_is_real() -> None:
    """Each block that follows `$ cropdata …` is what the command prints today, lines left out marked by an ellipsis."""
    import sys

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```console\n\$ cropdata (.+?)\n(.+?)```", readme, re.DOTALL)
    assert blocks
    for arguments, shown in blocks:
        out = subprocess.run(
            [sys.executable, "-m", "cropdata", *arguments.split()],
            capture_output=True,
            text=True,
            cwd=ROOT,
            check=False,
        ).stdout
        printed = [line.rstrip() for line in out.splitlines()]
        for line in shown.splitlines():
            if line.strip() != "…":
                assert line.rstrip() in printed, (arguments, line)


def test_no_path_of_this_machine_and_no_package_index_is_named() -> None:
    """In no tracked file, this one included. The paths are those of the machine that runs the test: its top folders."""
    tops = "|".join(re.escape(place.name) for place in Path("/").iterdir() if place.name not in ("usr", "bin", "dev"))
    path_or_index = re.compile(rf"(?<![\w.:/~}}-])/(?:{tops})/|https?://[^\s\"')]*/simple\b|\bindex[-]url\b")
    assert path_or_index.search(f"see {Path.home() / 'x'}") and path_or_index.search("pip --index" + "-url x")
    for name in _tracked():
        found = path_or_index.search((ROOT / name).read_text(encoding="utf-8", errors="replace"))
        assert not found, (name, found and found[0])
