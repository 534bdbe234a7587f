"""Pictures from a camera: known by their first bytes, never by their name, and shown as nothing else."""

from __future__ import annotations

from starlette.responses import Response

from dampkit.app.serve.asked import Asked
from dampkit.app.serve.drafts import PHOTO
from dampkit.bench.gate import Wanted, file_bytes
from dampkit.errors import BadSettings

# first bytes, bytes from the eighth on, media type; source: the formats' own specifications, from memory
STARTS = (
    (b"\xff\xd8\xff", b"", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", b"", "image/png"),
    (b"RIFF", b"WEBP", "image/webp"),
    (b"GIF8", b"", "image/gif"),
)
AS_PICTURE = {"content-security-policy": "default-src 'none'; sandbox", "cache-control": "private, max-age=3600"}


def picture_kind(data: bytes, label: str) -> str:
    """Its media type. Raises BadSettings where it is no picture that every browser shows."""
    for start, further, kind in STARTS:
        if data.startswith(start) and data[8:].startswith(further):
            return kind
    expected = "a photo as JPEG, PNG, WebP or GIF"
    raise BadSettings(label, "this is no such picture", expected, "set the camera to JPEG, or choose another file")


def draft_photo(asked: Asked) -> Response:
    draft = asked.draft()
    kept = next((photo for photo in draft.photos if photo.sha256 == asked.path["sha256"]), None)
    if kept is None:
        return Response(status_code=404)
    return _shown(file_bytes(asked.house.drafts.place(draft, kept), Wanted("a photo", PHOTO)), kept.label)


def entry_photo(asked: Asked) -> Response:
    """A photo that is kept in the book with this very entry."""
    with asked.house.the_book() as book:
        found = [p for p in book.photos(asked.number) if p.sha256 == asked.path["sha256"] and p.path is None]
        if not found:
            return Response(status_code=404)
        return _shown(book.content(found[0].sha256), found[0].name)


def _shown(data: bytes, label: str) -> Response:
    return Response(data, media_type=picture_kind(data, label), headers=AS_PICTURE)
