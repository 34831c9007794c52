"""Sending what waits in the outbox: by mail or by a call to an address, each within a time, outside any transaction."""

import hashlib
import hmac
import ipaddress
import smtplib
import socket
import ssl
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from urllib.parse import urlsplit, urlunsplit

import httpx

from service import __version__
from service.database import Database
from service.domain.procedure import Library
from service.domain.reminding import Told
from service.records import reminders
from service.records.people import Who
from service.records.reminders import Claimed
from service.records.touched import MOST_AT_ONCE, refresh_for_today, refresh_stale
from service.settings import MailServer, Settings

MOST_SECONDS = 10.0
"""For each exchange with a server that is called or given mail; a whole sending may take three of them."""
MOST_MESSAGES = 500
TRANSLATED = tuple(map(ipaddress.IPv6Network, ("64:ff9b::/96", "64:ff9b:1::/48", "::/96")))
"""An address of the older kind stands in the last 32 bits of these: RFC 6052, RFC 8215, RFC 4291 2.5.5.1."""
MOST_TURNS = 200
"""A workshop of more builds than this many turns set right is told of the rest the next time."""


class NotSent(Exception):
    """Why a message did not arrive, for who reads the page of channels."""


@dataclass(frozen=True, slots=True)
class Post:
    """By what messages leave: the mail server, what they are from, whether private addresses may be called."""

    mail: MailServer | None = None
    mail_from: str = "locknut@localhost"
    may_be_private: bool = False
    address: str | None = None
    seconds: float = MOST_SECONDS


def post_of(settings: Settings) -> Post:
    """How this environment sends."""
    return Post(settings.smtp, settings.mail_from, settings.webhook_private, settings.address)


@dataclass(slots=True)
class Sent:
    """What one run did."""

    planned: int = 0
    sent: int = 0
    failed: int = 0


def remind(database: Database, library: Library, post: Post, clock: Callable[[], datetime]) -> Sent:
    """Plans what is to be told, then sends all that waits. Any number of processes may do so at once."""
    done = Sent(planned=plan_all(database, library, post, clock()))
    for _ in range(MOST_MESSAGES):
        with database.writing() as session:
            claimed = reminders.claim(session, clock())
        if claimed is None:
            break
        why = _try(claimed, post)
        with database.writing() as session:
            if why is None:
                reminders.mark_sent(session, claimed, clock())
            else:
                reminders.mark_failed(session, claimed, why, clock())
        done.sent += why is None
        done.failed += why is not None
    return done


def plan_all(database: Database, library: Library, post: Post, now: datetime) -> int:
    """Puts what is to be told now into the outbox; answers how many messages that makes."""
    with database.reading() as session:
        channels = reminders.open_channels(session)
    planned = 0
    pressing: dict[object, list[Told]] = {}
    whole: dict[object, list[Told]] = {}
    for mine in channels:
        key = mine.who.workshop_id
        if key not in pressing:
            _set_right(database, mine.who, library, now)
            with database.reading() as session:
                pressing[key] = reminders.judge(session, mine.who, library=library, now=now, pressing=True)
        with database.writing() as session:
            told = reminders.plan(
                session, mine, pressing[key], "at once", library=library, now=now, address=post.address
            )
        planned += told is not None
        if not reminders.is_weekly_due(mine, now):
            continue
        if key not in whole:
            with database.reading() as session:
                whole[key] = reminders.judge(session, mine.who, library=library, now=now, pressing=False)
        with database.writing() as session:
            told = reminders.plan(session, mine, whole[key], "weekly", library=library, now=now, address=post.address)
        planned += told is not None
    return planned


def _set_right(database: Database, who: Who, library: Library, now: datetime) -> None:
    """Has the columns that say which builds press set right, those of today too."""
    with database.writing() as session:
        refresh_for_today(session, who, now=now)
    for _ in range(MOST_TURNS):
        if refresh_stale(database, who, library=library, now=now) < MOST_AT_ONCE:
            return


def _try(claimed: Claimed, post: Post) -> str | None:
    """Sends a message; answers why it did not arrive, or None."""
    try:
        _within(3 * post.seconds, lambda: send(claimed, post))
    except NotSent as why:
        return str(why)
    return None


def _within(seconds: float, work: Callable[[], None]) -> None:
    """Does the work in a thread of its own, for a server may answer a byte at a time for ever. Raises NotSent."""
    wrong: list[BaseException] = []

    def run() -> None:
        try:
            work()
        except BaseException as met:
            wrong.append(met)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(seconds)
    if thread.is_alive():
        raise NotSent(f"The server did not finish within {seconds:g} seconds.")
    if wrong:
        raise wrong[0]


def send(claimed: Claimed, post: Post) -> None:
    """Sends one message. Raises NotSent."""
    if claimed.channel_kind == "mail":
        _send_mail(claimed, post)
    else:
        _call(claimed, post)


def mail_of(claimed: Claimed, mail_from: str) -> EmailMessage:
    """The mail as it goes out: plain text, its id that of the message, so that a repeat can be dropped."""
    mail = EmailMessage(policy=SMTP)
    mail["Subject"] = claimed.subject
    mail["From"] = mail_from
    mail["To"] = claimed.address
    mail["Date"] = format_datetime(claimed.made_at.astimezone(UTC))
    mail["Message-ID"] = f"<{claimed.id}@{mail_from.rpartition('@')[2]}>"
    mail["Auto-Submitted"] = "auto-generated"
    mail.set_content(claimed.text, cte="quoted-printable")
    return mail


def _send_mail(claimed: Claimed, post: Post) -> None:
    server = post.mail
    if server is None:
        raise NotSent("No mail server is set (LOCKNUT_SMTP).")
    try:
        mail = mail_of(claimed, post.mail_from)
        with _mail_server(server, post.seconds) as smtp:
            refused = smtp.send_message(mail, from_addr=post.mail_from, to_addrs=[claimed.address])
    except (OSError, smtplib.SMTPException, ValueError) as wrong:
        raise NotSent(_mail_words(wrong, server)) from None
    if refused:
        raise NotSent(f"The mail server {server.host} refused the address.")


def _mail_server(server: MailServer, seconds: float) -> smtplib.SMTP:
    """A connection, signed in where that is wanted. Raises NotSent rather than show a password."""
    is_hidden = server.is_tls
    if server.is_tls:
        smtp: smtplib.SMTP = smtplib.SMTP_SSL(
            server.host, server.port, timeout=seconds, context=ssl.create_default_context()
        )
    else:
        smtp = smtplib.SMTP(server.host, server.port, timeout=seconds)
        smtp.ehlo_or_helo_if_needed()
        is_hidden = smtp.has_extn("starttls")
        if is_hidden:
            smtp.starttls(context=ssl.create_default_context())
    if server.user:
        if not (is_hidden or is_here(server.host)):
            smtp.close()
            raise NotSent(
                f"The mail server {server.host} offers no encryption, and the password of LOCKNUT_SMTP is not sent in "
                "the clear: use smtps://, or another server."
            )
        smtp.login(server.user, server.password)
    return smtp


def is_here(host: str) -> bool:
    """Is it this machine itself? What goes there passes no line that others hear."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _mail_words(wrong: Exception, server: MailServer) -> str:
    """What went wrong, without a word of the password."""
    match wrong:
        case smtplib.SMTPAuthenticationError():
            said = "does not accept the name and password of LOCKNUT_SMTP"
        case smtplib.SMTPRecipientsRefused():
            said = "refused the address"
        case smtplib.SMTPResponseException(smtp_code=code):
            said = f"answered {code}"
        case TimeoutError():
            said = "did not answer in time"
        case smtplib.SMTPServerDisconnected():
            said = "did not answer in time" if "timed out" in str(wrong) else "ended the connection"
        case ConnectionRefusedError():
            said = "refuses the connection"
        case ssl.SSLError():
            said = "has no certificate that can be trusted"
        case socket.gaierror():
            said = "is not known by that name"
        case _:
            said = f"could not be used ({type(wrong).__name__})"
    return f"The mail server {server.host} {said}."


def _call(claimed: Claimed, post: Post) -> None:
    """Calls an address, at the very number that was looked up and judged, so that no second look-up can differ."""
    parts = urlsplit(claimed.address)
    host, port = parts.hostname or "", parts.port or (443 if parts.scheme == "https" else 80)
    number = look_up(host, port, may_be_private=post.may_be_private)
    at = f"[{number}]" if ":" in number else number
    url = urlunsplit((parts.scheme, f"{at}:{port}", parts.path or "/", parts.query, ""))
    body = claimed.body.encode()
    headers = {"Host": parts.netloc, "Content-Type": "application/json", "User-Agent": f"Locknut/{__version__}"}
    headers |= signed(str(claimed.id), int(claimed.made_at.timestamp()), body, claimed.signing_key or "")
    try:
        with (
            httpx.Client(follow_redirects=False, trust_env=False, timeout=post.seconds) as client,
            client.stream("POST", url, content=body, headers=headers, extensions={"sni_hostname": host}) as answer,
        ):
            status = answer.status_code
    except httpx.TimeoutException:
        raise NotSent(f"{host} did not answer in time.") from None
    except (httpx.HTTPError, httpx.InvalidURL, ssl.SSLError, ValueError) as wrong:
        raise NotSent(f"{host} could not be reached ({type(wrong).__name__}).") from None
    if 300 <= status < 400:
        raise NotSent(f"{host} answered {status}: a redirection is not followed; enter the address it leads to.")
    if not 200 <= status < 300:
        raise NotSent(f"{host} answered {status}.")


def signed(message_id: str, at: int, body: bytes, key: str) -> dict[str, str]:
    """The headers of a call: its id, when it was made, and HMAC-SHA256 (RFC 2104) of id.time.body with the key."""
    told = f"{message_id}.{at}.".encode() + body
    signature = hmac.new(key.encode(), told, hashlib.sha256).hexdigest()
    return {
        "Idempotency-Key": f'"{message_id}"',
        "Locknut-Time": str(at),
        "Locknut-Signature": f"sha256={signature}",
    }


def look_up(host: str, port: int, *, may_be_private: bool) -> str:
    """The number of a host to call. Raises NotSent where it has none, or one that is not of the open internet."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise NotSent(f"{host} is not known by that name.") from None
    numbers = [str(each[4][0]).partition("%")[0] for each in found]
    for number in numbers:
        if not may_be_private and not is_open(number):
            raise NotSent(f"{host} is a private address ({number}); LOCKNUT_WEBHOOK_PRIVATE=allowed lets it be called.")
    return numbers[0]


def is_open(number: str) -> bool:
    """Is this an address of the open internet? What is mapped or tunnelled is judged by what is inside."""
    address = ipaddress.ip_address(number)
    if isinstance(address, ipaddress.IPv6Address):
        inside = address.ipv4_mapped or address.sixtofour or (address.teredo[1] if address.teredo else None)
        if inside is None and any(address in net for net in TRANSLATED):
            inside = ipaddress.IPv4Address(int(address) & 0xFFFFFFFF)
        if inside is not None:
            return is_open(str(inside))
    return address.is_global and not address.is_multicast


class Reminding:
    """A thread that plans and sends every few minutes, for as long as a process serves."""

    def __init__(self, run: Callable[[], object], every: timedelta = timedelta(minutes=3)) -> None:
        self._run, self._every = run, every
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._turn, daemon=True)

    def start(self) -> None:
        """Begins, a moment after the start of the service."""
        self._thread.start()

    def _turn(self) -> None:
        while not self._ended.wait(self._every.total_seconds()):
            self._run()

    def end(self) -> None:
        """Ends after what is being sent."""
        self._ended.set()
