"""A browser without a screen: it keeps its cookies, sends what its forms hold, and says what it was answered."""

from __future__ import annotations

import asyncio
import html
import re
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Self

import httpx
from starlette.types import ASGIApp

from dampkit.app.serve.door import Door
from dampkit.app.serve.drafts import Drafts
from dampkit.app.serve.guard import Names
from dampkit.app.serve.house import House
from dampkit.app.serve.pages import application
from dampkit.app.serve.workers import Workers

HOST = "127.0.0.1:8719"
HERE = f"http://{HOST}"
SAMPLES = Path(__file__).parents[3] / "sample_runs"
Files = Sequence[tuple[str, tuple[str, bytes]]]
MOST_LOOKS = 10_000  # at a page that is being worked out: far more than any machine needs


class Desk:
    """One browser at one server; another `Desk` of the same house is a second one."""

    origin = HERE
    between_s = 0.05  # looks at a page that is being worked out

    def __init__(self, house: House, address: str = "127.0.0.1") -> None:
        self.house, self.address = house, address
        self.app: ASGIApp = application(house)
        self.cookies = httpx.Cookies()
        self.token = ""

    def ask(self, method: str, path: str, **how: Any) -> httpx.Response:
        """One request, no redirect followed, with nothing added that a browser would add."""

        async def once() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, client=(self.address, 50000), raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=transport, base_url=HERE, cookies=self.cookies) as client:
                answer = await client.request(method, path, **how)
                self.cookies = client.cookies
                return answer

        with ThreadPoolExecutor(1) as apart:  # a browser's test before it may have left a loop running in this thread
            return self.read(apart.submit(asyncio.run, once()).result())

    def read(self, answer: httpx.Response) -> httpx.Response:
        """Keep the token of a page's forms."""
        found = (
            re.search(r'name="token" value="(\w+)"', answer.text)
            if "html" in answer.headers.get("content-type", "")
            else None
        )
        self.token = found[1] if found else self.token
        return answer

    def get(self, path: str) -> httpx.Response:
        """A page, redirects followed, looked at again while it is worked out."""
        for _ in range(MOST_LOOKS):
            answer = self.ask("GET", path)
            if answer.is_redirect:
                path = answer.headers["location"].partition("#")[0]
            elif 'http-equiv="refresh"' not in answer.text:
                return answer
            else:
                time.sleep(self.between_s)
        raise AssertionError(f"{path} was never worked out")

    def send(self, path: str, fields: Mapping[str, str] | None = None, files: Files = ()) -> httpx.Response:
        """A form as its page would send it, and the page that follows."""
        answer = self.post(path, fields, files)
        return self.get(answer.headers["location"]) if answer.is_redirect else answer

    def post(self, path: str, fields: Mapping[str, str] | None = None, files: Files = ()) -> httpx.Response:
        """A form as its page would send it, and no more."""
        return self.ask(
            "POST", path, data={"token": self.token, **(fields or {})}, files=[*files, ("none", ("", b""))],
            headers={"origin": self.origin},
        )  # fmt: skip

    def copied(self, fields: Mapping[str, str]) -> bytes:
        """A copy of the book, made, waited for and saved."""
        done = self.send("/exchange/out", fields)
        assert "file" in done.text, words(done)
        (place,) = re.findall(r'href="(/exchange/[^"/]+/file)"', done.text)
        return self.ask("GET", place).content

    def begun(self, *names: str, **texts: str) -> str:
        """New work from sample runs; the address of it."""
        self.get("/")
        files = [("records", (name, (SAMPLES / name).read_bytes())) for name in names]
        files += [("records", (f"{kind}.toml", text.encode())) for kind, text in texts.items()]
        answer = self.send("/begin", {}, files)
        assert answer.status_code == 200, words(answer)
        (draft, *_) = self.house.drafts.all()
        return f"/draft/{draft.id}"


class Tablet(Desk):
    """A browser elsewhere, at a server that runs in a process of its own."""

    between_s = 0.1

    def __init__(self, address: str) -> None:
        self.origin, self.token = address, ""
        self.client = httpx.Client(base_url=address, timeout=600.0)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.client.close()

    def ask(self, method: str, path: str, **how: Any) -> httpx.Response:
        return self.read(self.client.request(method, path, **how))


def house_in(folder: Path, workers: Workers, code: str | None = None) -> House:
    drafts = Drafts(folder / "book.sqlite.work")
    house = House(folder / "book.sqlite", drafts, workers, Door(b"s" * 32, code), Names(frozenset({HOST})))
    house.copies.workers = workers
    return house


def words(answer: httpx.Response) -> str:
    """What a page says, without its tags."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", answer.text)).split())
