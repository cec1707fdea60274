"""Opens the data package and the layers over it: look-up, search, tables, provenance."""

from cropdata.catalog.catalog import Catalog, open_catalog
from cropdata.catalog.crop import HEADLINE, Crop
from cropdata.catalog.records import Estimate, GerminationTemperature, Range, Source

__all__ = [
    "HEADLINE",
    "Catalog",
    "Crop",
    "Estimate",
    "GerminationTemperature",
    "Range",
    "Source",
    "open_catalog",
]
