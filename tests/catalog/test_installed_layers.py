"""Layers that installed distributions bring: found by entry point, left out by name, never executed. All are invented."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import venv
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
RAISES = "raise SystemExit('code of the layer was run')\n"
ASK = """
import json, sys, cropdata
db = cropdata.open({arguments})
life = db.crop("onion").seed_longevity
print(json.dumps([life.low, life.high, life.layer, list(life.layer_rows), [layer.origin for layer in db.layers]]))
assert not any("mountain" in name for name in sys.modules), "the package of the layer was imported"
"""


def _layer(folder: Path, title: str = "Mountain trials", rows: str = "onion,8,9,years,override\n") -> None:
    folder.mkdir(parents=True)
    (folder / "layer.yaml").write_text(f"title: {title}\nauthor: A. Grower (invented)\n", encoding="utf-8")
    (folder / "seed_longevity.csv").write_text("crop_id,low,high,unit,action\n" + rows, encoding="utf-8")


def _distribution(site: Path, entry: str, name: str = "mountain_layer", version: str = "0.3") -> None:
    """What an installer leaves of a distribution."""
    info = site / f"{name}-{version}.dist-info"
    info.mkdir(parents=True)
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n", encoding="utf-8")
    (info / "entry_points.txt").write_text(
        f"[console_scripts]\nx = y:z\n\n[cropdata.layers]\n{entry}\n", encoding="utf-8"
    )


def _python(*arguments: str, paths: tuple[Path, ...], python: str = sys.executable, **environment: str) -> subprocess.CompletedProcess[str]:  # fmt: skip
    path = os.pathsep.join(str(place) for place in (ROOT, *paths))
    settings = {key: value for key, value in os.environ.items() if key != "CROPDATA_NO_LAYERS"}
    return subprocess.run([python, *arguments], capture_output=True, text=True, encoding="utf-8", check=False,
                          env=settings | {"PYTHONPATH": path} | environment, cwd=paths[0])  # fmt: skip


def _asked(*paths: Path, arguments: str = "", **environment: str) -> list[object]:
    done = _python("-c", ASK.format(arguments=arguments), paths=paths, **environment)
    assert done.returncode == 0, done.stderr
    answer: list[object] = json.loads(done.stdout)
    return answer


@pytest.fixture
def site(tmp_path: Path) -> Path:
    place = tmp_path / "site"
    _layer(place / "mountain_layer" / "notes")
    (place / "mountain_layer" / "__init__.py").write_text(RAISES, encoding="utf-8")
    _distribution(place, "mountain = mountain_layer.notes")
    return place


def test_an_installed_layer_answers_and_says_so_without_being_run(site: Path) -> None:
    low, high, layer, rows, origins = _asked(site)
    assert (low, high, layer, rows) == (8, 9, "mountain_trials", ["mountain_trials: seed_longevity.csv row 2"])
    assert origins == ["installed with mountain-layer 0.3, --no-layer mountain leaves it out"]


@pytest.mark.parametrize("name", ["mountain", "Mountain-Layer", "mountain_trials", "mountain trials", "all"])
def test_it_is_left_out_by_any_of_its_names(site: Path, name: str) -> None:
    for answer in (_asked(site, arguments=f"without=[{name!r}]"), _asked(site, CROPDATA_NO_LAYERS=f"other, {name}")):
        assert answer[2:] == ["release", [], []]
    assert _asked(site, arguments="installed=False")[2] == "release"
    package = repr(str(ROOT / "datapackage"))
    assert _asked(site, arguments=package)[2] == "release"  # never over a package that is named


@pytest.mark.parametrize(
    "value", ["mountain_layer.notes [maps]", "mountain_layer.notes:title", "mountain_layer.notes : a.b [x, y]"]
)
def test_extras_and_an_object_in_an_entry_point_are_legal(tmp_path: Path, value: str) -> None:
    """https://packaging.python.org/en/latest/specifications/entry-points/#data-model"""
    _layer(tmp_path / "mountain_layer" / "notes")
    _distribution(tmp_path, f"mountain = {value}")
    assert _asked(tmp_path)[2] == "mountain_trials"


def test_two_distributions_with_one_entry_point_are_left_out_one_by_one(site: Path) -> None:
    _layer(site / "valley_layer" / "notes", "Valley trials", "onion,1,2,years,override\n")
    _distribution(site, "mountain = valley_layer.notes", name="valley_layer")
    origins = _asked(site)[4]
    assert isinstance(origins, list) and [origin.split("--no-layer ")[1] for origin in origins] == [
        "mountain-layer leaves it out", "valley-layer leaves it out",
    ]  # fmt: skip
    assert _asked(site, arguments="without=['valley-layer']")[2] == "mountain_trials"
    assert _asked(site, arguments="without=['mountain-layer']")[2] == "valley_trials"


def test_a_folder_that_is_named_lies_above_the_installed_ones(site: Path, tmp_path: Path) -> None:
    _layer(tmp_path / "mine", "Mine", "onion,1,2,years,override\n")
    low, _, layer, _, origins = _asked(site, arguments=f"layers=[{str(tmp_path / 'mine')!r}]")
    assert (low, layer, len(origins)) == (1, "mine", 2)  # type: ignore[arg-type]


def test_a_misspelt_name_is_not_passed_over(site: Path) -> None:
    done = _python("-m", "cropdata", "show", "onion", "--no-layer", "mountian", paths=(site,))
    assert done.returncode == 2 and "no installed layer is called 'mountian'; allowed: mountain" in done.stderr


def test_the_package_may_lie_elsewhere_as_in_an_editable_install(site: Path, tmp_path: Path) -> None:
    (site / "mountain_layer").rename(tmp_path / "moved")
    (tmp_path / "src").mkdir()
    (tmp_path / "moved").rename(tmp_path / "src" / "mountain_layer")
    assert _asked(site, tmp_path / "src")[2] == "mountain_trials"


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (
            "mountain = mountain_layer.gone",
            "names 'mountain_layer.gone', and there is no such folder; install it again",
        ),
        ("mountain = nowhere_at_all", "there is no such folder"),
        ("mountain = ../../other", "allowed: the folder of a package"),
        ("mountain = mountain_layer:notes", "holds no layer.yaml; allowed: the folder of a package that does"),
    ],
)
def test_an_entry_point_that_leads_nowhere_is_told_and_can_be_left_out(tmp_path: Path, entry: str, said: str) -> None:
    site = tmp_path / "site"
    _layer(site / "mountain_layer" / "notes")
    (tmp_path / "other").mkdir()
    _distribution(site, entry)
    done = _python("-m", "cropdata", "show", "onion", paths=(site,))
    assert (
        done.returncode == 2
        and said in done.stderr
        and "--no-layer all" in done.stderr
        and "Traceback" not in done.stderr
    )
    for name in ("all", "mountain", "mountain-layer"):
        assert _python("-m", "cropdata", "show", "onion", "--no-layer", name, paths=(site,)).returncode == 0
    assert _asked(site, CROPDATA_NO_LAYERS="mountain")[2] == "release"
    listed = _python("-m", "cropdata", "layer", "list", "--json", paths=(site,))
    (layer,) = json.loads(listed.stdout)["layers"]
    assert said in layer["problem"] and layer["rows"] is None


def test_a_mistake_in_an_installed_layer_says_who_brought_it(site: Path) -> None:
    path = site / "mountain_layer" / "notes" / "seed_longevity.csv"
    path.write_text("crop_id,low,high,unit\nonoin,2,3,years\n", encoding="utf-8")
    done = _python("-m", "cropdata", "show", "onion", paths=(site,))
    assert done.returncode == 2 and "no crop 'onoin'" in done.stderr
    assert "installed with mountain-layer 0.3, --no-layer mountain leaves it out" in done.stderr
    assert _python("-m", "cropdata", "show", "onion", "--no-layer", "mountain", paths=(site,)).returncode == 0
    path.write_text("crop_id;low\n", encoding="utf-8")
    done = _python("-m", "cropdata", "show", "onion", paths=(site,))
    assert "parted by semicolons" in done.stderr and "--no-layer mountain leaves it out" in done.stderr
    listed = _python("-m", "cropdata", "layer", "list", paths=(site,))
    assert listed.returncode == 0 and "cannot be read" in listed.stdout and "parted by semicolons" in listed.stdout


def test_layer_list_names_them_and_how_to_leave_them_out(site: Path) -> None:
    done = _python("-m", "cropdata", "layer", "list", paths=(site,))
    assert "mountain" in done.stdout and "Mountain trials" in done.stdout and "mountain-layer 0.3" in done.stdout
    assert "--no-layer NAME" in done.stdout and "CROPDATA_NO_LAYERS" in done.stdout
    off = json.loads(_python("-m", "cropdata", "layer", "list", "--json", paths=(site,), CROPDATA_NO_LAYERS="mountain").stdout)  # fmt: skip
    assert [(layer["name"], layer["used"], layer["rows"]) for layer in off["layers"]] == [("mountain", False, 1)]
    found = _python("-m", "cropdata", "find", "onion", paths=(site,))
    assert found.stderr == "cropdata find: laid over the release: Mountain trials (installed with mountain-layer 0.3, --no-layer mountain leaves it out)\n"  # fmt: skip
    shown = _python("-m", "cropdata", "show", "onion", paths=(site,)).stdout
    assert "layer mountain_trials: seed_longevity.csv row 2" in shown
    assert "Mountain trials (installed with mountain-layer 0.3, --no-layer mountain leaves it out)" in " ".join(
        shown.split()
    )


def test_the_first_on_the_path_counts_and_others_are_not_looked_at(site: Path, tmp_path: Path) -> None:
    """As Python takes a module: of two copies of a distribution the first one."""
    other = tmp_path / "other"
    _layer(other / "mountain_layer" / "notes", "Other copy")
    _distribution(other, "mountain = mountain_layer.notes", version="0.1")
    assert _asked(other, site)[2] == "other_copy" and _asked(site, other)[2] == "mountain_trials"


def test_a_check_holds_a_layer_against_the_release_alone(site: Path, tmp_path: Path) -> None:
    _layer(tmp_path / "mine", "Mountain trials", "onion,1,2,years,override\n")  # the title of the installed one
    done = _python("-m", "cropdata", "check", str(tmp_path / "mine"), paths=(site,))
    assert done.returncode == 0, done.stdout


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="Windows has no pipes among its files")
def test_a_pipe_among_the_distributions_is_not_waited_for(site: Path) -> None:
    (site / "odd-1.0.dist-info").mkdir()
    os.mkfifo(site / "odd-1.0.dist-info" / "entry_points.txt")
    assert _asked(site)[2] == "mountain_trials"


def test_an_installer_may_link_files(site: Path, tmp_path: Path) -> None:
    """Some installers keep one copy of a file, and link to it from every environment."""
    for path in [*site.rglob("*.txt"), *site.rglob("*.csv"), *site.rglob("*.yaml")]:
        kept = tmp_path / path.name
        path.rename(kept)
        path.symlink_to(kept)
    assert _asked(site)[2] == "mountain_trials"


def test_a_first_copy_without_a_layer_counts_as_well(site: Path, tmp_path: Path) -> None:
    """Names of distributions are one whatever their case, hyphens and points."""
    other = tmp_path / "other"
    info = other / "Mountain.Layer-2.0.dist-info"
    info.mkdir(parents=True)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: Mountain.Layer\nVersion: 2.0\n", encoding="utf-8")
    assert _asked(other, site)[2] == "release" and _asked(site, other)[2] == "mountain_trials"


def test_entry_points_are_read_to_their_end(site: Path) -> None:
    (path,) = site.glob("*.dist-info/entry_points.txt")
    many = "[console_scripts]\n" + "".join(f"command{number} = a.b:c\n" for number in range(9000))
    path.write_text(many + "[cropdata.layers]\nmountain = mountain_layer.notes\n", encoding="utf-8")
    assert _asked(site)[2] == "mountain_trials"
    path.write_text("\ufeff[cropdata.layers]\r\nmountain = mountain_layer.notes\r\n", encoding="utf-8", newline="")
    assert _asked(site)[2] == "mountain_trials"
    with path.open("r+b") as stream:
        stream.truncate(20_000_000)
    done = _python("-m", "cropdata", "show", "onion", paths=(site,))
    assert done.returncode == 2 and "entry_points.txt of 20 MB; allowed: up to 10 MB" in done.stderr
    assert _asked(site, CROPDATA_NO_LAYERS="mountain-layer")[2] == "release"


def test_a_title_does_not_steer_the_terminal(site: Path) -> None:
    settings = site / "mountain_layer" / "notes" / "layer.yaml"
    settings.write_text('title: "Hill \\e]0;taken\\a \\e[31mred"\nauthor: "A\\n\\e[2J"\n', encoding="utf-8")
    for command in (("layer", "list"), ("show", "onion")):
        done = _python("-m", "cropdata", *command, paths=(site,))
        assert done.returncode == 0 and "Hill ]0;taken [31mred" in done.stdout
        assert "\x1b" not in done.stdout + done.stderr and "\x07" not in done.stdout + done.stderr


@pytest.mark.wheel
def test_a_real_wheel_in_an_environment_of_its_own(tmp_path: Path) -> None:
    """Built by a build back-end, installed by pip: its __init__ would end the process, and never runs."""
    source = tmp_path / "source"
    _layer(source / "mountain_layer" / "notes")
    (source / "mountain_layer" / "__init__.py").write_text(RAISES, encoding="utf-8")
    (source / "pyproject.toml").write_text(
        '[build-system]\nrequires = ["hatchling"]\nbuild-backend = "hatchling.build"\n'
        '[project]\nname = "mountain-layer"\nversion = "0.3"\n'
        '[project.entry-points."cropdata.layers"]\nmountain = "mountain_layer.notes"\n',
        encoding="utf-8",
    )
    built = subprocess.run([sys.executable, "-m", "build", "--wheel", "--outdir", tmp_path / "dist", source], capture_output=True, text=True, check=False)  # fmt: skip
    assert built.returncode == 0, built.stdout + built.stderr
    venv.create(tmp_path / "env", with_pip=True)
    python = str(tmp_path / "env" / ("Scripts" if sys.platform == "win32" else "bin") / "python")
    (wheel,) = (tmp_path / "dist").glob("*.whl")
    subprocess.run([python, "-m", "pip", "install", "--quiet", "--no-deps", str(wheel)], check=True)
    there = (tmp_path, Path(sysconfig.get_paths()["purelib"]))  # PyYAML, which reads layer.yaml, is taken from here
    importing = _python("-c", "import mountain_layer", paths=there, python=python)
    assert importing.returncode == 1 and "code of the layer was run" in importing.stderr
    done = _python("-c", ASK.format(arguments=""), paths=there, python=python)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)[:3] == [8, 9, "mountain_trials"]


def test_nothing_heavy_is_imported_to_find_none(run: Callable[..., object]) -> None:
    code = "import sys, cropdata; cropdata.open().crop('tomato'); print(sorted(set(sys.modules) & {'importlib.metadata', 'email', 'configparser', 'csv', 're', 'typing'}))"
    assert _python("-c", code, paths=(ROOT,)).stdout.strip() == "[]"
