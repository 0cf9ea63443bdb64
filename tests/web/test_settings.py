"""Settings stop the start, in words that say what to write, rather than serve with a wrong one."""

import os
import subprocess
import sys

import pytest
from django.core.exceptions import ImproperlyConfigured

from seedbank.environment import env_choice, env_country, env_site, env_time_zone, env_whole

WRONG = [
    ("DATABASE", "postgres", "sqlite, postgresql"),
    ("DATABASE", "mysql", "sqlite, postgresql"),
    ("SOCIETY_COUNTRY", "UK", "Did you mean GB?"),
    ("SOCIETY_COUNTRY", "ie", "Did you mean IE?"),
    ("SOCIETY_COUNTRY", "Ireland", "two letters"),
    ("TIME_ZONE", "London", "such as Europe/London"),
    ("TIME_ZONE", "../etc/passwd", "such as Europe/London"),
    ("EMAIL_PORT", "smtp", "whole number from 1 to 65535"),
    ("EMAIL_PORT", "0", "whole number from 1 to 65535"),
    ("EMAIL_TLS", "perhaps", "yes or no"),
    ("SITE_ADDRESS", "seed.example.org", "such as https://seed.example.org"),
    ("SITE_ADDRESS", "https://seed.example.org/exchange", "such as https://seed.example.org"),
    ("HTTPS", "maybe", "yes or no"),
    ("DEBUG", "perhaps", "yes or no"),
]
READERS = {
    "DATABASE": lambda name: env_choice(name, "sqlite", allowed=("sqlite", "postgresql")),
    "SOCIETY_COUNTRY": lambda name: env_country(name, "GB", codes={"GB", "IE"}),
    "TIME_ZONE": lambda name: env_time_zone(name, "Europe/London"),
    "EMAIL_PORT": lambda name: env_whole(name, 587, least=1, most=65_535),
    "SITE_ADDRESS": lambda name: env_site(name, "http://127.0.0.1:8000"),
}


@pytest.mark.parametrize(("name", "value", "words"), [row for row in WRONG if row[0] in READERS])
def test_a_word_that_no_setting_knows_is_refused_with_what_to_write(
    monkeypatch, name, value, words
):
    monkeypatch.setenv(name, value)
    with pytest.raises(ImproperlyConfigured) as refused:
        READERS[name](name)
    assert name in str(refused.value)
    assert words in str(refused.value)


@pytest.mark.parametrize(
    ("name", "value", "read"),
    [
        ("DATABASE", "postgresql", "postgresql"),
        ("SOCIETY_COUNTRY", "IE", "IE"),
        ("TIME_ZONE", "America/Toronto", "America/Toronto"),
        ("EMAIL_PORT", "25", 25),
        ("SITE_ADDRESS", "https://seed.example.org/", "https://seed.example.org"),
    ],
)
def test_a_right_word_is_taken(monkeypatch, name, value, read):
    monkeypatch.setenv(name, value)
    assert READERS[name](name) == read


@pytest.mark.parametrize(("name", "value", "words"), WRONG[::3])
def test_the_service_does_not_start_with_it(name, value, words):
    """The settings themselves, read by a process of their own: no reader is forgotten there."""
    answer = subprocess.run(
        [sys.executable, "-c", "import seedbank.settings"],
        env={**os.environ, "DEBUG": "1", name: value},
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode != 0
    assert words in answer.stderr
