"""Every address and the page behind it, with what is said when something goes wrong."""

from __future__ import annotations

from functools import partial
from urllib.parse import urlsplit

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp

from dampkit.app.serve import (
    benches,
    entry,
    exchange,
    library,
    photos,
    side_by_side,
    start,
    steps,
    the_book,
    verdict,
)
from dampkit.app.serve.asked import TOO_MUCH, Asked, asked_of, get, post, to
from dampkit.app.serve.frame import KINDS, STATIC, made_ready, shown
from dampkit.app.serve.guard import Guard, Unsendable, cookie_header
from dampkit.app.serve.house import House
from dampkit.app.serve.told import error_of
from dampkit.errors import DampkitError
from dampkit.report.document import SHARED_LIBRARY, plot_library

ONE = "/draft/{id:str}"
TITLES = {403: "Not sent", 404: "Not there", 405: "Not like that", 408: "It stopped coming", 413: "Too much at once"}


def application(house: House) -> ASGIApp:
    """The pages behind their guard."""
    made_ready()
    app = Starlette(
        routes=[*_start(), *_steps(), *_end(), *_book(), *_library()],
        exception_handlers={DampkitError: told, HTTPException: refused, Exception: bug},
    )
    app.state.house = house
    return Guard(app, house.door, house.names)


def _start() -> list[Route]:
    return [
        get("/", start.start_page),
        post("/begin", start.begin),
        post("/try", start.try_it),
        post("/take", start.take_up),
        get(ONE, lambda asked: to(f"/draft/{asked.draft().id}/record")),
        post(f"{ONE}/remove", start.remove),
        get("/static/{name}", static),
        Route("/events", events),
        get("/door", door_page),
        post("/door", come_in, token=False),
    ]


def _steps() -> list[Route]:
    forms = [(f"{ONE}/{step}", step) for step in steps.TITLES]
    return [
        get(f"{ONE}/record", steps.record_page),
        post(f"{ONE}/record", steps.answers),
        post(f"{ONE}/more", steps.more_records),
        post(f"{ONE}/leave-out", partial(steps.leave_out, "records", "record")),
        *(get(path, partial(steps.form_page, step)) for path, step in forms),
        *(post(path, partial(steps.fill, step)) for path, step in forms),
        post(f"{ONE}/{{step}}/card", steps.choose_card),
        post(f"{ONE}/{{step}}/library", steps.add_to_library),
        get(f"{ONE}/{{step}}/file", steps.toml_text),
    ]


def _end() -> list[Route]:
    return [
        get(f"{ONE}/verdict", verdict.verdict_page),
        get(f"{ONE}/next-test/{{form}}", verdict.next_test),
        get(f"{ONE}/keep", verdict.keep_page),
        post(f"{ONE}/keep", verdict.keep),
        post(f"{ONE}/check", benches.keep_check),
        post(f"{ONE}/leave-out-photo", partial(steps.leave_out, "photos", "keep")),
        get(f"{ONE}/photo/{{sha256}}", photos.draft_photo),
        get(f"{ONE}/side-by-side", side_by_side.side_page),
        post(f"{ONE}/side-by-side", side_by_side.say_how),
        post("/side-by-side", side_by_side.of_entries),
    ]


def _book() -> list[Route]:
    one = "/book/{number:int}"
    return [
        get("/book", the_book.book_page),
        get("/unit", the_book.unit_page),
        get("/figures", the_book.figures_page),
        get(one, entry.entry_page),
        get(f"{one}/print", entry.printed),
        get(f"{one}/record/{{place}}", entry.record_file),
        get(f"{one}/result", entry.result_file),
        get(f"{one}/photo/{{sha256}}", photos.entry_photo),
        post(f"{one}/beside", entry.add_beside),
        post(f"{one}/put-right", entry.put_right),
        post(f"{one}/sign", entry.second_check),
        get(f"{one}/work", entry.work_page),
        post(f"{one}/work", entry.keep_work),
        get("/exchange", exchange.exchange_page),
        post("/exchange/out", exchange.give_out),
        post("/exchange/in", exchange.take_in),
        post("/exchange/check", exchange.begin_check),
        get("/exchange/{id}", exchange.copy_page),
        get("/exchange/{id}/file", exchange.copy_file),
    ]


def _library() -> list[Route]:
    return [
        get("/library", library.library_page),
        get("/card", library.card_page),
        get("/card/new", library.new_card),
        get("/card/file", library.card_file),
        post("/card", library.keep_card),
        get("/card/drawing", library.drawing_file),
        get("/benches", benches.benches_page),
        get("/bench", benches.bench_page),
        post("/bench", benches.calibrate),
        post("/bench/check", benches.begin_check),
        get("/workshop", library.workshop_page),
        post("/workshop", library.keep_workshop),
    ]


def static(asked: Asked) -> Response:
    """One of a fixed list of files."""
    name = asked.path["name"]
    if name == SHARED_LIBRARY:
        return Response(
            str(plot_library()), media_type=KINDS[".js"], headers={"cache-control": "private, max-age=86400"}
        )
    if name not in STATIC:
        raise HTTPException(404)
    return Response(STATIC[name].read_bytes(), media_type=KINDS[STATIC[name].suffix])


async def events(request: Request) -> Response:
    """What changes, as it does."""
    feed = request.app.state.house.feed
    if feed.full:
        return PlainTextResponse("Too many pages listen.\n", 503)
    return StreamingResponse(feed.events(), media_type="text/event-stream")


def door_page(asked: Asked, said: str = "", status: int = 200) -> Response:
    """Where the code is asked for; one that came in the address is filled in, and still has to be sent."""
    if asked.house.door.code is None:
        return to("/")
    return shown(asked, "door.html", status=status, title="Come in", said=said, code=asked.query.get("code", "")[:40])


def come_in(asked: Asked) -> Response:
    door = asked.house.door
    if door.code is None:
        return to("/")
    if door.must_wait(asked.address):
        return door_page(asked, "Too many wrong codes. Wait five minutes, then try again.", 429)
    if not door.opens(asked.text("code"), asked.address):
        return door_page(asked, "This is not the code. It stands where the page was started.", 403)
    response = RedirectResponse("/", 303)
    response.headers.append(
        "set-cookie", cookie_header(door.session(), asked.headers.get("host", ""), asked.house.names)
    )
    return response


async def told(request: Request, error: Exception) -> Response:
    """An error for the person at the bench: where, what was found, what was expected, what to do."""
    assert isinstance(error, DampkitError)
    return _page(request, 422, "That did not work", error=error_of(error))


async def refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    status, detail = error.status_code, error.detail
    if isinstance(error.__context__, Unsendable):
        status, detail = error.__context__.status, error.__context__.message
    elif isinstance(error.__context__, MultiPartException):
        status, detail = 413, TOO_MUCH
    return _page(request, status, TITLES.get(status, "Not done"), detail)


async def bug(request: Request, error: Exception) -> Response:
    """A fault of the program ends neither the server nor the work."""
    said = f"Unexpected {type(error).__name__}. This is a fault of the program: please report it. Your work is kept."
    return _page(request, 500, "A fault of the program", said)


def _page(request: Request, status: int, title: str, *lines: str, error: object = None) -> HTMLResponse:
    came_from, here = urlsplit(request.headers.get("referer", "")), request.url.path
    back = "/".join(here.split("/")[:3]) if here.startswith("/draft/") else "/"
    if request.method == "POST" and came_from.netloc == request.headers.get("host"):
        back = f"{came_from.path}?{came_from.query}".rstrip("?")
    asked = asked_of(request, {}, {})
    return shown(asked, "told.html", status=status, title=title, error=error, lines=lines, back=back)
