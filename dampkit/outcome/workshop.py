"""workshop.toml: the workshop's name, address and mark, as they stand at the head of every page and sheet."""

import base64
from pathlib import Path
from typing import Annotated

from pydantic import AfterValidator, Field

from dampkit.bench.declared import Declared
from dampkit.bench.described import described
from dampkit.bench.gate import Limit, Wanted, check_size, file_bytes
from dampkit.bench.toml_file import from_text, toml_text
from dampkit.errors import BadSettings
from dampkit.frozen import frozen

# first bytes of a file -> what it is in a page; each by its own published specification
IMAGES = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
A_MARK = Wanted(
    "a PNG or JPEG picture of the workshop's mark", Limit("DAMPKIT_MOST_MARK_BYTES", 300_000, "bytes of a mark")
)
LINES, LETTERS = 5, 80  # of an address; own choice, so that the head of a page stays small


def _plain_name(text: str) -> str:
    if Path(text).name != text or "\\" in text:
        raise ValueError("the name of a file that lies beside this one, without a folder")
    return text


Line = Annotated[str, Field(min_length=1, max_length=LETTERS)]
Lines = Annotated[tuple[Line, ...], Field(strict=False, max_length=LINES)]


class Workshop(Declared):
    """Who stands behind the sheet."""

    name: Annotated[Line, described("Its name.", "Made-up Damper Works", "As it is to stand on paper.")]
    address: Annotated[Lines, described(
        "Its address, a line each.", ["1 Invented Street", "Nowhere"], "As it is to stand on paper.")] = ()  # fmt: skip
    contact: Annotated[Lines, described(
        "How to reach it, a line each.", ["phone 000 000"], "As it is to stand on paper.")] = ()  # fmt: skip
    mark: Annotated[Annotated[str, AfterValidator(_plain_name)] | None, described(
        "File of its mark, a PNG or JPEG beside this file.", "mark.png",
        "Save the drawing as PNG, about 400 points wide.")] = None  # fmt: skip


class WorkshopSpec(Declared):
    """A file with the workshop's name, address and mark."""

    workshop: Workshop


@frozen
class Letterhead:
    """What stands at the head of a page; `mark` is the picture itself, as a data address, None where there is none."""

    name: str
    address: tuple[str, ...] = ()
    contact: tuple[str, ...] = ()
    mark: str | None = None


def letterhead_from(file: Path) -> Letterhead:
    """Of a TOML file and the mark beside it. Raises BadSettings where either is unusable."""
    text = toml_text(file)
    return letterhead(text, mark_beside(file, text), str(file))


def mark_beside(file: Path, text: str) -> bytes | None:
    """The bytes of the mark that a workshop's file names, None where it names none. Raises BadSettings as above."""
    named = from_text(text, str(file), WorkshopSpec).workshop.mark
    return None if named is None else file_bytes(file.with_name(named), A_MARK)


def letterhead(text: str, mark: bytes | None, where: str) -> Letterhead:
    """Of a TOML text and the bytes of its mark; `where` names it in an error. Raises BadSettings as above."""
    said = from_text(text, where, WorkshopSpec).workshop
    address = None if mark is None else mark_address(mark, said.mark or where)
    return Letterhead(said.name, said.address, said.contact, address)


def mark_address(data: bytes, where: str) -> str:
    """The picture as a data address. Raises BadSettings for anything but PNG and JPEG, and for one that is too large."""
    check_size(len(data), where, A_MARK)
    address = picture_address(data)
    if address is None:
        drawn = b"<svg" in data[:1000].lower() or b"<?xml" in data[:100]
        found = "found a drawing in SVG, which can hold programs" if drawn else "this is neither a PNG nor a JPEG"
        raise BadSettings(where, found, A_MARK.what, "save it as PNG and name that file")
    return address


def picture_address(data: bytes) -> str | None:
    """A PNG or JPEG, known by its first bytes, as a data address; None of anything else."""
    kind = next((kind for start, kind in IMAGES.items() if data.startswith(start)), None)
    return None if kind is None else f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}"
