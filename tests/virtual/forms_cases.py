"""The same made-up unit on the same programme, in every form of test that this half of the readers knows."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np

from dampkit.virtual.forms import FORMS, HEADS, SIGNS, Form, Written, crank_angle, one_file, rows_of
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import Log, Rig, run_bench
from dampkit.virtual.units import TWIN_TUBE

SPEEDS_M_S = (0.01, 0.05, 0.1, 0.2, 0.3, 0.5)
LADDER = Programme(tuple(Drive.at_speed(v, 2.0 if v < 0.02 else 4.0) for v in SPEEDS_M_S))
ON_A_CRANK = Programme(LADDER.drives, crank_ratio=0.25)
QUIET = Rig(sample_rate_hz=500.0, force_noise_n=0.5, temperature="none")
Sheets = dict[str, list[list[object]]]


@cache
def log_of(programme: Programme) -> Log:
    return run_bench([TWIN_TUBE], programme, QUIET, np.random.default_rng(11))[0]


def xlsx(sheets: Sheets) -> bytes:
    from openpyxl import Workbook

    book, out = Workbook(write_only=True), io.BytesIO()
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(out)
    return out.getvalue()


def xls(sheets: Sheets) -> bytes:
    import xlwt

    book, out = xlwt.Workbook(), io.BytesIO()
    for name, rows in sheets.items():
        sheet = book.add_sheet(name)
        for i, row in enumerate(rows):
            for k, cell in enumerate(row):
                sheet.write(i, k, cell)
    book.save(out)
    return out.getvalue()


def ods(sheets: Sheets) -> bytes:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book, out = OpenDocumentSpreadsheet(), io.BytesIO()
    for name, rows in sheets.items():
        table = Table(name=name)
        for row in rows:
            line = TableRow()
            for cell in row:
                kind = (
                    {"valuetype": "float", "value": str(cell)} if isinstance(cell, float) else {"valuetype": "string"}
                )
                box = TableCell(**kind)
                box.addElement(P(text=str(cell)))
                line.addElement(box)
            table.addElement(line)
        book.spreadsheet.addElement(table)
    book.write(out)
    return out.getvalue()


def _sheet(name: str, written: Callable[[Sheets], bytes], sheets: int, bench: str = SIGNS) -> Form:
    def form(log: Log, programme: Programme) -> Written:
        rows: list[list[object]] = [["made-up data", "", ""], [*HEADS]]
        rows += [[*row] for row in rows_of(log)]
        some: Sheets = {"Run 1": rows, "Notes": [["tested by hand", "no"]], "Run 2": rows[:2000]}
        return Written({name: written({title: some[title] for title in list(some)[:sheets]})}, bench)

    return form


ALL_FORMS: dict[str, tuple[Form, Programme]] = {
    **{name: (form, LADDER) for name, form in FORMS.items()},
    "one file, slider-crank": (one_file, ON_A_CRANK),
    "slider-crank angle": (crank_angle, ON_A_CRANK),
    "xlsx": (_sheet("run.xlsx", xlsx, 2), LADDER),
    "xlsx, sheet told": (_sheet("run.xlsx", xlsx, 3, SIGNS + '\n[log]\nsheet = "run 1"\n'), LADDER),
    "xls": (_sheet("run.xls", xls, 2), LADDER),
    "ods": (_sheet("run.ods", ods, 1), LADDER),
}


def write(folder: Path, name: str) -> tuple[list[Path], Path]:
    form, programme = ALL_FORMS[name]
    written = form(log_of(programme), programme)
    paths = [folder / file for file in written.files]
    for path, data in zip(paths, written.files.values(), strict=True):
        path.write_bytes(data)
    bench = folder / "bench.toml"
    bench.write_text(written.bench, encoding="utf-8")
    return paths, bench
