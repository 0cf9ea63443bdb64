"""Generated requests to every address of the schema, as each role.

Nothing may break, no answer may lie outside the schema, and nothing may show that is another's. The
requests are the same on every run. Numbers and days are replaced by numbers that exist, of
records one may see and of hidden ones, and by days of the season: or hardly any request would find
anything.
"""

import itertools
import re
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import schemathesis
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from crosses.base.visibility import Visibility
from crosses.models import Pollination
from seedbank.members.models import Member
from seedbank.wsgi import application
from tests.api.conftest import in_true_numbers, lot_of_cross
from tests.factories.bank import packets_of
from tests.factories.crosses import make_plant
from tests.factories.exchange import OPENS, listed_round, stored_lot, wish
from tests.factories.members import AddressFactory
from tests.factories.sowings import counted_sowing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("one_connection")]

REQUESTS_AN_ADDRESS = 4
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
ROLES = {
    "anonymous": (None, ""),
    "a reader's key": ("wilhelmina", "read"),
    "a writer's key": ("tansy", "log"),
    "a packer": ("hettie", "log"),
    "a keeper": ("ignatius", "keep"),
    "an administrator": ("solveig", "keep"),
}
# In names, notes and places of what is hidden, and in addresses; no answer may hold it.
SECRET = "hushwort"


@pytest.fixture
def society(request, tansy, cosmo, ignatius, rollo, time_machine):
    """Somebody's records of every kind, and hidden ones beside them."""
    time_machine.move_to(OPENS, tick=False)
    cosmo.donor_code = "Q002"
    cosmo.save()
    AddressFactory(member=rollo, lines=f"1 {SECRET} Lane")
    shown, hidden = lot_of_cross(tansy), _hidden(cosmo)
    lots = [shown, hidden]
    packets = [packets_of(lot, 2, seeds_each=40)[0] for lot in lots]
    counted = [
        counted_sowing(tansy, 30, 60, lot=shown),
        counted_sowing(cosmo, 9, 20, lot=hidden, visibility=Visibility.ME, note=SECRET),
    ]
    found = listed_round(ignatius, in_true_numbers(stored_lot()))
    wish(found, rollo, 1)
    return {
        "cross": [lot.harvest.cross.number for lot in lots],
        "plant": [lot.harvest.cross.seed_parent.number for lot in lots],
        "pollination": list(Pollination.objects.values_list("number", flat=True)),
        "harvest": [lot.harvest.number for lot in lots],
        "lot": [lot.number for lot in lots],
        "packet": [packet.number for packet in packets],
        "sowing": [sowing.number for sowing in counted],
        "donation": ["D000001-00"],
        "parcel": ["Z000001-00"],
        "day": ["2026-05-18", "2026-05-01", "2099-01-01"],
        "key": (str(number) for number in itertools.count()),
        "version": ["*", '"of-yesterday"'],
        "slug": [found.slug, "no-such-round"],
    }


def _hidden(grower: Member) -> Any:
    plant = make_plant(grower, f"Primula '{SECRET}'", visibility=Visibility.ME)
    lot = lot_of_cross(grower, seed_parent=plant, aim=SECRET, visibility=Visibility.ME)
    lot.note = SECRET
    lot.save()
    return lot


@pytest.fixture(scope="module")
def schema() -> Any:
    described = SchemaGenerator().get_schema(request=None, public=True)
    return schemathesis.openapi.from_dict(described)


KIND_OF = {
    "seed_parent": "plant",
    "pollen_parent": "plant",
    "propagated_from": "plant",
    "raised_from": "cross",
    "other": "plant",
}


def _put_known(told: Any, known: dict[str, Iterator[str]]) -> Any:
    """Put numbers that exist in the place of those made up."""
    if isinstance(told, list):
        return [_put_known(each, known) for each in told]
    if not isinstance(told, dict):
        return told
    kinds = {name: "day" if name.endswith("_on") else KIND_OF.get(name, name) for name in told}
    return {
        name: next(known[kinds[name]])
        if kinds[name] in known and isinstance(value, str)
        else _put_known(value, known)
        for name, value in told.items()
    }


def _kind_at(path: str) -> str:
    plural = re.match(r"/api/v1/(\w+)/", path)
    name = plural.group(1) if plural else ""
    return {"germination": "sowing", "crosses": "cross"}.get(name, name.removesuffix("s"))


def _ask(client: Any, case: Any, operation: Any, known: dict[str, Iterator[str]]) -> Any:
    case.path_parameters = dict(case.path_parameters or {})
    if "number" in case.path_parameters:
        case.path_parameters["number"] = next(known[_kind_at(operation.path)])
    case.path_parameters = _put_known(case.path_parameters, known)
    case.body = _put_known(case.body, known)
    if operation.method != "get":
        case.headers = {"Idempotency-Key": next(known["key"]), "If-Match": next(known["version"])}
    return case.call(app=application, headers=client.headers)


class _Script:
    """Who asks: the headers of a key, or none."""

    def __init__(self, secret: str) -> None:
        self.headers = {"Authorization": f"Bearer {secret}"} if secret else {}


@pytest.fixture
def script_of(request) -> Callable[[str], _Script]:
    def script(role: str) -> _Script:
        name, scope = ROLES[role]
        if name is None:
            return _Script("")
        import datetime

        from crosses.base.clock import now
        from seedbank.members.actions.token import make_token

        member = request.getfixturevalue(name)
        life = datetime.timedelta(days=30)
        return _Script(make_token(member=member, name="f", at=now(), life=life, scope=scope)[1])

    return script


def _each_request(operation: Any, act: Callable[[Any], None]) -> None:
    @settings(
        max_examples=REQUESTS_AN_ADDRESS,
        derandomize=True,
        deadline=None,
        database=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy())
    def each(case: Any) -> None:
        act(case)

    each()


@pytest.mark.parametrize("role", ROLES)
def test_no_request_breaks_anything_or_shows_what_is_anothers(role, schema, society, script_of):
    script = script_of(role)
    known = {kind: itertools.cycle(numbers) for kind, numbers in society.items()}
    statuses: Counter[int] = Counter()
    faults: list[str] = []
    for result in schema.get_all_operations():
        operation = result.ok()

        def ask(case: Any) -> None:
            answer = _ask(script, case, operation, known)  # noqa: B023  done within this round
            statuses[answer.status_code] += 1
            try:
                case.validate_response(answer, checks=CHECKS)
            except FailureGroup as group:
                faults.extend(f"{case.method} {case.path}: {each}" for each in group.exceptions)
            if SECRET in answer.text:
                faults.append(f"{case.method} {case.formatted_path} shows what is hidden")
            if role == "anonymous" and answer.status_code != 401:
                faults.append(f"{case.method} {case.path} answers {answer.status_code} to nobody")

        _each_request(operation, ask)
    assert faults == []
    # Else it would be a test of refusals only.
    assert role == "anonymous" or statuses[200] > 30
    assert ROLES[role][1] != "log" or statuses[201] > 0
