"""Readers of environment variables that stop the start, in words, when a value is no good."""

import os
from collections.abc import Collection
from pathlib import Path
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from django.core.exceptions import ImproperlyConfigured

# Set before numpy is first imported. Our matrices are small: a second thread only waits, and with
# several workers on few cores the germination of a list took fifteen times as long.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def env_text(name: str, default: str | None = None) -> str:
    """Return the text of a variable; without a default the variable must be set."""
    value = os.environ.get(name, "")
    if value:
        return value
    if default is None:
        raise ImproperlyConfigured(
            f"Set the environment variable {name}; the README says what it is."
        )
    return default


def env_flag(name: str, *, default: bool) -> bool:
    """Return yes or no; anything else than the listed words stops the start."""
    value = os.environ.get(name, "").strip().lower()
    if not value:
        return default
    if value in {"1", "yes", "true", "on"}:
        return True
    if value in {"0", "no", "false", "off"}:
        return False
    raise ImproperlyConfigured(f"{name} must be yes or no, not {value!r}.")


def env_choice(name: str, default: str, *, allowed: Collection[str]) -> str:
    """Return one of the allowed words as it is written there; any other stops the start."""
    value = env_text(name, default)
    if value in allowed:
        return value
    raise ImproperlyConfigured(f"{name} must be one of {', '.join(allowed)}, not {value!r}.")


def env_whole(name: str, default: int, *, least: int, most: int) -> int:
    """Return a whole number within its bounds."""
    value = env_text(name, str(default)).strip()
    if value.isascii() and value.isdigit() and least <= int(value) <= most:
        return int(value)
    raise ImproperlyConfigured(
        f"{name} must be a whole number from {least} to {most}, not {value!r}."
    )


def env_country(name: str, default: str, *, codes: Collection[str]) -> str:
    """Return the two letters of a country as ISO 3166-1 has them."""
    value = env_text(name, default)
    if value in codes:
        return value
    meant = "GB" if value.upper() == "UK" else value.upper()
    hint = f" Did you mean {meant}?" if meant in codes else ""
    raise ImproperlyConfigured(
        f"{name} must be the two letters of a country in ISO 3166-1, not {value!r}.{hint}"
    )


def env_time_zone(name: str, default: str) -> str:
    """Return the name of a time zone that this machine knows."""
    value = env_text(name, default)
    try:
        ZoneInfo(value)
    except (KeyError, ValueError, OSError) as error:
        raise ImproperlyConfigured(
            f"{name} must be a time zone such as Europe/London, not {value!r}."
        ) from error
    return value


def env_site(name: str, default: str) -> str:
    """Return the address of the site without a slash at its end: a scheme and a host."""
    value = env_text(name, default).rstrip("/")
    parts = urlsplit(value)
    if parts.scheme in {"http", "https"} and parts.hostname and not parts.path:
        return value
    raise ImproperlyConfigured(
        f"{name} must be an address such as https://seed.example.org, not {value!r}."
    )


def env_secret(name: str, default: str | None = None) -> str:
    """Return a secret from NAME, or from the file that NAME_FILE points at."""
    path = os.environ.get(f"{name}_FILE", "")
    if not path:
        return env_text(name, default)
    try:
        return Path(path).read_text(encoding="utf-8").strip()
    except OSError as error:
        raise ImproperlyConfigured(
            f"{name}_FILE names a file that cannot be read: {error}"
        ) from error
