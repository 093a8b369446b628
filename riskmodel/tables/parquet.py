"""Parquet, where pyarrow is installed."""

from pathlib import Path

from riskmodel.errors import TableRefused
from riskmodel.tables.gather import fault, table
from riskmodel.tables.model import MOST_ROWS, RawTable


def read_parquet(path: Path) -> RawTable | None:
    """The table of a Parquet file; row 1 is its header, as if it were a sheet.

    Raises
    ------
    TableRefused
        When pyarrow is not installed, the file is damaged, or it has more than 100,000 rows.
    """
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        accepted = "CSV or xlsx, or an install with the extra riskmodel[parquet]"
        raise TableRefused([fault(path.stem, None, "a Parquet file", accepted, "no_parquet")]) from None
    try:
        with parquet.ParquetFile(path) as file:
            if file.metadata.num_rows > MOST_ROWS:
                found = f"{file.metadata.num_rows} rows"
                raise TableRefused([fault(path.stem, None, found, "at most 100,000 rows", "too_many_rows")])
            held = file.read()
    except pyarrow.ArrowException:
        raise TableRefused([fault(path.stem, None, "a damaged file", "a Parquet file", "not_parquet")]) from None
    columns = [column.to_pylist() for column in held.columns]
    records = enumerate([held.column_names, *zip(*columns, strict=True)], start=1)
    return table(path.stem, records, ragged=False)
