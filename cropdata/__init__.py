"""Cited, validated figures for raising crops from seed, and answers computed from them.

>>> import cropdata
>>> db = cropdata.open()
>>> db.crop("tomato").seed_longevity.unit
'years'

Nothing heavy is imported here: numpy, pandas, scipy, yaml, frictionless and pandera come in when a call needs
them. The names below are the public interface.
"""

from __future__ import annotations

__version__ = "0.1.0"

TYPE_CHECKING = False
if TYPE_CHECKING:
    from cropdata.catalog import Catalog as Catalog
    from cropdata.catalog import Crop as Crop
    from cropdata.catalog import Estimate as Estimate
    from cropdata.catalog import GerminationTemperature as GerminationTemperature
    from cropdata.catalog import Range as Range
    from cropdata.catalog import open_catalog as open
    from cropdata.errors import AmbiguousCropError as AmbiguousCropError
    from cropdata.errors import CropdataError as CropdataError
    from cropdata.errors import DataError as DataError
    from cropdata.errors import InputError as InputError
    from cropdata.errors import LayerError as LayerError
    from cropdata.errors import MissingExtraError as MissingExtraError
    from cropdata.errors import NoUsableEstimate as NoUsableEstimate
    from cropdata.errors import UnknownCropError as UnknownCropError
    from cropdata.season import plan_season as plan
    from cropdata.validation import check as check

# Public name -> (module, name there). Loaded on first use, then kept in this module.
_LAZY = {
    "open": ("cropdata.catalog", "open_catalog"),
    "Catalog": ("cropdata.catalog", "Catalog"),
    "Crop": ("cropdata.catalog", "Crop"),
    "Range": ("cropdata.catalog", "Range"),
    "Estimate": ("cropdata.catalog", "Estimate"),
    "GerminationTemperature": ("cropdata.catalog", "GerminationTemperature"),
    "check": ("cropdata.validation", "check"),
    "plan": ("cropdata.season", "plan_season"),
    **{
        name: ("cropdata.errors", name)
        for name in (
            "CropdataError",
            "UnknownCropError",
            "AmbiguousCropError",
            "InputError",
            "DataError",
            "LayerError",
            "MissingExtraError",
            "NoUsableEstimate",
        )
    },
}

__all__ = [
    "AmbiguousCropError",
    "Catalog",
    "Crop",
    "CropdataError",
    "DataError",
    "Estimate",
    "GerminationTemperature",
    "InputError",
    "LayerError",
    "MissingExtraError",
    "NoUsableEstimate",
    "Range",
    "UnknownCropError",
    "__version__",
    "check",
    "open",
    "plan",
]


def __getattr__(name: str) -> object:
    try:
        module_name, attribute = _LAZY[name]
    except KeyError:
        raise AttributeError(f"module 'cropdata' has no attribute {name!r}") from None
    import importlib

    value = getattr(importlib.import_module(module_name), attribute)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
