"""The standing people of the tests: each has one role, and tests read like the society."""

import datetime
from collections.abc import Callable
from importlib import import_module

import pytest
from django.apps import apps
from django.core.cache import cache
from django.test import Client, override_settings
from hypothesis import HealthCheck, settings

from crosses.queries.fertility import forget_models
from seedbank.members.actions.roles import Role, give_role
from seedbank.members.models import Member

# How fast the machine is that runs the tests says nothing about what is tested.
settings.register_profile(
    "any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("any machine")

STARTING_LISTS = (
    ("bank", "0005_starting_cautions", "CautionRule"),
    ("exchange", "0012_starting_customs_words", "CustomsWords"),
)

NOON = datetime.datetime(2026, 5, 20, 12, tzinfo=datetime.UTC)
TODAY = NOON.date()


@pytest.fixture(autouse=True)
def quick_settings(settings):
    """Keep the tests quick and off the disk; none of these changes what a page says."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    # No folder of collected files is needed where each is looked up when it is asked for.
    settings.WHITENOISE_AUTOREFRESH = True
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }


@pytest.fixture(autouse=True)
def nothing_learnt_before():
    """Let no test read what flowers of another one taught, nor count another one's requests."""
    forget_models()
    cache.clear()


@pytest.fixture(autouse=True)
def starting_lists(request: pytest.FixtureRequest) -> None:
    """Bring back what the migrations filled in: a test on threads empties every table after it."""
    uses_database = request.node.get_closest_marker("django_db") is not None
    if not uses_database and not {"db", "transactional_db"} & set(request.fixturenames):
        return
    request.getfixturevalue("_django_db_helper")
    for app, migration, model in STARTING_LISTS:
        if not apps.get_model(app, model).objects.exists():
            # A migration writes the history by hand, for its records do not do so by themselves.
            with override_settings(SIMPLE_HISTORY_ENABLED=False):
                import_module(f"seedbank.{app}.migrations.{migration}").fill(apps, None)


@pytest.fixture
def at() -> datetime.datetime:
    """Return the moment at which things happen, unless a test says otherwise."""
    return NOON


@pytest.fixture
def today() -> datetime.date:
    return TODAY


def _member(number: str, name: str, country: str = "GB") -> Member:
    return Member.objects.create_user(
        f"{name.split()[0].lower()}@example.org",
        "a long enough word",
        number=number,
        name=name,
        country=country,
    )


@pytest.fixture
def tansy(db: None) -> Member:
    """Tansy Oddwater, a grower."""
    return _member("0001", "Tansy Oddwater")


@pytest.fixture
def cosmo(db: None) -> Member:
    """Cosmo Dribblethwaite, another grower, who gives seed."""
    return _member("0002", "Cosmo Dribblethwaite")


@pytest.fixture
def ignatius(db: None) -> Member:
    """Ignatius Plumbline, the seed keeper."""
    member = _member("0003", "Ignatius Plumbline")
    give_role(member=member, role=Role.KEEPER)
    return member


@pytest.fixture
def hettie(db: None) -> Member:
    """Hettie Quagmire, who packs."""
    member = _member("0004", "Hettie Quagmire")
    give_role(member=member, role=Role.PACKER)
    return member


@pytest.fixture
def rollo(db: None) -> Member:
    """Rollo Fiddlewick, a member abroad."""
    return _member("0005", "Rollo Fiddlewick", "AU")


@pytest.fixture
def wilhelmina(db: None) -> Member:
    """Wilhelmina Thistledrop, who reads germination history by script."""
    return _member("0006", "Wilhelmina Thistledrop")


@pytest.fixture
def solveig(db: None) -> Member:
    """Solveig Umbrage, the administrator."""
    member = _member("0007", "Solveig Umbrage")
    give_role(member=member, role=Role.ADMINISTRATOR)
    return member


@pytest.fixture
def signed_in() -> Callable[[Member], Client]:
    """Return a function that gives a browser signed in as a member."""

    def sign_in(member: Member) -> Client:
        client = Client()
        client.force_login(member)
        return client

    return sign_in


@pytest.fixture(autouse=True)
def workers_called(monkeypatch) -> list[datetime.datetime]:
    """Start no worker beside the tests, and return when one would have been called."""
    calls: list[datetime.datetime] = []
    monkeypatch.setattr("seedbank.jobs.starting.start_worker", calls.append)
    return calls
