"""The door: raw tables and case files in, checked cases out, with everything that is wrong said at once."""

from riskmodel.cases.casefile import CaseFile, from_case_file, from_mapping, read_case_file
from riskmodel.cases.door import check
from riskmodel.cases.table import CaseTable, Column, State, column

__all__ = [
    "CaseFile",
    "CaseTable",
    "Column",
    "State",
    "check",
    "column",
    "from_case_file",
    "from_mapping",
    "read_case_file",
]
