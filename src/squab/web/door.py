"""The door to the workroom's own network: shut unless asked for, and opened to a telephone by a code.

The code is shown on the workroom's own machine, is good once and for ten minutes, and five wrong ones
end it. A telephone that gave it carries a long secret afterwards, of which the keep holds a digest.
"""

from __future__ import annotations

import hmac
import ipaddress
import secrets
import socket
import threading
import time
from collections.abc import Callable
from hashlib import sha256

from squab.errors import SquabError
from squab.keep import Keep, Telephone

COOKIE = "squab_telephone"
COME_IN = "/come-in"
WITHOUT_CODE = (COME_IN, "/static/", "/fonts/")
"""What is answered to whoever asks, so that a code can be given."""
CODE_LIVES_S = 600.0
MOST_TRIES = 5
_DIGITS = 8


class NetworkError(SquabError):
    """The workroom cannot be opened to the network; the message says why and what to do."""

    def __init__(self, reason: str, hint: str) -> None:
        super().__init__(f"{reason}\n  hint: {hint}")


class NotLetIn(SquabError):  # noqa: N818  it says what happened
    """A code that lets nobody in; the message says what to do."""


class Door:
    """Who may come in from the network.

    Parameters
    ----------
    keep
        Where the telephones stand that were let in.
    host
        The address and the port by which they ask, and no other name.
    clock
        Seconds that only grow.
    """

    def __init__(self, keep: Keep, host: str, *, clock: Callable[[], float] = time.monotonic) -> None:
        self.host = host
        self._keep = keep
        self._clock = clock
        self._lock = threading.Lock()
        self._code = ""
        self._until = 0.0
        self._tries = 0
        self._digests = [t.digest for t in keep.telephones()]

    @property
    def address(self) -> str:
        """What is typed on a telephone."""
        return f"http://{self.host}/"

    def new_code(self) -> str:
        """A code for one telephone, in place of the one before."""
        with self._lock:
            self._code = "".join(secrets.choice("0123456789") for _ in range(_DIGITS))
            self._until, self._tries = self._clock() + CODE_LIVES_S, 0
            return self._code

    def let_in(self, code: str, name: str) -> str:
        """What a telephone is to carry from now on, for the code of the moment.

        Raises
        ------
        NotLetIn
            If the code is another one, too old, used already, or was tried too often.
        """
        with self._lock:
            self._check(code)
            self._code = ""
            carried = secrets.token_urlsafe(32)
            self._digests.append(self._keep.let_in(name.strip() or "A telephone", _digest(carried)).digest)
            return carried

    def _check(self, code: str) -> None:
        if not self._code or self._clock() > self._until:
            self._code = ""
            raise NotLetIn("There is no code of the moment: make one on the workroom's own machine, under Keep")
        given = "".join(c for c in code if c.isdecimal() and c.isascii())
        if hmac.compare_digest(given.encode(), self._code.encode()):
            return
        self._tries += 1
        if self._tries >= MOST_TRIES:
            self._code = ""
            raise NotLetIn("That was tried too often: make a new code on the workroom's own machine, under Keep")
        raise NotLetIn("That is not the code: look once more at what the workroom shows")

    def is_let_in(self, carried: str) -> bool:
        """Whether a telephone that carries this may come in."""
        digest = _digest(carried)
        with self._lock:
            # every one is compared, so that the time taken tells nothing
            return sum(hmac.compare_digest(digest, known) for known in self._digests) > 0

    def telephones(self) -> tuple[Telephone, ...]:
        """Those that may come in."""
        return self._keep.telephones()

    def shut_out(self, telephone_id: str) -> None:
        """Let a telephone in no longer."""
        with self._lock:
            self._keep.shut_out(telephone_id)
            self._digests = [t.digest for t in self._keep.telephones()]


def spaced(code: str) -> str:
    """A code as it is read out."""
    return f"{code[:4]} {code[4:]}"


def is_own(address: str | None) -> bool:
    """Whether a request comes from this very machine."""
    try:
        return ipaddress.ip_address(address or "").is_loopback
    except ValueError:
        return False


def network_address(asked: str = "") -> str:
    """The address of this machine in the workroom's own network, as asked for or as found; nothing is sent for it.

    Raises
    ------
    NetworkError
        If there is none, or it can be reached from elsewhere than a network of one's own.
    """
    address = asked or _found()
    try:
        read = ipaddress.IPv4Address(address)
    except ValueError:
        raise NetworkError(
            f"{address[:60]!r} is no address of a network", "give it as four numbers, as in 192.168.1.20"
        ) from None
    if read.is_loopback or read.is_unspecified:
        raise NetworkError(f"{read} is not in a network", "give this machine's address in your own network")
    if not read.is_private:
        raise NetworkError(
            f"{read} can be reached from everywhere, not from your own network alone",
            "give an address that begins with 10, 172.16 to 172.31 or 192.168",
        )
    return str(read)


def _found() -> str:
    """Which of its addresses this machine would speak from: asked of the machine itself."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(("10.255.255.255", 9))  # a datagram's socket: this sends nothing
            return str(asking.getsockname()[0])
        except OSError:
            raise NetworkError(
                "this machine is in no network", "join one, or give the address with --address"
            ) from None


def _digest(carried: str) -> str:
    return sha256(carried.encode()).hexdigest()
