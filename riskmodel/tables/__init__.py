"""Tables as they lie in files: CSV, xlsx, Parquet, read cell by cell without guessing what a cell means."""

from riskmodel.tables.cells import Cell, as_text
from riskmodel.tables.model import RawTable
from riskmodel.tables.reader import read
from riskmodel.tables.writer import write_csv

__all__ = ["Cell", "RawTable", "as_text", "read", "write_csv"]
