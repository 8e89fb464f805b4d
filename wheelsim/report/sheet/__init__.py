"""Sheets of paper: one content, written as PDF or as HTML that prints."""

from wheelsim.report.sheet.blocks import A4, PAPERS, Document, Paper
from wheelsim.report.sheet.job import job_sheet
from wheelsim.report.sheet.write import SheetError, check_place, write_sheet

__all__ = ["A4", "PAPERS", "Document", "Paper", "SheetError", "check_place", "job_sheet", "write_sheet"]
