"""One line of an archive's list: the form that a line from elsewhere must have before any of it comes into a book."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from dampkit.store.facts import NAMES

Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


def _day(text: str) -> str:
    """ValueError for anything but a date as 2024-05-31."""
    try:
        if date.fromisoformat(text).isoformat() == text:
            return text
    except ValueError:
        pass
    raise ValueError("expected a date such as 2024-05-31")


def _moment(text: str) -> str:
    """ValueError for anything but a moment in the same standard form."""
    datetime.fromisoformat(text)
    return text


def _fact(name: str) -> str:
    if name not in NAMES:
        raise ValueError("no name of a fact")
    return name


Day = Annotated[str, AfterValidator(_day)]
Moment = Annotated[str, AfterValidator(_moment)]


class Part(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class Said(Part):
    who: str
    serial: str | None
    job: str | None
    tested_on: Day
    added_at: Moment


class SettingsLine(Part):
    bench: str | None
    damper: str | None
    vehicle: str | None
    inspection: str | None = None
    costs: str | None = None
    stock: str | None = None


class NoteLine(Part):
    text: str
    who: str
    added_at: Moment


class PhotoLine(Part):
    name: str
    sha256: Hash
    path: str | None
    who: str
    added_at: Moment


class FactLine(Part):
    name: Annotated[str, AfterValidator(_fact)]
    value: str
    why: str
    who: str
    added_at: Moment


class PaperLine(Part):
    kind: Literal["strip-down", "second-check", "calibration", "daily-check"]
    text: str
    done_on: Day
    who: str
    added_at: Moment
    archive: str | None = None


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
    papers: list[PaperLine] = []


class Line(Part):
    uid: Hash
    corrects: Hash | None
    said: Said
    log: Hash
    settings: SettingsLine
    notes: list[NoteLine]
    photos: list[PhotoLine]
    facts: list[FactLine] = []
    papers: list[PaperLine] = []
