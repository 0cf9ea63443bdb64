"""Three readers of environment variables that stop loudly when a value is no good."""

import os
from pathlib import Path

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
