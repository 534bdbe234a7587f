"""Who may come in: a code for the network, sessions signed with it, and a token for every form."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from dampkit.files import whole_file

LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is taken for another
CODE_LETTERS = 10  # 31^10, about 8e14 codes
STAY_S = 12 * 3600.0  # how long a session lasts: a day at the bench
GUESSES, GUESSES_OF_ALL, PAUSE_S = 5, 40, 300.0  # wrong codes from one address, and from all, in so many seconds
SECRET = "secret"


def new_code() -> str:
    """In two groups, to be read off a screen."""
    letters = "".join(secrets.choice(LETTERS) for _ in range(CODE_LETTERS))
    return f"{letters[:5]}-{letters[5:]}"


def secret_in(folder: Path) -> bytes:
    """Kept, so that a page that was open while the program was started again can still be sent."""
    place = folder / SECRET
    if not place.exists():
        with whole_file(place, private=True) as draft:
            draft.write_bytes(secrets.token_bytes(32))
    return place.read_bytes()


@dataclass
class Door:
    """`code` is None where the page is for this machine alone. Sessions of another code, or of none, are not let in."""

    secret: bytes
    code: str | None = None
    clock: Callable[[], float] = time.time
    wrong: dict[str, deque[float]] = field(default_factory=dict)
    all_wrong: deque[float] = field(default_factory=deque)

    def session(self) -> str:
        """A new one, for who has been let in: its number, its end, and a signature over both."""
        bare = f"{secrets.token_hex(16)}.{int(self.clock() + STAY_S)}"
        return f"{bare}.{self._signed('session', bare)}"

    def knows(self, session: str) -> bool:
        bare, _, signature = session.rpartition(".")
        if not hmac.compare_digest(signature.encode(), self._signed("session", bare).encode()):
            return False
        return int(bare.partition(".")[2]) > self.clock()

    def token(self, session: str) -> str:
        """What every form of this session carries."""
        return self._signed("form", session)

    def fits(self, session: str, token: str) -> bool:
        return hmac.compare_digest(self.token(session).encode(), token.encode())

    def must_wait(self, address: str) -> bool:
        """Too many wrong codes, from there or from everywhere."""
        now = self.clock()
        for times in (self.all_wrong, *self.wrong.values()):
            while times and times[0] < now - PAUSE_S:
                times.popleft()
        self.wrong = {where: times for where, times in self.wrong.items() if times}
        return len(self.wrong.get(address, ())) >= GUESSES or len(self.all_wrong) >= GUESSES_OF_ALL

    def opens(self, code: str, address: str) -> bool:
        """Whether this is the code; a wrong one is counted."""
        plain = "".join(code.lower().split()).replace("-", "")
        right = (self.code or "").replace("-", "")
        if right and hmac.compare_digest(plain.encode(), right.encode()):
            return True
        self.wrong.setdefault(address, deque()).append(self.clock())
        self.all_wrong.append(self.clock())
        return False

    def _signed(self, what: str, text: str) -> str:
        return hmac.new(self.secret, f"{what}|{self.code or ''}|{text}".encode(), hashlib.sha256).hexdigest()
