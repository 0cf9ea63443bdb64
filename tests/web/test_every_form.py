"""Every form of the site, held to the same promises; an address that takes a form and is unknown fails."""

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.apps import apps
from django.db import transaction
from django.db.models import F
from django.test import Client

from crosses.base.version import Versioned
from tests.browser.pages import HETTIE, IGNATIUS, NO_PAGE, NOBODY, POSTS_ONLY, SOLVEIG, TANSY
from tests.browser.society import society
from tests.web.forms_found import Form, read_forms, walk

pytestmark = pytest.mark.django_db

# Forms that make a record, and what to type into one.
MAKES = {
    "bench-reminders": {"name": "Desk"},
    "caution-add": {
        "rule": "Nonesuch: ferns",
        "kind": "prohibited_genus",
        "level": "ask",
        "words": "Ask first.",
        "source": "invented",
        "genera": "Pteris",
    },
    "check-add": {"kind": "nothing_yet"},
    "count-add": {"number": "1"},
    "cross-add": {"seed_parent": "P000001-10", "pollen": "open", "own_number": "26-77"},
    "customs-add": {
        "country": "NO",
        "contents": "Seeds",
        "ticked": "gift",
        "value_per_packet": "1",
        "currency": "GBP",
        "source": "invented",
        "why": "new",
    },
    "donation-offer-by-hand": {
        "name_text": "Primula veris",
        "year": "2025",
        "origin": "unknown",
        "packets": "2",
        "seeds_each": "20",
    },
    "lot-add": {"name_text": "Primula veris", "year": "2025"},
    "packets-add": {"how_many": "1", "seeds_each": "5"},
    "place-list": {"code": "Z-9", "name": "Cellar"},
    "plant-add": {"name_text": "Primula 'Nettlemere Sulk'"},
    "pollination-touch-up": {},
    "round-open": {
        "name": "Another",
        "slug": "another",
        "list_opens_at": "2027-01-01T12:00",
        "wishes_close_at": "2027-02-01T12:00",
        "public_value_name": "Numbers of the lottery",
    },
    "seedling-add": {"names": "26-01-1"},
    "token-add": {"name": "Notebook"},
}

# Forms that change a record they show: what to type. The second of two tabs is shown both texts.
CHANGES = {
    "caution-change": {"words": "Ask twice.", "why": "seen again"},
    "cross-change": {"aim": "A lemon edge", "why": "forgotten"},
    "customs-change": {"contents": "Seeds of flowers", "why": "plainer"},
    "line-change": {"description": "Pale yellow"},
    "lot-change": {"drying_note": "Ten days in silica gel", "why": "forgotten"},
    "place-change": {"name": "Cellar, left"},
    "plant-change": {"own_label": "QS 7", "why": "forgotten"},
    "pollination-change": {"note": "After rain", "why": "forgotten"},
    "profile-address": {"lines": "7 Trough Lane\nMuchly-in-the-Moss"},
    "round-change": {"price_text": "2 pounds", "why": "forgotten"},
}

# Forms that act on a record without showing what is written there; they say that it has moved on.
ACTS = {
    "caution-withdraw": {"reason": "out of date"},
    "count-withdraw": {"reason": "wrong pot"},
    "cross-withdraw": {"reason": "never done"},
    "donation-withdraw": {"reason": "seed got damp"},
    "harvest-count": {"seeds": "41"},
    "harvest-withdraw": {"reason": "wrong capsule"},
    "line-withdraw": {"reason": "mouldy"},
    "lot-withdraw": {"reason": "eaten by mice"},
    "parcel-cancel": {"reason": "moved away"},
    "plant-dead": {"why": "slugs"},
    "plant-withdraw": {"reason": "written twice"},
    "sowing-close": {"left_dead": "3", "reason": "late"},
    "sowing-reopen": {"why": "one more came"},
    "sowing-withdraw": {"reason": "wrong packet"},
}

# What is neither, with what keeps it right.
ELSE = {
    "bench-daily-mail": "says what is wanted; said twice it is the same",
    "check-undo": "a look taken back is back; a rule refuses the second",
    "count-grid": "every pot has a key of its own",
    "donation-give-harvest": "has a key of its own",
    "donation-by-hand": "has a key of its own",
    "donation-offer": "has a key of its own",
    "donation-receive": "a line is answered once; a rule refuses the second",
    "donation-scan": "a packet is checked in once; a rule tells the second scan",
    "export-society": "asks for a file; entered as sent",
    "harvest-add": "has a key of its own",
    "import-confirm": "a file is brought in once; its state refuses the second",
    "import-match": "says which heading is which; said twice it is the same",
    "import-table": "lays a file aside; entered as sent",
    "job-stop": "what has ended is ended; a rule refuses the second",
    "line-bar": "a country is barred once",
    "list-catalogue": "has a key of its own",
    "list-edit": "a lot is on the list once",
    "lot-from-harvest": "has a key of its own; a harvest is one lot",
    "packet-discard": "a packet goes once; a rule refuses the second",
    "packet-split": "a packet is split once; a rule refuses the second",
    "packet-store": "a packet put where it lies is not moved",
    "parcel-close": "its state refuses the second",
    "parcel-scan": "a packet is in once; a rule tells the second scan",
    "parcel-short": "a packet is lost once; a rule refuses the second",
    "parcel-take": "in hand is in hand",
    "parcel-customs": "only for what goes abroad; changes like the others",
    "password-change": "writes no record of the society's",
    "password-reset": "writes no record of the society's",
    "password-reset-confirm": "writes no record of the society's",
    "photo-add": "needs a file; has a key of its own",
    "pollination-add": "has a key of its own",
    "pollination-tags": "prints",
    "pollination-withdraw": "from the tag's page; a rule refuses the second",
    "sign-in": "writes no record of the society's",
    "sign-out": "writes no record of the society's",
    "sowing-add": "has a key of its own",
    "surplus-set": "one surplus a round; from its second setting on it changes like the others",
    "wish-add": "a line is wished for once",
    "wish-lists": "leads on",
    "wish-receipts": "entered as sent",
    "wishes": "carries what it saw of the list",
    "wishes-cancel": "out is out",
    "wishes-for-member": "carries what it saw of the list",
    "wishes-for-member-cancel": "out is out",
    "wishes-for-member-order": "carries the rank it saw",
    "wishes-for-member-put": "a line is wished for once",
    "wishes-for-member-receipt": "entered as sent",
    "wishes-order": "carries the rank it saw",
    "wishes-put": "a line is wished for once",
    "wishes-receipt": "entered as sent",
    "coming-back": "has a key of its own",
    "parcels-print": "has a key of its own",
}

# Buttons that this society's pages do not show at the moment it is in.
NOT_SHOWN = {
    "allocation-again": "after a run",
    "allocation-announce": "after a run",
    "allocation-by-hand": "after a run",
    "allocation-freeze": "when wishes have closed",
    "allocation-run": "when inputs are frozen",
    "bench-calendar-revoke": "once an address is made",
    "donation-give-lot": "for a lot of loose seed",
    "import-undo": "once a file is in",
    "mails-again": "once a mail could not be sent",
    "line-remove": "before a list is published",
    "line-unbar": "once a country is barred",
    "list-publish": "before a list is published",
    "offline-entry": "is sent by the outbox",
    "offline-letter": "is asked for by the device",
    "release-barred": "once a bar stands over a promise",
    "parcel-post": "once a parcel is closed",
    "parcel-reopen": "once a parcel is closed",
    "parcel-take-out": "once a packet is in",
    "photo-withdraw": "once a photo is kept",
    "report-stop": "once a parcel is posted",
    "surplus-back": "once something is taken",
    "surplus-take": "once a surplus is open",
    "token-revoke": "once a key is made",
}


@pytest.fixture
def clients(signed_in, tansy, ignatius, hettie, solveig):
    return {
        NOBODY: Client(),
        TANSY: signed_in(tansy),
        IGNATIUS: signed_in(ignatius),
        HETTIE: signed_in(hettie),
        SOLVEIG: signed_in(solveig),
    }


@pytest.fixture
def forms(clients, tansy, ignatius, hettie) -> list[Form]:
    return walk(society(tansy, ignatius, hettie), clients)


@contextmanager
def undone() -> Iterator[None]:
    """Take back what is written inside, so that the next form meets the same society."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def one_of_each(forms: list[Form], names: object) -> dict[str, Form]:
    """Return the form that carries most, of each name."""
    found: dict[str, Form] = {}
    for form in forms:
        name = form.url_name
        if name in names and len(form.fields) > len(found.get(name, Form("")).fields):
            found[name] = form
    return found


def sent(form: Form, **typed: str) -> dict[str, object]:
    return dict(form.fields) | typed


def rows() -> dict[str, int]:
    return {
        model._meta.label: model._default_manager.count()
        for model in apps.get_models()
        if model._meta.label not in {"crosses.SentForm", "sessions.Session"}
    }


def same_form(page, form: Form) -> Form:
    found = read_forms(page.content.decode(), form.action)[0]
    return next(one for one in found if one.url_name == form.url_name)


def test_every_form_is_known_and_carries_a_key(forms):
    names = {form.url_name for form in forms}
    known = set(MAKES) | set(CHANGES) | set(ACTS) | set(ELSE)
    assert sorted(names - known) == []
    acting = {name for name, what in NO_PAGE.items() if what == POSTS_ONLY}
    assert sorted(acting - names - set(NOT_SHOWN)) == []
    assert [form.action for form in forms if "form_key" not in form.fields] == []


def test_every_form_of_change_carries_the_version_it_was_opened_with(forms):
    shown = one_of_each(forms, {*CHANGES, *ACTS})
    assert sorted({*CHANGES, *ACTS} - set(shown)) == []
    assert [name for name, form in shown.items() if "version" not in form.fields] == []


def test_a_form_that_makes_a_record_sent_three_times_makes_one(forms, clients, subtests):
    shown = one_of_each(forms, MAKES)
    assert sorted(set(MAKES) - set(shown)) == []
    for name, form in shown.items():
        with subtests.test(name), undone():
            before, client = rows(), clients[form.sender]
            answers = [client.post(form.action, sent(form, **MAKES[name])) for _ in range(1)]
            assert answers[0].status_code in {200, 302}, read_errors(answers[0])
            once = rows()
            assert once != before
            answers += [client.post(form.action, sent(form, **MAKES[name])) for _ in range(2)]
            assert rows() == once
            if answers[0].status_code == 302:
                assert len({answer.url for answer in answers}) == 1


def read_errors(answer) -> list[str]:
    return re.findall(r'class="error"[^>]*>([^<]*)', answer.content.decode())


def move_on() -> None:
    """Let every record be changed by somebody else."""
    for model in apps.get_models():
        if issubclass(model, Versioned):
            model._default_manager.update(version=F("version") + 1)


def test_the_second_of_two_tabs_is_told_and_may_write_its_own(forms, clients, subtests):
    for name, form in one_of_each(forms, {*CHANGES, *ACTS}).items():
        with subtests.test(name), undone():
            typed, client = (CHANGES | ACTS)[name], clients[form.sender]
            move_on()
            told = client.post(form.action, sent(form, **typed))
            assert told.status_code == 409, read_errors(told)
            again = same_form(told, form)
            for field, value in typed.items():
                assert again.fields[field][0].replace("\r", "") == value
            if name in CHANGES:
                assert "You typed" in told.content.decode()
            done = client.post(form.action, dict(again.fields))
            # A rule may still refuse it, of a plant that has offspring; that it moved on is said once.
            assert done.status_code in {302, 422}, read_errors(done)
            assert done.status_code == 302 or name in {*ACTS, "round-change"}, read_errors(done)


def test_a_refused_form_answers_422_with_a_summary_that_leads_to_the_fields(
    forms, clients, subtests
):
    tried = 0
    for name, form in one_of_each(forms, {*MAKES, *CHANGES}).items():
        typed = (MAKES | CHANGES)[name]
        wrong = next((one for one in typed if form.kinds.get(one) in {"number", "text"}), None)
        if wrong is None or not typed:
            continue
        with subtests.test(name), undone():
            others = {field: value for field, value in typed.items() if field != wrong}
            answer = clients[form.sender].post(
                form.action, sent(form, **others, **{wrong: "x" * 9000})
            )
            assert answer.status_code == 422
            html = answer.content.decode()
            assert "<title>Not saved: " in html
            _forms, ids = read_forms(html, form.action)
            assert len(ids) == len(set(ids))
            summary = html.split('id="refusals"')[1].split("</div>")[0]
            targets = re.findall(r'href="#([^"]*)"', summary)
            assert targets
            assert set(targets) <= set(ids)
            shown = same_form(answer, form)
            for field, value in others.items():
                assert shown.fields[field][0].replace("\r", "") == value
            tried += 1
    assert tried > 15


def test_what_was_typed_is_shown_again_after_signing_in(forms, clients, subtests, request):
    typing = {**MAKES, **CHANGES, **ACTS}
    for name, form in one_of_each(forms, typing).items():
        with subtests.test(name), undone():
            typed, before = typing[name], rows()
            client = Client()
            away = client.post(form.action, sent(form, **typed))
            assert away.status_code == 302
            assert away.url.startswith("/sign-in/")
            client.force_login(request.getfixturevalue(form.sender))
            page = client.get(form.action)
            assert page.status_code == 200
            assert "here is what you typed" in page.content.decode()
            assert rows() == before
            shown = same_form(page, form)
            # A button that was pressed is pressed again.
            for field in set(typed) & set(form.fields):
                assert shown.fields[field][0].replace("\r", "") == typed[field]
            if name in MAKES:
                client.post(form.action, dict(shown.fields) | typed)
                assert rows() != before
