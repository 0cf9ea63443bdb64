"""Which kinds of work there are. A kind is a plain function and who may ask for it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of work.

    `act` is given a `seedbank.jobs.work.Work` and does it. It may be called again after it was
    interrupted, so it begins at `work.position`, or sees by itself what is done. What it returns
    is told to the person.
    `may` is asked when the work is asked for, when it is done and when its file is fetched: a role
    may have been taken away meanwhile, and files can hold addresses.
    """

    name: str
    act: Callable[..., str]
    may: Callable[[Any], bool]


_kinds: dict[str, Kind] = {}


def register(name: str, act: Callable[..., str], *, may: Callable[[Any], bool]) -> None:
    """Add a kind of work; called once, from the `jobs` module of the app that has it."""
    if name in _kinds:
        raise ValueError(f"There are two kinds of job called {name}.")
    _kinds[name] = Kind(name, act, may)


def kind_of(name: str) -> Kind:
    """Return a kind by its name; KeyError for one that this release does not know."""
    return _kinds[name]
