import datetime
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from rest_framework.test import APIClient

from crosses.base.visibility import Visibility
from seedbank.bank.actions.lot import make_lot_from_harvest
from seedbank.bank.models import Lot
from seedbank.members.actions.token import make_token
from seedbank.members.models import ApiToken, Member
from seedbank.sowings.models import Sowing
from tests.conftest import NOON
from tests.factories.crosses import make_cross, make_pollination
from tests.factories.sowings import counted_sowing


class Script(APIClient):
    """A script that makes an Idempotency-Key for each write, unless a test gives one."""

    def generic(self, method: str, path: str, *args: Any, **extra: Any) -> Any:
        if method not in {"GET", "HEAD", "OPTIONS"}:
            own = {"Idempotency-Key": str(uuid.uuid4())}
            extra["headers"] = own | (extra.get("headers") or {})
        return super().generic(method, path, *args, **extra)


@pytest.fixture
def with_key() -> Callable[..., Script]:
    """Return a function that gives a script with a key of a member."""

    def script(member: Member, *, scope: str = ApiToken.Scope.READ) -> Script:
        # Keys are read against the clock of the machine, so this one lives from now on.
        from crosses.base.clock import now

        life = datetime.timedelta(days=30)
        _token, secret = make_token(
            member=member, name="notebook", at=now(), life=life, scope=scope
        )
        client = Script()
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
        return client

    return script


@pytest.fixture
def one_connection():
    """Leave the connection open between requests, as Django's own test client does."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


def in_true_numbers(lot: Lot) -> Lot:
    """Give a lot of the factory a number with its check digits, as addresses want it."""
    from crosses.base.numbers import next_number

    lot.number = next_number("lot")
    lot.save()
    return lot


def lot_of_cross(grower: Member, **cross_facts: Any) -> Lot:
    """A lot from a harvested capsule of a new cross, with all its records."""
    from crosses.actions.capsule import record_check
    from crosses.actions.harvest import log_harvest

    cross = make_cross(grower, season=2025, **cross_facts)
    flower = make_pollination(grower, cross, pollinated_on=datetime.date(2025, 4, 12), flowers=3)
    record_check(
        pollination=flower,
        by=grower,
        at=NOON,
        seen_on=datetime.date(2025, 5, 2),
        kind="swelling",
    )
    harvest = log_harvest(
        cross=cross,
        by=grower,
        at=NOON,
        harvested_on=datetime.date(2025, 7, 24),
        capsules=[(flower, 3)],
        seed_counting="counted",
        seeds=400,
    )
    return make_lot_from_harvest(harvest=harvest, by=grower, at=NOON)


@pytest.fixture
def lemon_lot(tansy) -> Lot:
    """Seed of 'Quillfeather Smoke' with pollen of 'Oddwater Lemon'."""
    tansy.donor_code = "Q001"
    tansy.save()
    return lot_of_cross(tansy)


@pytest.fixture
def lemon_sowing(tansy, lemon_lot) -> Sowing:
    return counted_sowing(tansy, 78, 120, lot=lemon_lot)


@pytest.fixture
def private_sowing(tansy, lemon_lot) -> Sowing:
    """A sowing of the same lot that its grower keeps to herself."""
    return counted_sowing(tansy, 0, 100, lot=lemon_lot, visibility=Visibility.ME)
