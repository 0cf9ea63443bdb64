"""Who gets in, and with what."""

import datetime

import httpx
import pytest
from django.urls import reverse
from drf_spectacular.generators import SchemaGenerator
from rest_framework.test import APIClient

from seedbank.api.schema import ROOT
from seedbank.api.views.guide import SCRIPT
from seedbank.members.actions.token import revoke_token
from seedbank.members.models import ApiToken
from seedbank.wsgi import application
from tests.conftest import NOON
from tests.factories.bank import LotFactory
from tests.factories.crosses import TaxonFactory
from tests.factories.sowings import counted_sowing

pytestmark = pytest.mark.django_db

READ = [
    "api-germination-list",
    "api-packet-list",
    "api-lot-list",
    "api-cross-list",
    "api-plant-list",
    "api-sowing-list",
    "api-list",
    "api-me",
    "api-schema",
]


@pytest.mark.parametrize("name", READ)
def test_nobody_gets_an_answer_without_signing_in(name):
    answer = APIClient().get(reverse(name))
    assert answer.status_code == 401
    assert answer["Content-Type"] == "application/problem+json"
    assert answer["WWW-Authenticate"] == "Bearer"


def test_the_summary_is_no_back_door():
    address = reverse("api-germination-summary")
    assert APIClient().get(address, {"group_by": "taxon"}).status_code == 401


@pytest.mark.parametrize("name", [name for name in READ if name != "api-list"])
@pytest.mark.parametrize("who", ["tansy", "ignatius", "hettie", "rollo", "wilhelmina", "solveig"])
def test_every_member_may_ask(name, who, with_key, request):
    member = request.getfixturevalue(who)
    assert with_key(member).get(reverse(name)).status_code == 200


def test_the_session_of_the_pages_opens_it_too(wilhelmina, signed_in):
    told = signed_in(wilhelmina).get(reverse("api-me")).json()
    assert told["number"] == wilhelmina.number
    assert told["key"] is None


def test_oneself_is_told_what_the_key_may_do_and_no_address(wilhelmina, with_key):
    told = with_key(wilhelmina).get(reverse("api-me")).json()
    assert told["key"]["scope"] == "read"
    assert "email" not in told
    assert "address" not in told


def test_a_revoked_key_opens_nothing(wilhelmina, with_key):
    script = with_key(wilhelmina)
    revoke_token(token=ApiToken.objects.get(), at=NOON)
    answer = script.get(reverse("api-me"))
    assert answer.status_code == 401
    assert "revoked" in answer.json()["detail"]


def test_a_key_that_only_reads_writes_nothing(tansy, with_key):
    answer = with_key(tansy).post(reverse("api-sowing-list"), {})
    assert answer.status_code == 403
    assert "may only read" in answer.json()["detail"]


def test_a_key_that_may_write_is_made_on_ones_own_page(tansy, signed_in):
    client = signed_in(tansy)
    client.post(reverse("token-add"), {"name": "greenhouse", "days": 30, "scope": "log"})
    client.post(reverse("token-add"), {"name": "notebook", "days": 30, "scope": "read"})
    assert dict(ApiToken.objects.values_list("name", "scope")) == {
        "greenhouse": "log",
        "notebook": "read",
    }


def test_the_guide_is_linked_from_ones_own_page_and_names_every_filter(wilhelmina, signed_in):
    client = signed_in(wilhelmina)
    assert reverse("api-guide") in client.get(reverse("profile")).text
    page = client.get(reverse("api-guide")).text
    for name in ("pollen_parent", "temperature_max_celsius", "group_by", "Idempotency-Key"):
        assert name in page


def test_the_guide_lists_every_address_of_the_schema(wilhelmina, signed_in):
    page = signed_in(wilhelmina).get(reverse("api-guide")).text
    described = SchemaGenerator().get_schema(request=None, public=True)["paths"]
    ours = [path.removeprefix(ROOT) for path in described if path.startswith(ROOT)]
    assert len(ours) > 30
    assert [path for path in ours if path not in page] == []


def test_the_drawing_on_the_guide_runs_and_draws(
    tansy, with_key, monkeypatch, tmp_path, one_connection
):
    """The script on the page is the file that runs here, asking a server of its own."""
    import importlib.util

    import matplotlib as mpl

    mpl.use("agg")
    veris = TaxonFactory()
    for day in (datetime.date(2025, 7, 1), datetime.date(2023, 7, 1)):
        lot = LotFactory(raised_by=tansy, year=day.year, collected_on=day, taxon=veris)
        counted_sowing(tansy, 30, 60, lot=lot)
    spec = importlib.util.spec_from_file_location("drawn", SCRIPT)
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    key = with_key(tansy)._credentials["HTTP_AUTHORIZATION"].removeprefix("Bearer ")
    transport = httpx.WSGITransport(app=application)
    real = httpx.Client
    monkeypatch.setattr(httpx, "Client", lambda **facts: real(transport=transport, **facts))
    found = script.ask("http://127.0.0.1:8000", key, "veris")
    assert list(found.index) == ["under 1 year", "2 to under 3 years"]
    assert list(found["seeds"]) == [60, 60]
    script.draw(found, "Primula veris", str(tmp_path / "drawn.png"))
    assert (tmp_path / "drawn.png").stat().st_size > 5000
