"""Layers that came with an installed distribution: found by entry point, never executed.

A distribution names its layer in the entry-point group `cropdata.layers`, as `mountain = mountain_layer.notes`: the
value is the package folder that holds `layer.yaml` and the CSV files. It is found from where the distribution lies, so
no code of the package runs, not even its `__init__`. `importlib.metadata` costs more than a whole look-up, so the few
files that matter are read here.
"""

from __future__ import annotations

import os
import sys

from cropdata.catalog.names import printable
from cropdata.catalog.records import Record
from cropdata.errors import CropdataError, InputError, LayerError
from cropdata.tabular.rows import open_ordinary

GROUP = "cropdata.layers"
SWITCHED_OFF = "CROPDATA_NO_LAYERS"  # names parted by commas, or `all`
_LARGEST = 10_000_000  # bytes of an entry-point file that are looked through


class InstalledLayer(Record):
    """A layer of a distribution: its entry point's name, who brings it, where it lies.

    `problem` says why it cannot be used; its folder is empty then. `called` is the name that leaves it out and no other:
    the entry point's, or the distribution's where two have one entry point.
    """

    __slots__ = ("called", "distribution", "folder", "name", "problem", "version")

    called: str
    name: str
    distribution: str
    version: str
    folder: str
    problem: str

    def __init__(self, name: str, distribution: str, version: str, folder: str, problem: str = "", called: str = "") -> None:  # fmt: skip
        for slot, value in zip(self.__slots__, (called or name, distribution, folder, name, problem, version), strict=True):  # fmt: skip
            object.__setattr__(self, slot, value)

    @property
    def origin(self) -> str:
        """Where it was found, in words."""
        return f"installed with {self.distribution} {self.version}, --no-layer {self.called} leaves it out"


def installed_layers() -> tuple[InstalledLayer, ...]:
    """Every installed layer, by name, those that cannot be used included. Of two copies of a distribution the first on
    the path counts, as Python takes a module, whether it brings a layer or not.
    """
    found: dict[tuple[str, str], InstalledLayer] = {}
    seen: set[str] = set()
    for place in dict.fromkeys(sys.path):
        folder = place or os.curdir
        try:
            entries = os.listdir(folder)
        except OSError:
            continue
        for entry in entries:
            if not entry.endswith((".dist-info", ".egg-info")):
                continue
            distribution, _, version = entry.rpartition(".")[0].partition("-")
            if (plain := _plain(distribution)) in seen:
                continue
            seen.add(plain)
            distribution = distribution.replace("_", "-")
            try:
                for name, value in _declared(os.path.join(folder, entry, "entry_points.txt")):
                    where, problem = _folder(value, folder)
                    found[name, distribution] = InstalledLayer(name, distribution, version, where, problem)
            except LayerError as error:
                found[distribution, ""] = InstalledLayer(distribution, distribution, version, "", str(error))
    shared = [_plain(layer.name) for layer in found.values()]
    return tuple(
        InstalledLayer(layer.name, layer.distribution, layer.version, layer.folder, layer.problem, layer.distribution)
        if shared.count(_plain(layer.name)) > 1 else layer
        for _, layer in sorted(found.items())
    )  # fmt: skip


def _declared(path: str) -> list[tuple[str, str]]:
    """Names and values of our group in an entry-point file. Raises LayerError where the file is too large for one."""
    try:  # the bare calls: a hundred distributions are looked at in a millisecond, within the first look-up
        handle = open_ordinary(path, links=True)
    except OSError:
        return []
    try:
        size = os.fstat(handle).st_size
        if size > _LARGEST:
            raise LayerError(
                f"has an entry_points.txt of {size // 1_000_000} MB; allowed: up to {_LARGEST // 1_000_000} MB"
            )
        data = os.read(handle, size)
    except OSError:
        return []
    finally:
        os.close(handle)
    if f"[{GROUP}]".encode() not in data:
        return []
    declared, ours = [], False
    for line in data.decode("utf-8-sig", "replace").splitlines():
        text = printable(line)
        if text.startswith("["):
            ours = text == f"[{GROUP}]"
        elif ours and "=" in text and not text.startswith("#"):
            name, _, value = text.partition("=")
            declared.append((name.strip(), value.strip()))
    return declared


def _folder(value: str, place: str) -> tuple[str, str]:
    """The folder that an entry point names, or what is wrong with it; no part of the package is imported.

    Extras and an object in it, as in `mountain_layer.notes:title [maps]`, are legal and say nothing of the folder.
    """
    module, _, named = value.partition("[")[0].partition(":")
    parts = module.strip().split(".")
    folder, problem = _found(parts, value, place)
    if folder and named and not os.path.isfile(os.path.join(folder, "layer.yaml")):
        return "", f"names {value!r}, and {module.strip()} holds no layer.yaml; allowed: the folder of a package that does, such as mountain_layer.notes"  # fmt: skip
    return folder, problem


def _found(parts: list[str], value: str, place: str) -> tuple[str, str]:
    if not all(part.isidentifier() for part in parts):
        return "", f"names {value!r}; allowed: the folder of a package, such as mountain_layer.notes"
    beside = os.path.join(place, *parts)
    if os.path.isdir(beside):
        return beside, ""
    # An editable install lies elsewhere. Asking for the spec of a top-level name imports nothing.
    from importlib.util import find_spec

    try:
        spec = find_spec(parts[0])
    except (ImportError, ValueError):
        spec = None
    for root in (spec.submodule_search_locations or ()) if spec else ():
        folder = os.path.join(root, *parts[1:])
        if os.path.isdir(folder):
            return folder, ""
    return "", f"names {value!r}, and there is no such folder; install it again"


def chosen_layers(without: tuple[str, ...]) -> list[tuple[str, str]]:
    """Folder and origin of the installed layers that are used.

    Raises InputError for a name in `without` that is no installed layer's, LayerError for a layer that cannot be used and
    is not left out.
    """
    used = used_layers(without)
    for layer in used:
        if layer.problem:
            raise LayerError(
                f"the layer {layer.name!r} of the installed distribution {layer.distribution} cannot be used: it {layer.problem}; "
                f"or uninstall it, leave it out with --no-layer {layer.called}, or all installed layers with --no-layer all"
            )
    return [(layer.folder, layer.origin) for layer in used]


def used_layers(without: tuple[str, ...] = ()) -> list[InstalledLayer]:
    """The installed layers that are not switched off by name, in `without` or the environment.

    Raises InputError for a name in `without` that is no installed layer's; the environment may speak of other places.
    """
    elsewhere = [name for name in os.environ.get(SWITCHED_OFF, "").split(",") if name.strip()]
    off = {_plain(name) for name in (*without, *elsewhere)}
    if "all" in off:
        return []
    found = installed_layers()
    names = {layer: _names(layer, titled=bool(off)) for layer in found} if found else {}
    for name in without:
        if not any(_plain(name) in known for known in names.values()):
            allowed = ", ".join(layer.name for layer in found) or "none: no layer is installed"
            raise InputError(f"no installed layer is called {name!r}", found=name, allowed=allowed)
    return [layer for layer in found if not names[layer] & off]


def _names(layer: InstalledLayer, *, titled: bool) -> set[str]:
    """What a layer is called: by its entry point, its distribution, and the title that answers carry."""
    names = {_plain(layer.name), _plain(layer.distribution)}
    if titled:
        from cropdata.catalog.layers import layer_name
        from cropdata.tabular.location import LAYER_FILE
        from cropdata.tabular.settings import read_settings

        path = os.path.join(layer.folder, LAYER_FILE)
        try:
            settings = read_settings(path) if os.path.isfile(path) else {}
            names.add(_plain(layer_name(str(settings["title"]))))
        except (CropdataError, KeyError, TypeError):
            pass  # told when the layer is read, unless it is left out
    return names


def _plain(name: str) -> str:
    return name.strip().casefold().replace("-", "_").replace(" ", "_").replace(".", "_")
