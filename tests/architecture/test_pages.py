"""No page is forgotten: each address of ours stands in the run that looks for faults, or says why not."""

import uuid
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.browser.pages import NO_PAGE, PAGES, POSTS_ONLY

# Django's own pages for administrators, and what answers programs.
NOT_OURS = ("admin/", "api/", "brapi/")

# What stands in an address where it is no word.
PLACES = {"key": 1, "check_id": 1, "photo_id": 1, "line_number": 1, "token": uuid.UUID(int=0)}


def _named(resolver: URLResolver, before: str = "") -> Iterator[str]:
    for pattern in resolver.url_patterns:
        address = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _named(pattern, address)
        elif isinstance(pattern, URLPattern) and not address.startswith(NOT_OURS):
            assert pattern.name, f"{address} has no name"
            yield pattern.name


def test_every_address_is_a_page_looked_at_for_faults_or_says_what_else_it_is():
    looked_at = {page.url_name for page in PAGES}
    assert looked_at & set(NO_PAGE) == set()
    forgotten = sorted(set(_named(get_resolver())) - looked_at - set(NO_PAGE))
    gone = sorted((looked_at | set(NO_PAGE)) - set(_named(get_resolver())))
    assert (forgotten, gone) == ([], []), "see tests/browser/pages.py"


@pytest.mark.django_db
def test_what_is_said_to_act_only_shows_no_page(signed_in, solveig):
    client: Client = signed_in(solveig)
    shown = []
    for name in (name for name, what in NO_PAGE.items() if what == POSTS_ONLY):
        places = get_resolver().reverse_dict.getlist(name)[0][0][0][1]
        where = {place: PLACES.get(place, "x1") for place in places}
        answer = client.get(reverse(name, kwargs=where))
        if answer.status_code == 200:
            shown.append(name)
    assert shown == []
