"""Checks of a package, a layer or a single table: files, tables, relations, plausibility; one report."""

from cropdata.validation.checking import check
from cropdata.validation.report import Finding, Report

__all__ = ["Finding", "Report", "check"]
