"""`dampkit book bench calibrate|check|record`: the bench's own record, beside the four commands of its card."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.options import Book, Day, Who

Name = Annotated[str, typer.Argument(metavar="NAME", help="The bench's name in the library.", show_default=False)]


def with_records(app: typer.Typer) -> typer.Typer:
    """The commands of a bench's card and of its record."""

    @app.command("calibrate", epilog="Example: dampkit book bench calibrate 'bench 1' CALIBRATION.toml")
    def calibrate(
        name: Name,
        file: Annotated[Path, typer.Argument(metavar="FILE.toml", help="Readings against weights and gauges.")],
        who: Who = None,
        book: Book = None,
    ) -> None:
        """Keep a calibration: what the bench read against known weights, places and temperatures.

        What it leaves uncertain follows every test that names the bench with --on.
        """
        from dampkit.app import bench_work as work

        work.calibrate(name, file, who, book)

    @app.command("check", epilog="Example: dampkit book bench check 'bench 1' MASTER.csv --type master --serial M-1")
    def check(
        name: Name,
        runs: Annotated[list[Path], typer.Argument(metavar="RUN...", help="The master damper's test.")],
        unit_type: Annotated[str, typer.Option("--type", metavar="NAME", help="The master damper's type.")],
        serial: Annotated[str, typer.Option(metavar="SERIAL", help="The master damper's serial.")],
        date: Day = None,
        who: Who = None,
        book: Book = None,
    ) -> None:
        """Keep a daily check: the workshop's master damper, held against the reference of its type."""
        from dampkit.app import bench_work as work

        work.check(name, runs, work.Master(unit_type, serial), (date, who), book)

    @app.command("record", epilog="Example: dampkit book bench record 'bench 1' --page BENCH1.html")
    def record(
        name: Name,
        date: Day = None,
        page: Annotated[
            Path | None, typer.Option(metavar="OUT.html", help="The same as a page, with the drift.")
        ] = None,
        book: Book = None,
    ) -> None:
        """Say whether a bench may be believed on a day, and how it has drifted."""
        from dampkit.app import bench_work as work

        work.record(name, date, page, book)

    return app
