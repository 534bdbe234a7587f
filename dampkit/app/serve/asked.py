"""A request as the pages see it: what was asked, by whom, and what was sent, its token checked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, BinaryIO

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dampkit.app.at_book import person
from dampkit.app.serve.drafts import MOST_PHOTOS, MOST_RECORDS, PHOTO, Draft
from dampkit.app.serve.house import House
from dampkit.bench.gate import TOML
from dampkit.errors import BadSettings
from dampkit.frozen import frozen

MOST_FIELDS = 400  # of one form
MOST_FIELD_BYTES = 2**23  # of one of them: a pasted table
MOST_LETTERS = 200  # of a name
TOKEN = "token"
TOO_MUCH = (
    f"More than one form may send: at most {MOST_RECORDS + MOST_PHOTOS} files, and a pasted table of "
    f"{MOST_FIELD_BYTES // 2**20} million letters. Save a longer table as a file, and choose that."
)
TOO_OLD = "The page that this was sent from is too old. Go back, load it again, and send it once more."


@frozen
class Upload:
    """`label` is the name that the browser gave, and no more than that."""

    label: str
    file: BinaryIO
    size_bytes: int

    @property
    def name(self) -> str:
        """Without the folders that some browsers put before it; to be shown, and never to be opened."""
        return self.label.replace("\\", "/").rpartition("/")[2][:MOST_LETTERS]

    def data(self, what: str) -> bytes:
        """A photo or drawing, whole. Raises BadSettings where it is more than one may be."""
        data = self.file.read(PHOTO.most + 1)
        if len(data) > PHOTO.most:
            raise BadSettings(self.label, f"more than {PHOTO.most} {PHOTO.what}", what, PHOTO.do())
        return data

    def toml(self) -> str:
        """The text of a declared file. Raises BadSettings where it is no text, or more than one may be."""
        if self.size_bytes > TOML.most:
            raise BadSettings(self.label, f"more than {TOML.most} {TOML.what}", "a TOML file", TOML.do())
        try:
            return self.file.read(TOML.most).decode("utf-8-sig")
        except UnicodeDecodeError as error:
            found = f"byte {error.start} is not UTF-8 text"
            raise BadSettings(self.label, found, "a TOML file", "save it as UTF-8") from None


@frozen
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

    @property
    def number(self) -> int:
        """Of the entry that the address names."""
        return int(self.path["number"])

    def draft(self) -> Draft:
        """The piece of work that the address names. Raises 404 where there is none."""
        draft = self.house.drafts.get(self.path["id"])
        if draft is None:
            raise HTTPException(404, "This piece of work is not there: it was removed, or is in the book.")
        return draft

    def changed(self, how: Callable[[Draft], Draft]) -> Draft:
        """The piece of work as `how` changes it, written. Raises 404 where it is gone."""
        return self.house.drafts.change(self.draft().id, how) or self.draft()

    def text(self, name: str) -> str:
        return self.sent.get(name, "").strip()

    def short(self, name: str) -> str:
        return self.text(name)[:MOST_LETTERS]

    def who(self, name: str = "who") -> str:
        """Whoever wrote this; the name need not be typed again."""
        self.house.last_person = self.short(name)
        return person(self.text(name))

    def upload(self, name: str) -> Upload | None:
        return next(iter(self.files.get(name, ())), None)

    def done(self, changed: str, place: str) -> Response:
        """Every page that listens is told, and this one goes on."""
        self.house.feed.tell(changed)
        return to(place)


def plain(name: str) -> str:
    """A name of letters that every system and every header takes."""
    return "".join(c if c.isascii() and (c.isalnum() or c in "._-") else "_" for c in name)[:100] or "record"


def download(data: bytes | str, name: str, kind: str = "application/octet-stream") -> Response:
    return Response(data, media_type=kind, headers={"content-disposition": f'attachment; filename="{plain(name)}"'})


Page = Callable[[Asked], Response]


def get(path: str, page: Page) -> Route:
    """A page; what failed in a piece of work for reasons outside of it is tried again where `again` is asked."""

    def answered(asked: Asked) -> Response:
        if "again" in asked.query and "id" in asked.path:
            asked.house.forget_failed(asked.draft())
            return to(asked.where)
        return page(asked)

    async def endpoint(request: Request) -> Response:
        return await run_in_threadpool(answered, asked_of(request, {}, {}))

    return Route(path, endpoint, methods=["GET"])


def post(path: str, page: Page, *, token: bool = True) -> Route:
    """A form that is sent; it carries the token of the session, but for the door's own."""
    most = {"max_files": MOST_RECORDS + MOST_PHOTOS, "max_fields": MOST_FIELDS, "max_part_size": MOST_FIELD_BYTES}

    async def endpoint(request: Request) -> Response:
        async with request.form(**most) as form:
            sent, files = _parts(form)
            asked = asked_of(request, sent, files)
            if token and not asked.house.door.fits(asked.session, sent.get(TOKEN, "")):
                raise HTTPException(403, TOO_OLD)
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
