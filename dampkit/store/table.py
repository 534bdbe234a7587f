"""Results as a table: CSV that a spreadsheet opens without running anything, and Parquet."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import Any, Literal

from dampkit.errors import BadSettings
from dampkit.files import whole_file
from dampkit.quantities import Estimate
from dampkit.store.measures import MEASURES

Kind = Literal["text", "number", "count"]
Row = Mapping[str, Any]
CHUNK = 5000

# = + - @ at the start of a cell, plain or full-width, also where a spreadsheet may cut the cell at a separator in it
FORMULA = re.compile(r"""((?:^|[;|\t\r\n])[\s"']*)(?=[=+\-@＝＋－＠])""")


def measure_columns() -> dict[str, Kind]:
    """A value with the ends of its 95 % interval for every number that is followed."""
    return {f"{name}{end}": "number" for name in MEASURES for end in ("", "_low", "_high")}


def safe_cell(value: Any) -> Any:
    """Text that a spreadsheet shows as text: an apostrophe stands before anything that it would read as a formula.

    Numbers stay numbers, None becomes an empty cell. Source: the four characters and the separators are those of the
    OWASP page on CSV injection (from memory); the full-width forms and the cut inside a cell are common practice.
    """
    if value is None:
        return ""
    if not isinstance(value, str):
        return value
    return FORMULA.sub(r"\1'", value.replace("\x00", ""))


def numbers(measures: Iterable[tuple[str, Estimate]]) -> Row:
    """The cells of `measure_columns`; those that are not established are left out."""
    return {
        f"{name}{end}": value
        for name, found in measures
        for end, value in (("", found.value), ("_low", found.low), ("_high", found.high))
    }


def check_kind(place: Path, *others: str) -> None:
    """Raises BadSettings where the ending is no table's, and none of the others."""
    kinds = (*others, *WRITERS)
    if place.suffix not in kinds:
        expected = f"a name that ends in {', '.join(kinds[:-1])} or {kinds[-1]}"
        raise BadSettings(str(place), f"found the ending {place.suffix!r}", expected, "choose one of them")


def write_table(place: Path, columns: Mapping[str, Kind], rows: Iterable[Row]) -> None:
    """CSV or Parquet, by the ending. Raises as `check_kind` and as the two."""
    check_kind(place)
    WRITERS[place.suffix](place, columns, rows)


def write_csv(place: Path, columns: Iterable[str], rows: Iterable[Row]) -> None:
    """UTF-8 with its mark, comma, decimal point. Raises BadSettings where the place cannot be written to."""
    names = list(columns)
    with (
        whole_file(place, make_folder=True) as draft,
        draft.open("w", encoding="utf-8-sig", newline="", errors="replace") as file,
    ):
        writer = csv.writer(file, quoting=csv.QUOTE_MINIMAL, lineterminator="\r\n")
        writer.writerow(names)
        writer.writerows([safe_cell(row.get(name)) for name in names] for row in rows)


def write_parquet(place: Path, columns: Mapping[str, Kind], rows: Iterable[Row]) -> None:
    """One column a name, text as it is. Raises BadSettings where the place cannot be written to."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    types = {"text": pa.string(), "number": pa.float64(), "count": pa.int64()}
    schema = pa.schema([(name, types[kind]) for name, kind in columns.items()])
    with whole_file(place, make_folder=True) as draft, pq.ParquetWriter(draft, schema) as writer:
        for some in _chunks(rows):
            writer.write_table(
                pa.Table.from_pylist([{name: row.get(name) for name in columns} for row in some], schema)
            )


def _chunks(rows: Iterable[Row]) -> Iterator[list[Row]]:
    left = iter(rows)
    while some := list(islice(left, CHUNK)):
        yield some


WRITERS: dict[str, Callable[[Path, Mapping[str, Kind], Iterable[Row]], None]] = {
    ".csv": write_csv,
    ".parquet": write_parquet,
}
