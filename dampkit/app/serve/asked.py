"""A request as the pages see it: what was asked, by whom, and what was sent, its token checked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dampkit.app.serve.drafts import MOST_PHOTOS, MOST_RECORDS, Draft
from dampkit.app.serve.house import House

MOST_FIELDS = 400  # of one form
MOST_FIELD_BYTES = 2**23  # of one of them: a pasted table
TOKEN = "token"


@dataclass(frozen=True)
class Upload:
    """`label` is the name that the browser gave, and no more than that."""

    label: str
    file: BinaryIO
    size_bytes: int

    @property
    def name(self) -> str:
        """Without the folders that some browsers put before it; to be shown, and never to be opened."""
        return self.label.replace("\\", "/").rpartition("/")[2][:200]

    @property
    def plain_name(self) -> str:
        return plain(self.name)


@dataclass(frozen=True)
class Asked:
    """`sent` holds the fields of a form, `files` what was chosen in it by field."""

    house: House
    path: Mapping[str, str]
    query: Mapping[str, str]
    sent: Mapping[str, str]
    files: Mapping[str, Sequence[Upload]]
    session: str
    nonce: str
    where: str
    address: str
    headers: Mapping[str, str]

    @property
    def token(self) -> str:
        return self.house.door.token(self.session)

    def draft(self) -> Draft:
        """The piece of work that the address names. Raises 404 where there is none."""
        draft = self.house.drafts.get(self.path["id"])
        if draft is None:
            raise HTTPException(404, "This piece of work is not there: it was removed, or is in the book.")
        return draft

    def text(self, name: str) -> str:
        return self.sent.get(name, "").strip()


def plain(name: str) -> str:
    """A name of letters that every system and every header takes."""
    return "".join(c if c.isascii() and (c.isalnum() or c in "._-") else "_" for c in name)[:100] or "record"


def download(data: bytes, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{plain(name)}"'}
    return Response(data, media_type="application/octet-stream", headers=headers)


Page = Callable[[Asked], Response]


def get(path: str, page: Page) -> Route:
    async def endpoint(request: Request) -> Response:
        return await run_in_threadpool(page, asked_of(request, {}, {}))

    return Route(path, endpoint, methods=["GET"])


def post(path: str, page: Page, *, token: bool = True) -> Route:
    """A form that is sent; it carries the token of the session, but for the door's own."""

    async def endpoint(request: Request) -> Response:
        async with request.form(
            max_files=MOST_RECORDS + MOST_PHOTOS, max_fields=MOST_FIELDS, max_part_size=MOST_FIELD_BYTES
        ) as form:
            sent, files = _parts(form)
            asked = asked_of(request, sent, files)
            if token and not asked.house.door.fits(asked.session, sent.get(TOKEN, "")):
                raise HTTPException(
                    403, "The page that this was sent from is too old. Go back, load it again, and send it once more."
                )
            return await run_in_threadpool(page, asked)

    return Route(path, endpoint, methods=["POST"])


def to(place: str) -> RedirectResponse:
    """On to another page, which is read anew."""
    return RedirectResponse(place, 303)


def _parts(form: FormData) -> tuple[dict[str, str], dict[str, list[Upload]]]:
    sent: dict[str, str] = {}
    files: dict[str, list[Upload]] = {}
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            if value.filename:  # a field that was left empty has none
                files.setdefault(name, []).append(Upload(value.filename, value.file, value.size or 0))
        else:
            sent[name] = value
    return sent, files


def asked_of(request: Request, sent: dict[str, str], files: Any) -> Asked:
    return Asked(
        request.app.state.house, request.path_params, request.query_params, sent, files,
        request.scope["session"], request.scope["nonce"], request.url.path,
        request.client.host if request.client else "", request.headers,
    )  # fmt: skip
