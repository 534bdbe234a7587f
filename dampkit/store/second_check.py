"""The check of an entry by a second person, and the entry's result with all that stands of it now."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.outcome.about import today, with_about
from dampkit.outcome.about_record import AboutRecord
from dampkit.outcome.result import Result
from dampkit.store.book import Book
from dampkit.store.papers import EntryPaper, Paper, add_paper, papers_of

SECOND_CHECK: EntryPaper = "second-check"


@frozen
class SecondCheck:
    """`stands` is False where something was put right, or the entry corrected, after it was signed.

    `imported` is True where the entry came in with it.
    """

    by: str
    on: str
    note: str
    stands: bool
    imported: bool = False


class Signed(BaseModel):
    """What the paper says; `facts` is how many facts were said of the entry by then."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)

    by: str
    note: str
    facts: int


def sign(book: Book, number: int, by: str, note: str = "") -> SecondCheck:
    """Keep that a second person has checked an entry as it stands.

    Raises BadSettings where there is no such entry, a later one corrects it, or the person is the one who tested it.
    """
    entry, name = book.entry(number), " ".join(by.split())
    if not name:
        raise BadSettings("--by", "the name is empty", "the name of the second person", "give it")
    if entry.corrected_by is not None:
        found, do = f"entry {number} is corrected by entry {entry.corrected_by}", f"sign entry {entry.corrected_by}"
        raise BadSettings(str(book.place), found, "an entry that stands", do)
    tested = book.standing(number).get("technician") or entry.who
    if _same(tested, name):
        found = f"{name!r} made the test of entry {number}"
        raise BadSettings("--by", found, "a second person", "let somebody else look at it and sign")
    text = Signed(by=name, note=note, facts=len(book.facts(number))).model_dump_json()
    paper = Paper(SECOND_CHECK, text, today(), name)
    add_paper(book, number, paper)
    return SecondCheck(name, paper.done_on, note, stands=True)


def check_of_entry(book: Book, number: int) -> SecondCheck | None:
    """The latest check of an entry; None where nobody signed it. Raises BadSettings where there is no such entry."""
    entry = book.entry(number)
    papers = papers_of(book, number, SECOND_CHECK, last=True)
    if not papers:
        return None
    said = signed(papers[0])
    stands = entry.corrected_by is None and said.facts == len(book.facts(number))
    return SecondCheck(said.by, papers[0].done_on, said.note, stands, imported=papers[0].archive is not None)


def signed(paper: Paper) -> Signed:
    """Raises ValueError where it is something else."""
    return Signed.model_validate_json(paper.text)


def about_of(book: Book, number: int) -> AboutRecord:
    """All that stands of an entry now beside its result. Raises BadSettings where there is no such entry."""
    said, check, entry = book.standing(number), check_of_entry(book, number), book.entry(number)
    return AboutRecord(
        **{name: text for name, text in said.items() if name in AboutRecord.model_fields},
        by=said.get("technician") or entry.who,
        checked_by=check and check.by,
        checked_on=check and check.on,
        check_note=(check and check.note) or None,
        check_stands=check and check.stands,
        check_imported=(check and check.imported) or None,
        imported_from=entry.archive,
        verdict_here=entry.action_again,
    )


def as_it_stands(book: Book, number: int) -> Result:
    """The stored result with what stands now of its serial, job, customer and so on, and the second person's check.

    Raises BadSettings where there is no such entry.
    """
    about = about_of(book, number)
    return with_about(Result.read(book.result(number)), book.entry(number).serial, about)


def _same(one: str, other: str) -> bool:
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()
