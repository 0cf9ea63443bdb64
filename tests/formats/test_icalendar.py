"""The watch list as a calendar, read back by an independent reader of RFC 5545."""

import re
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crosses.calc.errors import BadInput
from crosses.formats.icalendar import DayEvent, stable_uid, write_calendar

MADE_AT = datetime(2026, 7, 1, 6, 30, tzinfo=UTC)


def an_event(**changes):
    values = {
        "uid": stable_uid("pollination 12"),
        "first_day": date(2026, 7, 20),
        "last_day": date(2026, 7, 22),
        "summary": "Look at the capsules of C000012",
        "changed_at": MADE_AT,
    }
    return DayEvent(**(values | changes))


def read(data: bytes):
    """Unfold, split into properties and undo the escapes, as sections 3.1 and 3.3.11 say."""
    assert data.endswith(b"\r\n")
    for line in data[:-2].split(b"\r\n"):
        assert len(line) <= 75
        assert b"\n" not in line
        assert b"\r" not in line
        line.decode()
    properties = []
    for line in data.replace(b"\r\n ", b"").decode().split("\r\n")[:-1]:
        head, value = line.split(":", 1)
        name, *parameters = head.split(";")
        properties.append((name, parameters, value))
    return properties


def unescape(value: str) -> str:
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


def value_of(properties, name):
    (found,) = [value for key, _, value in properties if key == name]
    return found


def test_a_calendar_has_what_the_standard_requires():
    properties = read(write_calendar([an_event()], name="Watch list", made_at=MADE_AT))
    names = [name for name, _, _ in properties]
    assert properties[0] == ("BEGIN", [], "VCALENDAR")
    assert properties[-1] == ("END", [], "VCALENDAR")
    assert value_of(properties, "VERSION") == "2.0"
    assert names.count("BEGIN") == names.count("END") == 2
    for required in ("PRODID", "UID", "DTSTAMP", "DTSTART"):
        assert names.count(required) == 1
    assert value_of(properties, "DTSTAMP") == "20260701T063000Z"


def test_an_event_of_whole_days_ends_on_the_first_free_day():
    properties = read(write_calendar([an_event()], name="Watch list", made_at=MADE_AT))
    assert ("DTSTART", ["VALUE=DATE"], "20260720") in properties
    assert ("DTEND", ["VALUE=DATE"], "20260723") in properties


def test_moments_are_written_in_utc():
    summer = timezone(timedelta(hours=2))
    event = an_event(changed_at=datetime(2026, 7, 1, 1, 0, tzinfo=summer))
    properties = read(write_calendar([event], name="Watch list", made_at=MADE_AT))
    assert value_of(properties, "LAST-MODIFIED") == "20260630T230000Z"


def test_a_moment_without_its_time_zone_is_refused():
    naive = datetime(2026, 7, 1, 1, 0)  # noqa: DTZ001 - the very thing that is refused
    with pytest.raises(BadInput, match="time zone"):
        write_calendar([an_event(changed_at=naive)], name="Watch list", made_at=MADE_AT)


def test_a_look_no_longer_needed_is_cancelled_under_the_same_identifier():
    first = read(write_calendar([an_event()], name="Watch list", made_at=MADE_AT))
    gone = an_event(is_cancelled=True, sequence=1)
    second = read(write_calendar([gone], name="Watch list", made_at=MADE_AT))
    assert value_of(first, "STATUS") == "CONFIRMED"
    assert value_of(second, "STATUS") == "CANCELLED"
    assert value_of(second, "UID") == value_of(first, "UID")
    assert value_of(second, "SEQUENCE") == "1"


def test_subscribers_are_told_how_often_to_come_back():
    properties = read(write_calendar([], name="Watch list", made_at=MADE_AT, refresh_hours=6))
    assert ("REFRESH-INTERVAL", ["VALUE=DURATION"], "PT6H") in properties


def test_identifiers_are_stable_different_and_say_nothing_of_their_key():
    assert stable_uid("pollination 12") == stable_uid("pollination 12")
    assert stable_uid("pollination 12") != stable_uid("pollination 13")
    assert re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", stable_uid("Tansy Oddwater"))


def test_separators_and_line_ends_in_words_are_escaped():
    words = "Smoke \N{MULTIPLICATION SIGN} Lemon; bag, then look\nEND:VEVENT \\ done"
    properties = read(write_calendar([an_event(summary=words)], name="Watch list", made_at=MADE_AT))
    assert unescape(value_of(properties, "SUMMARY")) == words
    assert [name for name, _, value in properties if value == "VEVENT"] == ["BEGIN", "END"]


@given(words=st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=200))
def test_any_words_come_back_as_they_were_in_lines_of_75_octets(words):
    event = an_event(summary=words, description=words)
    properties = read(write_calendar([event], name=words, made_at=MADE_AT))
    assert unescape(value_of(properties, "SUMMARY")) == words
    assert unescape(value_of(properties, "NAME")) == words


@given(words=st.text(st.characters(categories=["Cc"]), max_size=20))
def test_control_characters_never_break_the_file(words):
    properties = read(write_calendar([an_event(summary=words)], name="x", made_at=MADE_AT))
    assert set(unescape(value_of(properties, "SUMMARY"))) <= {"\t", "\n"} | {
        chr(code) for code in range(0x80, 0xA0)
    }


def test_an_address_with_a_line_end_is_refused():
    with pytest.raises(BadInput, match="no spaces or line ends"):
        write_calendar(
            [an_event(url="https://example.org/\r\nATTACH:x")], name="x", made_at=MADE_AT
        )


def test_an_event_that_ends_before_it_begins_is_refused():
    with pytest.raises(BadInput) as refusal:
        write_calendar([an_event(last_day=date(2026, 7, 1))], name="x", made_at=MADE_AT)
    assert refusal.value.field == "last_day"
