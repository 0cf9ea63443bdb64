"""Who gets what answer where: every address of ours, asked as every role, by GET and by an empty POST.

The table stands in access_table.txt, a row an address. `make golden` writes it anew; read the difference
before you commit it. The rules at the end hold whatever stands there.
"""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.browser.pages import NO_PAGE, PAGES, POSTS_ONLY
from tests.browser.society import society

TABLE = Path(__file__).with_name("access_table.txt")
ROLES = ("nobody", "tansy", "cosmo", "hettie", "ignatius", "solveig")
HEADING = f"{'address':<34} GET, then an empty POST, as: {', '.join(ROLES)}"
# Tansy's records stand in the addresses; Cosmo is any other member, Hettie packs, Ignatius keeps,
# Solveig administers.

# Open to whoever comes: signing in, the slip's own code, and what a browser fetches by itself.
OPEN = {
    "sign-in", "password-reset", "password-reset-sent", "password-reset-confirm", "password-chosen",
    "offline", "manifest", "service-worker", "coming-back", "calendar-feed", "brapi-serverinfo",
    "allocation-check", "verifier",
}  # fmt: skip

# Which of the society's records stands in the address of what is no page, by the first word of its name.
RECORDS = {
    "plant": "plant", "cross": "cross", "pollination": "flower", "flower": "flower", "check": "flower_and_check",
    "photo": "flower_and_check", "harvest": "harvest", "lot": "lot", "packet": "packet", "sowing": "sowing",
    "germination": "sowing", "donation": "donation", "parcel": "parcel", "report": "parcel", "import": "brought_file",
    "line": "line", "seedlot": "lot", "germplasm": "plant", "job": "job",
}  # fmt: skip
# Where neither a page nor such a name says it.
ELSEWHERE: dict[str, dict[str, Any]] = {
    "import-template": {"name": "plants"},
    "allocation-bundle": {"part": "inputs"},
}
UNKNOWN = {
    "key": 987_654,
    "photo_id": 987_654,
    "line_number": 1,
    "id": 1,
    "call": "nothing",
    "rest": "nothing",
}


def _patterns(resolver: URLResolver, before: str = "") -> Iterator[tuple[str, str]]:
    for pattern in resolver.url_patterns:
        address = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _patterns(pattern, address)
        elif isinstance(pattern, URLPattern) and pattern.name and not address.startswith("admin/"):
            yield pattern.name, address


def _address(name: str, where: dict[str, dict[str, Any]]) -> str:
    names = set(get_resolver().reverse_dict.getlist(name)[0][0][0][1])
    page = next((page for page in PAGES if page.url_name == name and page.where), None)
    word = next((part for part in name.split("-") if part in RECORDS), "")
    known = {**UNKNOWN, **where["open_round"], **where["round_and_member"]}
    if word:
        known |= where[RECORDS[word]]
    if page is not None:
        known |= where[page.where]
    known |= ELSEWHERE.get(name, {})
    for in_brapi in ("germplasmDbId", "seedLotDbId", "crossingProjectDbId"):
        known.setdefault(in_brapi, known.get("number", "1"))
    return reverse(name, kwargs={place: known.get(place, "x1") for place in names})


def _answer(client: Client, method: str, address: str) -> str:
    """Ask, and take back whatever came of it."""
    with transaction.atomic():
        answer = getattr(client, method)(address)
        if answer.streaming:
            # To the end, so that the file behind it is closed.
            b"".join(answer.streaming_content)
        transaction.set_rollback(True)
    if answer.status_code == 302 and "/sign-in/" in answer["Location"]:
        return "in"
    return str(answer.status_code)


@pytest.fixture
def answers(request, db, tansy, cosmo, hettie, ignatius, solveig) -> dict[str, tuple[str, str]]:
    where = society(tansy, ignatius, hettie)
    clients = {role: Client() for role in ROLES}
    for role in ROLES[1:]:
        clients[role].force_login(request.getfixturevalue(role))
    found = {}
    # Signing out last: it ends everybody's session.
    names = {name for name, _pattern in _patterns(get_resolver())} - {"sign-out"}
    for name in [*sorted(names), "sign-out"]:
        address = _address(name, where)
        found[name] = tuple(
            " ".join(f"{_answer(clients[role], method, address):<3}" for role in ROLES).rstrip()
            for method in ("get", "post")
        )
    return found


def test_every_address_answers_every_role_as_the_table_says(answers):
    rows = [f"{name:<34} {get:<24} | {post}" for name, (get, post) in answers.items()]
    told = "\n".join([HEADING, *rows]) + "\n"
    if os.environ.get("GOLDEN") == "write":
        TABLE.write_text(told, encoding="utf-8")
    assert told.splitlines() == TABLE.read_text(encoding="utf-8").splitlines()
    _hold_the_rules(answers)


def _hold_the_rules(answers: dict[str, tuple[str, str]]) -> None:
    seen_by = {page.url_name: page.seen_by for page in PAGES}
    for name, both in answers.items():
        asked = [dict(zip(ROLES, row.split(), strict=True)) for row in both]
        for by_role in asked:
            broken = [role for role, answer in by_role.items() if answer.startswith("5")]
            assert not broken, f"{name} breaks for {broken}"
            if name not in OPEN:
                assert by_role["nobody"] in {"in", "401", "403", "404", "405"}, (name, by_role)
        for role in seen_by.get(name, ()):
            # The link of a mail leads on to its form, a short address to its record.
            shown = {"200", "302"} if name in {"password-reset-confirm", "short"} else {"200"}
            assert asked[0][role or "nobody"] in shown, f"{name} is not shown to {role or 'nobody'}"
        if NO_PAGE.get(name) == POSTS_ONLY:
            assert "200" not in asked[0].values(), f"{name} is said to show no page"
