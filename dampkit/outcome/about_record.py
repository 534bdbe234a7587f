"""What was said of a test beside its files, as its result keeps it."""

from typing import Annotated

from dampkit.bench.described import described
from dampkit.outcome.record import Record


class AboutRecord(Record):
    """What was said of this one test beside its files, and the check of it by a second person."""

    job: Annotated[str | None, described("Name or number of the job.", "blue estate, rear")] = None
    tested_on: Annotated[str | None, described("Day of the test, ISO 8601.", "2024-05-31")] = None
    tested_at: Annotated[str | None, described("Time of the test, on the workshop's clock.", "14:05")] = None
    by: Annotated[str | None, described("Who tested it.", "made-up fitter")] = None
    customer: Annotated[str | None, described("Whose unit it is, by name or number.", "customer 77")] = None
    vehicle: Annotated[str | None, described("The vehicle's name in the workshop's library.", "blue estate")] = None
    unit_type: Annotated[str | None, described("The unit's type in the workshop's library.", "12-34")] = None
    bench: Annotated[str | None, described("The bench's name in the workshop's library.", "bench 1")] = None
    checked_by: Annotated[str | None, described("The second person, who checked it.", "made-up foreman")] = None
    checked_on: Annotated[str | None, described("Day of that check, ISO 8601.", "2024-06-01")] = None
    check_note: Annotated[str | None, described("What the second person wrote.", "serial read again")] = None
    check_stands: Annotated[bool | None, described(
        "False where something was put right after the check, so that it was signed before the change.", True)] = None  # fmt: skip
    check_imported: Annotated[bool | None, described("True where the test came in with this check.", True)] = None
    imported_from: Annotated[str | None, described(
        "The archive that the test came from; null of one that was made here.", "other-book.zip")] = None  # fmt: skip
    verdict_here: Annotated[str | None, described(
        "Of a test that came in: the verdict that its records gave here.", "rebuild")] = None  # fmt: skip
