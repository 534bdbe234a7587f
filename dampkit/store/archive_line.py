"""One line of an archive's list: the form that a line from elsewhere must have before any of it comes into a book."""

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

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
    name: Literal["serial", "job", "tested_on", "tested_at", "customer", "technician", "unit_type", "vehicle", "bench"]
    value: str
    why: str
    who: str
    added_at: Moment


class Line(Part):
    uid: Hash
    corrects: Hash | None
    said: Said
    log: Hash
    settings: SettingsLine
    notes: list[NoteLine]
    photos: list[PhotoLine]
    facts: list[FactLine] = []
