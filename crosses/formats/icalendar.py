"""The watch list as a calendar that phones can subscribe to (RFC 5545, with RFC 7986).

Only what a watch list needs is written: events of whole days. A look that is no longer needed is
cancelled, not dropped, so that it disappears from calendars that already hold it.
"""

import re
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from crosses.calc.errors import BadInput

PRODUCT = "-//Seedbank//Watch list//EN"
LINE_OCTETS = 75
# The identifiers of events are made from this and a key, and may never change: a changed identifier
# would leave the old event in every subscriber's calendar.
UID_NAMESPACE = uuid.UUID("7c1f0a52-3b0e-5d0b-9a35-0d1f6c2b8e44")

# TEXT may hold a tab and anything from the space up, but for DELETE (RFC 5545, section 3.1).
NOT_TEXT = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class DayEvent:
    """Something to do on a day or over several.

    `uid` comes from `stable_uid`; `sequence` rises with every change, and `changed_at` says when
    the last one was.
    """

    uid: str
    first_day: date
    last_day: date
    summary: str
    changed_at: datetime
    sequence: int = 0
    description: str = ""
    url: str = ""
    is_cancelled: bool = False


def stable_uid(key: str) -> str:
    """Make the same identifier from the same key; nothing of the key can be read from it."""
    return str(uuid.uuid5(UID_NAMESPACE, key))


def write_calendar(
    events: Iterable[DayEvent], *, name: str, made_at: datetime, refresh_hours: int = 12
) -> bytes:
    """Write the events as one calendar, UTF-8 with CRLF, for `text/calendar; charset=utf-8`."""
    if refresh_hours < 1:
        raise BadInput("A calendar is refreshed every hour at most.", field="refresh_hours")
    refresh = f"PT{refresh_hours}H"
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"NAME:{_text(name)}",
        # Calendars older than RFC 7986 know the name and the interval by these.
        f"X-WR-CALNAME:{_text(name)}",
        f"REFRESH-INTERVAL;VALUE=DURATION:{refresh}",
        f"X-PUBLISHED-TTL:{refresh}",
    ]
    for event in events:
        lines.extend(_event_lines(event, made_at))
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines).encode()


def _event_lines(event: DayEvent, made_at: datetime) -> Iterator[str]:
    if event.last_day < event.first_day:
        raise BadInput("An event cannot end before it begins.", field="last_day")
    yield "BEGIN:VEVENT"
    yield f"UID:{_text(event.uid)}"
    yield f"DTSTAMP:{_moment(made_at)}"
    yield f"LAST-MODIFIED:{_moment(event.changed_at)}"
    yield f"SEQUENCE:{event.sequence}"
    yield f"DTSTART;VALUE=DATE:{event.first_day:%Y%m%d}"
    # The end of a whole-day event is the first day that is free again.
    yield f"DTEND;VALUE=DATE:{event.last_day + timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{_text(event.summary)}"
    if event.description:
        yield f"DESCRIPTION:{_text(event.description)}"
    if event.url:
        yield f"URL:{_address(event.url)}"
    yield f"STATUS:{'CANCELLED' if event.is_cancelled else 'CONFIRMED'}"
    # Watching a capsule does not make a person busy all day.
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _moment(moment: datetime) -> str:
    if moment.tzinfo is None:
        raise BadInput("A moment in a calendar needs its time zone.", field="made_at")
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _text(value: str) -> str:
    one_kind_of_line_end = value.replace("\r\n", "\n").replace("\r", "\n")
    escaped = one_kind_of_line_end.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return NOT_TEXT.sub("", escaped.replace("\n", "\\n"))


def _address(value: str) -> str:
    if re.search(r"[\x00-\x20\x7f]", value):
        raise BadInput("An address on the web holds no spaces or line ends.", field="url")
    return value


def _folded(line: str) -> str:
    """Break a line after at most 75 octets, never inside a character."""
    pieces: list[str] = []
    piece, octets = "", 0
    for character in line:
        size = len(character.encode())
        if octets + size > LINE_OCTETS:
            pieces.append(piece)
            # The space that marks the continuation counts towards its line.
            piece, octets = " ", 1
        piece += character
        octets += size
    return "\r\n".join([*pieces, piece])
