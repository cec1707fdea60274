"""Opening the catalog as the options of a command say, and telling what a user should know of its layers."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from typing import Any

from cropdata.catalog import Catalog, Crop, open_catalog
from cropdata.errors import CropdataError, InputError, UnknownCropError


def add_layer_options(parser: ArgumentParser) -> None:
    """The options of every command that looks crops up."""
    parser.add_argument("--layer", action="append", default=[], metavar="DIR", help="lay a folder of your own rows over the release; may be repeated")  # fmt: skip
    parser.add_argument("--no-layer", action="append", default=[], metavar="NAME", help="leave out an installed layer (cropdata layer list), or all of them: all")  # fmt: skip


def opened(options: Namespace) -> Catalog:
    """The catalog with the layers asked for. Notes on them, and those that nobody named, go to standard error."""
    catalog = open_catalog(layers=options.layer, without=options.no_layer)
    brought = [f"laid over the release: {layer.label()}" for layer in catalog.layers if layer.origin]
    for note in (*brought, *catalog.notes):
        print(f"cropdata {options.command}: {note}", file=sys.stderr)
    return catalog


def crop_named(catalog: Catalog, words: Sequence[str]) -> Crop:
    """The one crop of that name, of one word or several. Raises InputError where the words are several crops."""
    try:
        return catalog.crop(" ".join(words))
    except UnknownCropError:
        try:
            several = [catalog.crop(word).id for word in words]
        except CropdataError:
            several = []
        if len(several) < 2:
            raise
    raise InputError(f"{' and '.join(several)} are different crops: name one at a time")


def layer_objects(catalog: Catalog) -> list[dict[str, Any]]:
    """The layers in use, lowest first, for JSON."""
    return [
        {"name": layer.name, "title": layer.title, "author": layer.author or None, "made_for": layer.made_for or None,
         "folder": layer.folder, "origin": layer.origin or None}
        for layer in catalog.layers
    ]  # fmt: skip
