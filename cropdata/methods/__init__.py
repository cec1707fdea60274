"""The ways of starting a crop beside each other: what each takes, what trials found, what is not known. No verdict."""

from cropdata.methods.comparing import compare
from cropdata.methods.comparison import Comparison, Fit, Option

__all__ = ["Comparison", "Fit", "Option", "compare"]
