"""One line of an archive's lists: the form that a line from elsewhere must have before any of it comes into a book."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

from dampkit.store.facts import Fact
from dampkit.store.papers import Paper
from dampkit.store.record import Day, Hash, Moment, Note, Photo
from dampkit.store.settings import Settings


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Said(Part):
    who: str
    serial: str | None
    job: str | None
    tested_on: Day
    added_at: Moment


class DrawingLine(Part):
    name: str
    sha256: Hash


class CardLine(Part):
    """A version of a card that entries name; of a bench the last one has its calibrations and daily checks."""

    kind: Literal["unit-type", "vehicle", "bench"]
    name: str
    version: int
    text: str
    why: str
    who: str
    added_at: Moment
    archive: str | None = None
    drawings: list[DrawingLine]
    papers: list[Paper] = []


class Line(Part):
    uid: Hash
    corrects: Hash | None
    said: Said
    log: Hash
    settings: Settings
    notes: list[Note]
    photos: list[Photo]
    facts: list[Fact] = []
    papers: list[Paper] = []
