"""The job sheet: before the work the instruction that hangs beside the stand, after it the record."""

from wheelsim.report.sheet.content import Sheet as Sheet
from wheelsim.report.sheet.content import sheet_of as sheet_of
from wheelsim.report.sheet.write import PAPERS as PAPERS
from wheelsim.report.sheet.write import write_sheet as write_sheet
