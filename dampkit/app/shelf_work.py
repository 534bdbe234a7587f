"""What the commands of the library do; the cards themselves are in `dampkit.store.library`."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from pathlib import Path

from dampkit.app.at_book import person, the_book
from dampkit.app.say import say
from dampkit.bench.toml_file import toml_text
from dampkit.files import check_free, folder_for, whole_file
from dampkit.report.plain import visible
from dampkit.store.book import read_bytes
from dampkit.store.content import pack
from dampkit.store.library import Card, CardKind, NewCard, add_card, card_of, cards, drawings_of, history_of

LINE = "{:<28}  {:>7}  {:<10}  {:<16}  {}"
Named = tuple[CardKind, str]


def add(named: Named, file: Path, drawings: Sequence[Path], said: tuple[str, str | None], book: Path | None) -> None:
    """Add a card from a TOML file; `said` is why and who."""
    text = toml_text(file)
    pictures = tuple((path.name, pack(read_bytes(path, "a drawing or photo"))) for path in drawings)
    with the_book(book, create=True) as opened:
        card, fresh = add_card(opened, NewCard(*named, text, person(said[1]), said[0], pictures))
    say(f"{card.kind} {card.title}: {'added' if fresh else 'is this very text already'} ({opened.place})")


def show(named: Named, version: int | None, drawings: Path | None, book: Path | None) -> None:
    """The text on standard output and nothing else; drawings into a folder."""
    with the_book(book) as opened:
        card = card_of(opened, *named, version)
        say(card.text, nl=not card.text.endswith("\n"))
        pictures = drawings_of(opened, card)
        say(f"{card.kind} {card.title}, {card.added_at[:10]} by {card.who}", err=True)
        for name, sha256 in pictures:
            say(f"  drawing {name}, sha256 {sha256}", err=True)
            if drawings is not None:
                _write(folder_for(drawings, "drawings") / Path(name).name, opened.content(sha256))


def list_all(kind: CardKind, book: Path | None) -> None:
    with the_book(book) as opened:
        found = cards(opened, kind)
    say(LINE.format("name", "version", "since", "by", "what changed"))
    for card in found:
        say(_line(card, card.name))
    say(f"{len(found)} in the library", err=True)


def history(kind: CardKind, name: str, book: Path | None) -> None:
    """Every version, with the lines that changed since the one before."""
    with the_book(book) as opened:
        versions = history_of(opened, kind, name)
    say(LINE.format("name", "version", "since", "by", "what changed"))
    before: list[str] = []
    for card in versions:
        say(_line(card, card.name))
        lines = card.text.splitlines()
        changed = list(difflib.unified_diff(before, lines, lineterm="", n=0))[2:] if before else []
        for line in changed:
            if not line.startswith("@@"):
                say(f"    {visible(line)}")
        before = lines


def _line(card: Card, name: str) -> str:
    return LINE.format(visible(name), card.version, card.added_at[:10], visible(card.who), visible(card.why)).rstrip()


def _write(place: Path, data: bytes) -> None:
    check_free(place)
    with whole_file(place) as draft:
        draft.write_bytes(data)
    say(f"written: {place}", err=True)
