"""Starting and ending the server."""

from __future__ import annotations

import contextlib
import signal
import socket
import threading
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import IO, TYPE_CHECKING, Annotated

import typer

from dampkit.app.at_book import place_of
from dampkit.app.options import Book
from dampkit.app.say import say
from dampkit.errors import BadSettings, DampkitError
from dampkit.files import held
from dampkit.frozen import frozen

if TYPE_CHECKING:
    import uvicorn

    from dampkit.app.serve.drafts import Drafts
    from dampkit.app.serve.guard import Names
    from dampkit.app.serve.house import House

HERE, EVERYWHERE = "127.0.0.1", "0.0.0.0"
SOMEWHERE = ("192.0.2.1", 9)  # of the addresses for documentation (RFC 5737): asked which way out, nothing is sent
HELD = "open"  # the file that one server at a time holds; where it answers stands in it
BEFOREHAND = 4  # pieces of work that wait, at most, for another to be begun before anybody asks for it
GRACE_S = 2  # for answers under way when it is stopped


@frozen
class Wish:
    """What the person asked for."""

    port: int
    book: Path
    watch: Path | None = None
    share: bool = False
    known_as: tuple[str, ...] = ()
    browser: bool = True

    @property
    def open_to_network(self) -> bool:
        """With a proxy on this machine in front, the network comes through it alone."""
        return self.share and not self.known_as


def serve_command(
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes one that is free.")] = 8719,
    book: Book = None,
    watch: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Take up every record that the bench writes there.")
    ] = None,
    share: Annotated[
        bool, typer.Option("--share", help="Let tablets on the network in, by a code that is shown.")
    ] = False,
    known_as: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME", help="With --share: the name under which a TLS proxy on this machine hands it on."
        ),
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open a browser.")] = False,
    shortcut: Annotated[
        bool, typer.Option("--shortcut", help="Write a file to start it by a double click, and end.")
    ] = False,
) -> None:
    """It answers to this machine alone, unless --share is given. Its address is the last line of what it prints. Stop it
    with Ctrl-C: work that is not in the book yet is there again when it is started again."""
    from dampkit.app.serve.shortcut import write_shortcut

    wish = Wish(port, place_of(book), watch, share, tuple(known_as or ()), not no_browser)
    if shortcut:
        write_shortcut(wish)
    else:
        serve(wish)


def serve(wish: Wish) -> None:
    """Serve until it is stopped. Raises BadSettings where the port is taken or the folder is none."""
    from dampkit.app.serve.crowd import Crowd, limited
    from dampkit.app.serve.drafts import Drafts
    from dampkit.app.serve.pages import application
    from dampkit.report.document import made_ready

    if wish.known_as and not wish.share:
        found = "a proxy would let everybody in without a code"
        raise BadSettings("--known-as", found, "--share with it", "add --share")
    drafts = Drafts(wish.book.with_name(f"{wish.book.name}.work"))
    with _alone(wish, drafts) as said, _listening(wish) as ear, _housed(wish, drafts, ear.getsockname()[1]) as house:
        said.truncate(0)
        said.write(address_of(wish, ear.getsockname()[1]).encode())
        said.flush()
        settings = limited(application(house), Crowd(), timeout_graceful_shutdown=GRACE_S)
        server = _server(settings, house)
        threading.Thread(target=made_ready, daemon=True).start()
        _tell(wish, house, ear.getsockname()[1])
        with contextlib.suppress(KeyboardInterrupt), _ended_in_order():
            server.run(sockets=[ear])
    say("stopped; work that is not in the book yet is kept", err=True)


@contextmanager
def _ended_in_order() -> Iterator[None]:
    """A system that ends the process is answered as a person who stops it, so that the work's processes end too."""

    def stop(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _tell(wish: Wish, house: House, port: int) -> None:
    """What the person needs to know; the address is the last line of standard output."""
    here = address_of(wish, port)
    say(f"book: {wish.book}", err=True)
    if house.door.code is not None:
        import segno

        address = f"{here}door?code={house.door.code}"
        if not wish.known_as:
            say(
                "Whoever reads along on this network reads all of it: use a TLS proxy where others are on it.", err=True
            )
        say(_as_text(segno.make(address, error="m")), err=True)
        say(f"code: {house.door.code}", err=True)
    say(here)
    if wish.browser:
        code = f"door?code={house.door.code}" if house.door.code else ""
        threading.Timer(0.5, webbrowser.open, (f"http://{HERE}:{port}/{code}",)).start()


def address_of(wish: Wish, port: int) -> str:
    """Where a browser finds it: here, from the network, or through a proxy."""
    if wish.known_as:
        return f"https://{wish.known_as[0]}/"
    return f"http://{_own_address() if wish.share else HERE}:{port}/"


def _as_text(code: object) -> str:
    import io

    out = io.StringIO()
    code.terminal(out, compact=True)  # type: ignore[attr-defined]
    return out.getvalue()


@contextmanager
def _alone(wish: Wish, drafts: Drafts) -> Iterator[IO[bytes]]:
    """Raises BadSettings where another server is at this book; a browser is shown that one."""
    place = drafts.folder / HELD
    file = held(place)
    if file is None:
        address = place.read_text(encoding="utf-8")
        if wish.browser and address:
            webbrowser.open(address)
        found = f"the page of {wish.book} is open already at {address}"
        raise BadSettings("--book", found, "one page for a book", "use that page, or stop it first")
    with file:
        yield file


@contextmanager
def _housed(wish: Wish, drafts: Drafts, port: int) -> Iterator[House]:
    """Everything that is to be ended again."""
    from dampkit.app.serve.door import Door, new_code, secret_in
    from dampkit.app.serve.house import House
    from dampkit.app.serve.watch import Watched
    from dampkit.app.serve.workers import Workers

    drafts.tidy()
    door = Door(secret_in(drafts.folder), new_code() if wish.share else None)
    house = House(wish.book, drafts, Workers(), door, names_of(wish, port))
    if wish.watch is not None:
        house.watched = Watched(wish.watch, drafts, lambda number: seen(house, number))
        house.watched.start()
    try:
        yield house
    finally:
        if house.watched is not None:
            house.watched.close()
        house.copies.close()
        house.workers.close()


def seen(house: House, number: str) -> None:
    """The folder has changed; what was taken up from it is read and analysed before anybody asks, while little waits."""
    from dampkit.app.serve.forms import toml_of
    from dampkit.app.serve.verdict import judged

    house.feed.tell("folder")
    draft = house.drafts.get(number) if number else None
    if draft is None or house.waiting >= BEFOREHAND:
        return
    with contextlib.suppress(DampkitError):  # said where the work is opened
        house.understood(draft, toml_of(draft, "bench"))
        judged(house, draft)


def names_of(wish: Wish, port: int) -> Names:
    """The names by which a browser may ask for it: no other, so that no foreign page can lend it its own."""
    from dampkit.app.serve.guard import Names

    here = {HERE, "localhost"}
    if wish.open_to_network:
        own = socket.gethostname().lower()
        here |= {_own_address(), own, f"{own.partition('.')[0]}.local"}
        with contextlib.suppress(OSError):
            here |= set(socket.gethostbyname_ex(own)[2])
    return Names(frozenset(f"{name}:{port}" for name in here), frozenset(name.lower() for name in wish.known_as))


def _own_address() -> str:
    """The address by which the network knows this machine; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(SOMEWHERE)
            return str(asking.getsockname()[0])
        except OSError:
            return HERE


@contextmanager
def _listening(wish: Wish) -> Iterator[socket.socket]:
    ear = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # Windows: nobody else may listen beside us
            ear.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            ear.bind((EVERYWHERE if wish.open_to_network else HERE, wish.port))
        except OSError as error:
            found = f"port {wish.port} cannot be used: {error.strerror or error}"
            do = "stop the dampkit that runs already, or give --port 0"
            raise BadSettings("--port", found, "a port that nobody uses", do) from None
        ear.listen(128)
        yield ear
    finally:
        ear.close()


def _server(settings: uvicorn.Config, house: House) -> uvicorn.Server:
    """A server that lets the listening pages go before it waits for answers under way."""
    import uvicorn

    class Server(uvicorn.Server):
        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            house.feed.close()
            await super().shutdown(sockets)

    return Server(settings)
