"""Checks of a package, a layer or a single table: files, tables, relations, plausibility; one report."""

from cropdata.validation.report import Finding, Report
from cropdata.validation.subjects import check

__all__ = ["Finding", "Report", "check"]
