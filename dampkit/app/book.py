"""`dampkit book`: the commands of the job book, of the library and of the workshop in it."""

from __future__ import annotations

from dampkit.app import book_read, book_statistics, book_write
from dampkit.app.bench_commands import with_records
from dampkit.app.commands import group_of_commands
from dampkit.app.shelf import shelf, workshop

ORDER = ("add", "amend", "note", "list", "find", "show", "history", "export", "import", "check", "backup", "work", "statistics", "sign")  # fmt: skip

app = group_of_commands()
_made = [one for part in (book_write, book_read, book_statistics) for one in part.app.registered_commands]
app.registered_commands = sorted(_made, key=lambda one: ORDER.index(one.name or ""))
for _kind in ("unit-type", "vehicle", "stock"):
    app.add_typer(shelf(_kind), name=_kind)
app.add_typer(with_records(shelf("bench")), name="bench")
app.add_typer(workshop, name="workshop")
