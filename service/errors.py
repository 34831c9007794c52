"""Every way in which the program says no: what was asked, why it cannot be done, what would be right."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, ClassVar, NamedTuple


class Fault(NamedTuple):
    """One wrong place in what was sent: a JSON pointer (RFC 6901; "" is the whole) and what would be right there."""

    pointer: str
    detail: str


class Refusal(Exception):
    """Something was asked that cannot be done; the message says what would be right."""

    status: ClassVar[int] = 400
    code: ClassVar[str] = "refused"
    title: ClassVar[str] = "This cannot be done"

    def __init__(
        self, say: str, *, errors: Sequence[tuple[str, str]] = (), current: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(say)
        self.say = say
        self.errors = tuple(Fault(*error) for error in errors)
        self.current = current

    def members(self) -> dict[str, Any]:
        """Further members of the problem document, beyond those of RFC 9457."""
        found: dict[str, Any] = {}
        if self.errors:
            found["errors"] = [fault._asdict() for fault in self.errors]
        if self.current is not None:
            found["current"] = dict(self.current)
        return found


class NotSignedIn(Refusal):
    """No device is known for this request: open a sign-in link, or send a bearer token."""

    status, code, title = 401, "not-signed-in", "Nobody is signed in"

    def __init__(self, say: str = "") -> None:
        super().__init__(
            say
            or "Nobody is signed in here. Open a sign-in link (`locknut person link`), or send `Authorization: Bearer` "
            "with a token (`locknut person token`)."
        )


class Forbidden(Refusal):
    """The person is known, but may not do this."""

    status, code, title = 403, "forbidden", "Not allowed"


class CrossSite(Refusal):
    """A change was sent by a page of another site, or by one that does not say where it comes from."""

    status, code, title = 403, "cross-site", "Sent from another site"


class NotFound(Refusal):
    """There is no such thing, or it belongs to another workshop; both are answered alike."""

    status, code, title = 404, "not-found", "Not found"

    def __init__(self, noun: str, key: object) -> None:
        super().__init__(f"There is no {noun} {key}.")


class MethodUnknown(Refusal):
    """The address exists, but not with this method; the header Allow lists those it has."""

    status, code, title = 405, "method-unknown", "This address has no such method"

    def __init__(self, path: str, allow: Iterable[str]) -> None:
        self.allow = sorted(allow)
        super().__init__(f"{path} answers {', '.join(self.allow)}.")


class Conflict(Refusal):
    """What was asked contradicts what is stored already."""

    status, code, title = 409, "conflict", "It contradicts what is stored"


class PartsChanged(Conflict):
    """A tick or an accepted finding was made for other parts, or another wording, than are there now."""

    code, title = "parts-changed", "The parts of this step have changed"


class Asks(Refusal):
    """Unlikely but possible: send the same again with the named field set to true, or correct the figure."""

    status, code, title = 409, "asks", "Please confirm"

    def __init__(self, say: str, *, confirm: str = "sure", pointer: str = "") -> None:
        super().__init__(say, errors=[(pointer, say)] if pointer else ())
        self.confirm = confirm

    def members(self) -> dict[str, Any]:
        return super().members() | {"confirm": self.confirm}


class Gone(Refusal):
    """It was there and has been removed since; sending it again does not bring it back."""

    status, code, title = 410, "gone", "Removed since"

    def __init__(self, noun: str, key: object, say: str = "") -> None:
        super().__init__(
            say or f"The {noun} {key} was removed since; it is not made again. Choose a new id to enter it anew."
        )


class LinkSpent(Refusal):
    """A sign-in link opens once, and within 15 minutes of being made."""

    status, code, title = 410, "link-spent", "This link opens nothing any more"

    def __init__(self, say: str = "") -> None:
        super().__init__(
            say
            or "This sign-in link was used already, or is older than 15 minutes. "
            "Make another one at the machine that serves (`locknut person link`)."
        )


class Stale(Refusal):
    """Somebody changed it since it was read: read it again, then decide (If-Match was false)."""

    status, code, title = 412, "stale", "Changed since it was read"


class TooLarge(Refusal):
    """More was sent than is taken at once."""

    status, code, title = 413, "too-large", "Too much at once"


class MediaUnknown(Refusal):
    """The body is not of a kind that this address reads."""

    status, code, title = 415, "media-unknown", "Not a kind that is read here"


class WrongHost(Refusal):
    """The request was meant for another name than this service answers to."""

    status, code, title = 421, "wrong-host", "Not a name of this service"


class Malformed(Refusal):
    """The request is badly formed: a field is missing, unknown, of the wrong kind or out of range."""

    status, code, title = 422, "malformed", "The request is badly formed"


class NeedsIfMatch(Refusal):
    """A change of this row must say which version it was made from."""

    status, code, title = 428, "needs-if-match", "Say which version"

    def __init__(self, say: str = "") -> None:
        super().__init__(say or 'Send the ETag of what you read in the header If-Match, such as If-Match: "57".')


class OurMistake(Refusal):
    """The program failed where it should not; nothing of this request was stored."""

    status, code, title = 500, "our-mistake", "A mistake of the program"

    def __init__(self, say: str = "") -> None:
        super().__init__(
            say or "This is a mistake of the program, not yours. Nothing of this request was stored; the log says more."
        )


class Busy(Refusal):
    """The database cannot be reached or is held by somebody else: nothing was stored, try again."""

    status, code, title = 503, "busy", "The database does not answer"


class Full(Refusal):
    """There is no room left to store anything; what was stored before is unharmed."""

    status, code, title = 507, "full", "The disk is full"


class WrongDatabase(Refusal):
    """The database is not one that this program can use: newer than it, or of something else."""

    status, code, title = 503, "wrong-database", "Not a database of this program"


def every_refusal() -> list[type[Refusal]]:
    """All kinds of refusal, by status then code: what the pages under /problems/ describe."""
    found: set[type[Refusal]] = set()
    left: list[type[Refusal]] = [Refusal]
    while left:
        kind = left.pop()
        found.add(kind)
        left.extend(each for each in kind.__subclasses__() if not each.__name__.startswith("_"))
    return sorted(found, key=lambda kind: (kind.status, kind.code))


@contextmanager
def at_pointer(prefix: str) -> Iterator[None]:
    """What is refused within stands at this place of what was sent: "/parts/0" before "/place"."""
    try:
        yield
    except Refusal as refusal:
        refusal.errors = tuple(Fault(f"{prefix}{pointer}", detail) for pointer, detail in refusal.errors)
        raise
