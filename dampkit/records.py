"""What comes in and goes out from Python: records of a test, stored results, pages, the job book. (All imported late.)"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dampkit.job import Source as Declared

if TYPE_CHECKING:
    from dampkit.bench.declared import BenchSpec
    from dampkit.bench.given import Source
    from dampkit.bench.run import Run
    from dampkit.bench.test import Test
    from dampkit.outcome.result import Result
    from dampkit.store.book import Book


def read_run(source: Source, bench: BenchSpec | Declared = None, *, name: str | None = None) -> Run:
    """A bench log in SI and the package's signs: displacement and velocity positive in extension, force in tension.

    Parameters
    ----------
    source
        A path; bytes or an open file (text of any delimiter, the same gzipped, a spreadsheet, JSON rows); a DataFrame;
        a mapping of headings to arrays of shape (rows,); an array with named fields, or of shape (rows, columns) with
        `[columns]` declared as `column 1` and so on. Headings and units are understood as in a file: `time_s`,
        `displacement_mm`, `force_n`, `Kraft [kN]`. An index of a DataFrame is a column where it has a
        name or is of times; datetimes are times.
    bench
        How the bench writes: a bench.toml, its content as a mapping, or a model read from it.
    name
        What to call a record that has no file.

    Returns
    -------
    Run
        SI. Read-only arrays of shape (rows used,): `time_s`, `displacement_m`, `force_n`, and where the record has them
        `measured_velocity_m_s`, `temperature_c`; `quality` is what was noticed, `history` what was done. Nothing of
        what was given is changed or kept. `sha256` is that of the file's bytes; of columns it is that of their
        headings and values: for each column the heading in UTF-8, a zero byte, the number of rows in digits, a line
        feed, then each number as 8 bytes (binary64, little-endian, 0x7ff8000000000000 where there is none) or each text
        in UTF-8 with a zero byte after it. So a DataFrame and a mapping of the same columns have the same.

    Raises
    ------
    UnreadableLog
        Naming line and column. Of columns in memory it is a `DataError`, which names the row, counted from 0.
    BadSettings
        Where the bench file cannot be used, or what was given is no record.

    Notes
    -----
    Source: own; the same checks and limits as for a file (`dampkit.bench`).

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(0.0, 6.0, 0.002)
    >>> x = 25.0 * np.sin(2 * np.pi * 1.5 * t)
    >>> f = 900.0 * np.sign(np.cos(2 * np.pi * 1.5 * t)) * np.abs(np.cos(2 * np.pi * 1.5 * t)) ** 1.5
    >>> signs = {"force_positive": "tension", "displacement_positive": "extension"}
    >>> run = dampkit.read_run({"time_s": t, "displacement_mm": x, "force_n": f}, bench={"signs": signs})
    >>> run.rows_used, bool(np.array_equal(run.force_n, f))
    (3000, True)
    """
    from dampkit.bench.test import read_run as read

    return read(source, bench, name=name)


def read_test(
    sources: Sequence[Source], bench: BenchSpec | Declared = None, *, names: Sequence[str] | None = None
) -> Test:
    """One test of one unit in one or several records, in the order given: a log, a file a speed, a table, a test by hand.

    Parameters
    ----------
    sources
        Each as `read_run` takes it.
    bench
        As in `read_run`, the same for all.
    names
        What to call the records, one for each; else their files' names.

    Returns
    -------
    Test
        `runs` of logs and loops, or `points` of tables and tests by hand (speeds in m/s, forces in N, positive
        magnitudes); one of the two is empty. To be given to `analyse`.

    Raises
    ------
    UnreadableLog, BadSettings
        As `read_run`; and where the same record is given twice, or the records are of different forms.

    Notes
    -----
    Source: own.

    Examples
    --------
    >>> table = {"velocity m/s": [0.05, 0.1, 0.3, 0.6], "rebound N": [180, 420, 980, 1400], "compression N": [150, 300, 520, 700]}
    >>> test = dampkit.read_test([table], names=["drawing 7"])
    >>> test.points[0].rebound.force_n.tolist()
    [180.0, 420.0, 980.0, 1400.0]
    """
    from dampkit.bench.test import read_test as read

    return read(sources, bench, names=names)


def load_result(source: str | PathLike[str] | Mapping[str, Any]) -> Result:
    """A result that was stored, as if it had just been worked out.

    Parameters
    ----------
    source
        A file as `dampkit analyse --json` writes it, or as a batch keeps it; or what `to_dict()` gave.

    Returns
    -------
    Result
        As `analyse` gives it. SI.

    Raises
    ------
    BadSettings
        Where it is no result, naming the first key that is wrong.

    Notes
    -----
    Source: own.

    Examples
    --------
    >>> result = dampkit.analyse(dampkit.read_test(["sample_runs/drawing_table.csv"]))
    >>> dampkit.load_result(result.to_dict()) == result
    True
    """
    from dampkit.report.page import checked, stored_result

    return checked(dict(source)) if isinstance(source, Mapping) else stored_result(Path(source))


def write_report(result: Result | dict[str, Any], path: str | PathLike[str], imperial: bool = False) -> None:
    """One self-contained HTML page that opens offline, written whole or not at all.

    Parameters
    ----------
    result
        As `analyse` gives it, or what its `to_dict()` gave.
    path
        Where to write it.
    imperial
        Pounds and inches beside SI.

    Raises
    ------
    BadSettings
        Where the place cannot be written to, or it is no result.

    Notes
    -----
    Source: the page prints those of its figures.

    Examples
    --------
    >>> result = dampkit.analyse(dampkit.read_test(["sample_runs/drawing_table.csv"]))
    >>> dampkit.write_report(result, "table.html")
    """
    from dampkit.report.document import Look
    from dampkit.report.page import write_report as write

    write(result, Path(path), Look(imperial))


def open_book(place: str | PathLike[str] | None = None, *, create: bool = False) -> AbstractContextManager[Book]:
    """The job book, open for as long as the `with` block lasts.

    Parameters
    ----------
    place
        The file; None for the usual one, or the one that the variable DAMPKIT_BOOK of the environment names.
    create
        Make an empty one where there is none.

    Returns
    -------
    context manager of Book
        `entry`, `result`, `records`, `notes`, `measures` of an entry by its number (values as they were stored, SI).
        `load_result(book.result(1))` is a Result again.

    Raises
    ------
    UnusableBook
        Where the file cannot be read, or is no book.
    BadSettings
        Where there is none, and `create` is not given.

    Notes
    -----
    Source: own.

    Examples
    --------
    >>> with dampkit.open_book("jobs.sqlite", create=True) as book:
    ...     book.place.name
    'jobs.sqlite'
    """
    from dampkit.store.book import book_at
    from dampkit.store.place import default_place

    return book_at(default_place() if place is None else Path(place), create)
