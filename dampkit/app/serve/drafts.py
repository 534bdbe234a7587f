"""Pieces of work that are not in the book yet: each a private folder on disk, so that no reload and no stop loses one."""

from __future__ import annotations

import hashlib
import json
import os
import re
import secrets
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, field, replace
from pathlib import Path
from tempfile import mkdtemp
from threading import RLock
from typing import IO, Any

from dampkit.bench.gate import LOG, Limit
from dampkit.errors import BadSettings, DampkitError, printable
from dampkit.files import onto_disk, whole_file
from dampkit.frozen import frozen
from dampkit.store.content import plain_json, sha256_of
from dampkit.store.library import CardKind
from dampkit.store.record import now

ID = re.compile(r"[0-9a-f]{32}")
PIECE = 1 << 20
MOST_LETTERS = 200  # of a file's name
MOST_RECORDS, MOST_PHOTOS = 50, 20  # of one test
MOST_KEPT = 10
WORKS = Limit("DAMPKIT_MOST_PIECES_OF_WORK", 200, "pieces of work that are not in the book")
PHOTO = Limit("DAMPKIT_MOST_PHOTO_BYTES", 2**25, "bytes of a photo")
STATE, USUAL = "work.json", "usual.json"


@frozen
class Kept:
    """A file of the work: the name it came with, which is a label only, and its hash, by which it lies in the folder."""

    label: str
    sha256: str
    size_bytes: int


@frozen
class Draft:
    """`base` holds TOML texts by kind of file, `filled` what was typed over them by field, `cards` where a text is from."""

    id: str
    made_at: str
    changed_at: str
    records: tuple[Kept, ...] = ()
    photos: tuple[Kept, ...] = ()
    base: Mapping[str, str] = field(default_factory=dict)
    filled: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    cards: Mapping[str, str] = field(default_factory=dict)  # kind of card -> its name
    said: Mapping[str, str] = field(default_factory=dict)  # serial, job, customer ... as typed
    entry: int | None = None  # of the book, once it is kept

    @property
    def title(self) -> str:
        names = ", ".join(record.label for record in self.records[:3])
        more = len(self.records) - 3
        return (f"{names} and {more} more" if more > 0 else names) or "no record yet"

    def with_filled(self, kind: str, values: Mapping[str, str]) -> Draft:
        """Typed over what stands there; what is not named stays."""
        return replace(self, filled={**self.filled, kind: {**self.filled.get(kind, {}), **values}})

    def with_base(self, kind: str, text: str, card: tuple[str, str] | None = None) -> Draft:
        """A text in the place of what stood there and was typed; `card` is its kind and name, where it is one."""
        cards = {k: v for k, v in self.cards.items() if k != CARD_OF.get(kind)}
        filled = {k: v for k, v in self.filled.items() if k != kind}
        return replace(
            self, base={**self.base, kind: text}, filled=filled, cards={**cards, **dict([card] if card else [])}
        )


CARD_OF: dict[str, CardKind] = {"damper": "unit-type", "vehicle": "vehicle", "bench": "bench", "stock": "stock"}


class Drafts:
    """The folder of all of them. Every change is written whole before anybody sees it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = RLock()
        self._fresh: dict[str, Draft] = {}  # given out, and not on the disk before they hold something
        _private(folder)

    def all(self) -> tuple[Draft, ...]:
        """Those that are not in the book, latest change first."""
        return tuple(draft for draft in self._held() if draft.entry is None)

    def drop_kept(self) -> None:
        """Of those that are in the book only the latest stay, for a browser that sends one twice."""
        for draft in [draft for draft in self._held() if draft.entry is not None][MOST_KEPT:]:
            self.remove(draft.id)

    def _held(self) -> list[Draft]:
        found = [self._read(place) for place in self.folder.iterdir() if ID.fullmatch(place.name)]
        return sorted((draft for draft in found if draft is not None), key=lambda one: one.changed_at, reverse=True)

    def new(self) -> Draft:
        """One that is there for others from its first change on. Raises BadSettings where there are too many."""
        with self._lock:
            if len(self.all()) + len(self._fresh) >= WORKS.most:
                found = f"more than {WORKS.most} {WORKS.what}"
                raise BadSettings(
                    "the start page", found, "fewer", "keep them in the book, or remove what is not wanted"
                )
            draft = Draft(secrets.token_hex(16), now(), now(), base=self.usual())
            _private(self.folder / draft.id)
            self._fresh[draft.id] = draft
            return draft

    @contextmanager
    def begun(self) -> Iterator[Draft]:
        """A new one; removed again where what it begins with cannot be used. Raises as `new`."""
        draft = self.new()
        try:
            yield draft
        except DampkitError:
            self.remove(draft.id)
            raise

    def get(self, number: str) -> Draft | None:
        """None for an id that was never given out, or whose work was removed."""
        return self._read(self.folder / number) if ID.fullmatch(number) else None

    def change(self, number: str, how: Callable[[Draft], Draft]) -> Draft | None:
        """The draft as `how` changes it, written; None where it is gone."""
        with self._lock:
            draft = self._fresh.get(number) or self.get(number)
            if draft is None:
                return None
            changed = self._written(replace(how(draft), changed_at=now()))
            self._fresh.pop(number, None)
            return changed

    def usual(self) -> dict[str, str]:
        """What is the same for every test of this workshop, as it was last said: what work costs."""
        try:
            held: dict[str, str] = json.loads((self.folder / USUAL).read_text(encoding="utf-8"))
            return held
        except (OSError, ValueError):
            return {}

    def keep_usual(self, file: str, text: str) -> None:
        with self._lock:
            kept = {**self.usual(), file: text}
            _write(self.folder / USUAL, {name: text for name, text in kept.items() if text}, lasting=True)

    def remove(self, number: str) -> None:
        if ID.fullmatch(number):
            with self._lock:
                self._fresh.pop(number, None)
                (self.folder / number / STATE).unlink(missing_ok=True)  # first, so that half of it is never seen
                shutil.rmtree(self.folder / number, ignore_errors=True)

    def tidy(self) -> None:
        """Remove what is in the book, and what a stop in the middle left behind; while nobody else works here."""
        for place in self.folder.iterdir():
            if place.name.startswith("."):
                shutil.rmtree(place) if place.is_dir() else place.unlink()
            elif ID.fullmatch(place.name):
                self._tidy_one(place)

    def _tidy_one(self, place: Path) -> None:
        draft = self._read(place)
        if draft.entry is not None if draft else not (place / STATE).exists():
            self.remove(place.name)
        for left in place.glob(".*"):
            left.unlink()

    def take(self, draft: Draft, label: str, source: IO[bytes], limit: Limit = LOG) -> Kept:
        """Copy a file into the work, under its hash. Raises BadSettings where there is too much of it, or nothing."""
        name = printable(label.replace("\\", "/").rpartition("/")[2]).strip()[:MOST_LETTERS] or "without a name"
        place = self.folder / draft.id / f".{secrets.token_hex(8)}"
        try:
            sha256, size = _copied(source, place, Limited(name, limit))
            onto_disk(place)
            place.replace(self.folder / draft.id / sha256)
        finally:
            place.unlink(missing_ok=True)
        return Kept(name, sha256, size)

    def aside(self) -> Path:
        """A new folder for what is only on its way; removed at the next start where nobody else did."""
        return Path(mkdtemp(prefix=".aside-", dir=self.folder))

    def place(self, draft: Draft, kept: Kept) -> Path:
        """Where a file of the work lies; made of hashes alone, never of a name that came from outside."""
        return self.folder / draft.id / kept.sha256

    def derived(self, draft: Draft, what: str, key: str) -> Any:
        """What was worked out from the very same input; None where it was not, or is out of date."""
        try:
            held = json.loads((self.folder / draft.id / f"{what}.json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        return held["is"] if held.get("key") == key else None

    def keep_derived(self, draft: Draft, what: str, key: str, value: Any) -> None:
        """Nothing where the work was removed meanwhile."""
        folder = self.folder / draft.id
        try:
            _write(folder / f"{what}.json", {"key": key, "is": value})
        except BadSettings:
            if folder.is_dir():
                raise

    def _written(self, draft: Draft) -> Draft:
        _write(self.folder / draft.id / STATE, asdict(draft), lasting=True)
        return draft

    def _read(self, place: Path) -> Draft | None:
        try:
            raw = json.loads((place / STATE).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        files = {name: tuple(Kept(**one) for one in raw[name]) for name in ("records", "photos")}
        return Draft(**{**raw, **files})


def input_key(*parts: Any) -> str:
    """The same for the same input."""
    return sha256_of(plain_json(parts))


@frozen
class Limited:
    """How an error names a file, and how much of it there may be."""

    name: str
    limit: Limit


def _copied(source: IO[bytes], place: Path, how: Limited) -> tuple[str, int]:
    """Hash and size of what was copied. Raises BadSettings where there is too much of it, or nothing."""
    digest, size = hashlib.sha256(), 0
    with open(place, "xb") as file:
        while piece := source.read(PIECE):
            size += len(piece)
            if size > how.limit.most:
                found = f"more than {how.limit.most} {how.limit.what}"
                raise BadSettings(how.name, found, "less", how.limit.do())
            digest.update(piece)
            file.write(piece)
    if not size:
        raise BadSettings(how.name, "the file is empty", "a file with something in it", "choose another")
    return digest.hexdigest(), size


def _write(place: Path, value: Any, *, lasting: bool = False) -> None:
    """Whole or not at all; a lasting one outlives the machine's being switched off, too."""
    with whole_file(place, private=True) as draft:
        draft.write_text(json.dumps(value), encoding="utf-8")
        if lasting:
            onto_disk(draft)


def _private(folder: Path) -> None:
    """A folder that is its owner's alone, where the system knows owners."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if os.name != "nt":
        folder.chmod(0o700)
