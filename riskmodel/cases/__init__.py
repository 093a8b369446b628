"""The door: raw tables and case files in, checked cases out, with everything that is wrong said at once."""

from riskmodel.cases.casefile import (
    CaseFile,
    check_mapping,
    from_case_file,
    from_mapping,
    parse_case_file,
    read_case_file,
)
from riskmodel.cases.door import check, with_missing
from riskmodel.cases.saving import case_file_text
from riskmodel.cases.table import CaseTable, Column, State, column

__all__ = [
    "CaseFile",
    "CaseTable",
    "Column",
    "State",
    "case_file_text",
    "check",
    "check_mapping",
    "column",
    "from_case_file",
    "from_mapping",
    "parse_case_file",
    "read_case_file",
    "with_missing",
]
