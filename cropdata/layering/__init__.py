"""A grower's layer on the way in and out: a folder to begin with, a spreadsheet and back."""

from cropdata.layering.beginning import begin_layer

__all__ = ["begin_layer"]
