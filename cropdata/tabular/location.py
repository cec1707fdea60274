"""Where the data package lies.

An installed copy carries it inside the import package; a working tree has it beside the package. Both are
looked for beside `__file__`: `importlib.resources` would cost more time than the whole first look-up.
"""

from __future__ import annotations

import os

from cropdata.errors import DataError

DESCRIPTOR = "datapackage.json"
LAYER_FILE = "layer.yaml"
_PACKAGE_DIR = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))


def shipped_package() -> str:
    """Folder of the data package that belongs to this installation.

    Raises DataError when neither place holds one.
    """
    inside = os.path.join(_PACKAGE_DIR, "datapackage")
    beside = os.path.join(os.path.dirname(_PACKAGE_DIR), "datapackage")
    for folder in (inside, beside):
        if os.path.isfile(os.path.join(folder, DESCRIPTOR)):
            return folder
    raise DataError(f"no data package found in {inside} nor in {beside}; reinstall cropdata")


def package_folder(path: str | os.PathLike[str] | None) -> str:
    """Folder of the package at `path` (a folder or its descriptor), or of the shipped one for None."""
    if path is None:
        return shipped_package()
    text = os.fspath(path)
    folder = os.path.dirname(text) or "." if os.path.basename(text) == DESCRIPTOR else text
    if not os.path.isfile(os.path.join(folder, DESCRIPTOR)):
        raise DataError(f"{text}: no {DESCRIPTOR} there")
    return folder
