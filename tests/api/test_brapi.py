"""Reading by BrAPI v2.1: every answer is held against the published schemas."""

import datetime
import json
import re

import pytest
from rest_framework.test import APIClient

from crosses.actions.plant import add_plant
from crosses.base.visibility import Visibility
from crosses.models import Cross
from seedbank.bank.actions.packet import discard, split_packet
from tests.api.brapi_judge import ROOT, WORKED_EXAMPLES, judge, published
from tests.api.conftest import lot_of_cross
from tests.conftest import NOON
from tests.factories.bank import LotFactory, packets_of
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination
from tests.factories.sowings import make_sowing

pytestmark = pytest.mark.django_db

LISTS = [
    "commoncropnames",
    "germplasm",
    "pedigree",
    "crosses",
    "plannedcrosses",
    "crossingprojects",
    "seedlots",
    "seedlots/transactions",
]


@pytest.fixture
def asking(with_key):
    """Return a function that asks as a member; the published schemas judge every answer."""

    def ask(member, path, **query):
        answer = with_key(member).get(ROOT + path, query)
        assert answer.status_code == 200, answer.content
        told = answer.json()
        judge(ROOT + path, told)
        return told

    return ask


def data(told):
    return told["result"]["data"]


@pytest.fixture
def society(tansy):
    """A cross with its seed, a seedling of it, a division, a wild plant and a planned mixture."""
    lot = lot_of_cross(tansy)
    cross = lot.harvest.cross
    packets_of(lot, 2)
    make_sowing(tansy, packets_of(lot, 1, seeds_each=30)[0], seeds_sown=10)
    seedling = make_plant(tansy, "26-07-1", origin="cross", raised_from=cross)
    division = make_plant(tansy, "26-07-1", origin="division", propagated_from=seedling)
    taxon = TaxonFactory(species="allionii", authorship="Loisel.")
    wild = make_plant(
        tansy, "Primula allionii", taxon=taxon, origin="wild", wild_country="FR", ploidy=2
    )
    mixture = make_cross(
        tansy,
        own_number="26-30",
        seed_parent=seedling,
        pollen=Cross.Pollen.MIXED,
        mixture=[(wild, 2), (division, 1)],
    )
    return {"lot": lot, "cross": cross, "seedling": seedling, "wild": wild, "mixture": mixture}


@pytest.mark.parametrize("path", LISTS)
def test_a_list_is_what_the_published_schema_says(path, society, asking, wilhelmina):
    told = asking(wilhelmina, path)
    assert data(told)
    assert told["metadata"]["pagination"]["totalCount"] == len(data(told))


def test_one_record_is_what_the_published_schema_says(society, asking, wilhelmina):
    plant, lot = society["seedling"].number, society["lot"].number
    paths = [
        f"germplasm/{plant}",
        f"germplasm/{plant}/pedigree",
        f"germplasm/{society['cross'].seed_parent.number}/progeny",
        "crossingprojects/2025",
        f"seedlots/{lot}",
        f"seedlots/{lot}/transactions",
        "serverinfo",
    ]
    for path in paths:
        told = asking(wilhelmina, path)
        assert told["result"]


@pytest.mark.parametrize("path", LISTS)
def test_an_empty_society_answers_with_empty_lists(path, asking, wilhelmina):
    told = asking(wilhelmina, path)
    assert data(told) == []
    assert told["metadata"]["pagination"]["totalPages"] == 0


def test_without_a_key_only_what_the_server_answers_is_told(society):
    stranger = APIClient()
    for path in [*LISTS, f"germplasm/{society['wild'].number}"]:
        answer = stranger.get(ROOT + path)
        assert answer.status_code == 401
        assert answer["Content-Type"] == "text/plain"
        assert answer["WWW-Authenticate"] == "Bearer"
        assert re.fullmatch(
            r"ERROR - \d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ - .+", answer.content.decode()
        )
    told = stranger.get(ROOT + "serverinfo").json()
    judge(ROOT + "serverinfo", told)
    assert "Tansy" not in json.dumps(told)


def test_every_call_that_is_promised_is_in_the_standard_and_is_answered(
    society, asking, wilhelmina
):
    calls = asking(wilhelmina, "serverinfo")["result"]["calls"]
    services = {call["service"] for call in calls}
    assert {*LISTS, "germplasm/{germplasmDbId}/pedigree", "seedlots/{seedLotDbId}"} <= services
    numbers = {
        "{germplasmDbId}": society["seedling"].number,
        "{seedLotDbId}": society["lot"].number,
        "{crossingProjectDbId}": "2025",
    }
    for service in services:
        for name, number in numbers.items():
            service = service.replace(name, number)
        published(ROOT + service)
        asking(wilhelmina, service)


def test_every_filter_of_the_standard_is_understood(society, with_key, wilhelmina):
    """Each by itself, with a value nothing has: an answer, and never a crash or a refusal."""
    script = with_key(wilhelmina)
    booleans = {"includePotentialParents", "includeParents", "includeSiblings", "includeProgeny"}
    for path in [*LISTS, f"seedlots/{society['lot'].number}/transactions"]:
        module, call = published(ROOT + path)
        for parameter in call["parameters"]:
            if "$ref" in parameter:
                parameter = module["components"]["parameters"][
                    parameter["$ref"].rsplit("/", maxsplit=1)[1]
                ]
            if parameter["in"] != "query" or parameter["name"] == "pageToken":
                continue
            kind = parameter["schema"].get("type")
            is_flag = kind == "boolean" or parameter["name"] in booleans
            value = "true" if is_flag else "1" if kind == "integer" else "TO"
            answer = script.get(ROOT + path, {parameter["name"]: value})
            assert answer.status_code == 200, (path, parameter["name"], answer.content)
            judge(ROOT + path, answer.json())


def test_what_a_society_does_not_keep_is_said_and_finds_nothing(society, asking, wilhelmina):
    told = asking(wilhelmina, "germplasm", programDbId="spring")
    assert data(told) == []
    (status,) = told["metadata"]["status"]
    assert status["messageType"] == "WARNING"
    assert "programDbId" in status["message"]


def test_a_filter_the_standard_does_not_name_is_refused(with_key, wilhelmina):
    answer = with_key(wilhelmina).get(ROOT + "germplasm", {"germplasmDbID": "P"})
    assert answer.status_code == 400
    assert "Did you mean 'germplasmDbId'?" in answer.content.decode()


@pytest.mark.parametrize(
    ("query", "named"),
    [
        ({"page": "-1"}, "page"),
        ({"page": "two"}, "page"),
        ({"pageSize": "0"}, "pageSize"),
        ({"pageSize": "²"}, "pageSize"),
    ],
)
def test_a_page_that_is_no_number_is_refused_by_name(query, named, with_key, wilhelmina):
    answer = with_key(wilhelmina).get(ROOT + "crosses", query)
    assert answer.status_code == 400
    assert f"- {named}: " in answer.content.decode()


def test_an_unknown_number_is_not_found_in_plain_text(with_key, wilhelmina):
    for path in ["germplasm/P1", "seedlots/L1", "seedlots/L1/transactions", "crossingprojects/x"]:
        answer = with_key(wilhelmina).get(ROOT + path)
        assert answer.status_code == 404
        assert answer["Content-Type"] == "text/plain"


def test_a_call_that_is_not_answered_is_not_found_in_plain_text(with_key, wilhelmina):
    for script in (with_key(wilhelmina), APIClient()):
        answer = script.get(ROOT + "trials", {"active": "true"})
        assert answer.status_code == 404
        assert "serverinfo" in answer.content.decode()


def test_nothing_is_written_this_way(with_key, tansy):
    answer = with_key(tansy, scope="log").post(ROOT + "germplasm", [], format="json")
    assert answer.status_code == 405


def test_pages_are_counted_as_in_the_standard(tansy, asking, wilhelmina):
    """20 elements by 3 make 7 pages, and the last holds 2 (BrAPI v2.1, general information)."""
    for _ in range(20):
        make_plant(tansy)
    first = asking(wilhelmina, "germplasm", pageSize=3)
    assert first["metadata"]["pagination"] == {
        "currentPage": 0,
        "pageSize": 3,
        "totalCount": 20,
        "totalPages": 7,
    }
    last = asking(wilhelmina, "germplasm", pageSize=3, page=6)
    assert last["metadata"]["pagination"]["pageSize"] == 2
    pages = [asking(wilhelmina, "germplasm", pageSize=3, page=page) for page in range(7)]
    numbers = [plant["germplasmDbId"] for page in pages for plant in data(page)]
    assert len(set(numbers)) == 20


def test_a_private_plant_is_told_to_its_keeper_only(tansy, ignatius, asking):
    plant = make_plant(tansy, visibility=Visibility.ME)
    assert [each["germplasmDbId"] for each in data(asking(tansy, "germplasm"))] == [plant.number]
    assert data(asking(ignatius, "germplasm")) == []
    assert data(asking(ignatius, "pedigree")) == []


def test_the_descent_of_a_seedling_is_as_private_as_its_cross(tansy, wilhelmina, asking):
    cross = make_cross(tansy, visibility=Visibility.ME, season=2025, own_number="secret-1")
    seedling = make_plant(tansy, "26-07-1", origin="cross", raised_from=cross)
    for path in ("germplasm", "pedigree", "crosses", "plannedcrosses", "crossingprojects"):
        assert "secret-1" not in json.dumps(asking(wilhelmina, path))
    (node,) = data(asking(wilhelmina, "pedigree", germplasmDbId=seedling.number, pedigreeDepth=0))
    assert node["parents"] == []
    assert "pedigreeString" not in node
    assert data(asking(wilhelmina, "crossingprojects")) == []
    by_parent = asking(wilhelmina, "germplasm", parentDbId=cross.seed_parent.number)
    assert data(by_parent) == []
    assert len(data(asking(tansy, "germplasm", parentDbId=cross.seed_parent.number))) == 1


def test_a_plant_tells_its_country_in_three_letters_and_no_place(society, asking, wilhelmina):
    (plant,) = data(asking(wilhelmina, "germplasm", genus="primula", species="allionii"))
    assert plant["countryOfOriginCode"] == "FRA"
    assert plant["biologicalStatusOfAccessionCode"] == "100"
    assert plant["speciesAuthority"] == "Loisel."
    assert plant["germplasmPUI"].endswith(f"/plants/{society['wild'].number}/")
    found = asking(wilhelmina, "germplasm", germplasmPUI=plant["germplasmPUI"])
    assert data(found) == [plant]


def test_parents_and_children_are_found_by_each_other(society, asking, wilhelmina):
    seedling, mother = society["seedling"].number, society["cross"].seed_parent.number
    children = data(asking(wilhelmina, "germplasm", parentDbId=mother))
    assert [child["germplasmDbId"] for child in children] == [seedling]
    parents = data(asking(wilhelmina, "germplasm", progenyDbId=seedling))
    assert mother in [parent["germplasmDbId"] for parent in parents]
    assert len(parents) == 2


def test_a_cross_tells_the_seed_parent_first_with_its_sex(society, asking, wilhelmina):
    (cross,) = data(asking(wilhelmina, "crosses"))
    assert cross["crossDbId"] == society["cross"].number
    assert cross["crossType"] == "BIPARENTAL"
    assert cross["parent1"]["germplasmDbId"] == society["cross"].seed_parent.number
    assert (cross["parent1"]["parentType"], cross["parent2"]["parentType"]) == ("FEMALE", "MALE")
    (event,) = cross["pollinationEvents"]
    assert event["pollinationSuccessful"] is True
    assert event["pollinationTimeStamp"].startswith("2025-04-12T12:00")


def test_a_mixture_of_pollen_is_a_population_without_a_number(society, asking, wilhelmina):
    planned = data(asking(wilhelmina, "plannedcrosses", plannedCrossName="26-30"))
    (cross,) = planned
    assert cross["crossType"] == "BULK"
    assert cross["parent2"]["parentType"] == "POPULATION"
    assert "germplasmDbId" not in cross["parent2"]


def test_a_planned_cross_is_done_once_a_flower_was_pollinated(tansy, asking, wilhelmina):
    """Whether a cross was let be is told by the calendar, so this one is of a far year."""
    cross = make_cross(tansy, season=2199)
    old = make_cross(tansy, season=1999)
    status = {
        each["plannedCrossDbId"]: each["status"]
        for each in data(asking(wilhelmina, "plannedcrosses"))
    }
    assert status == {cross.number: "TODO", old.number: "SKIPPED"}
    make_pollination(tansy, cross, pollinated_on=datetime.date(2026, 4, 12))
    for wanted, numbers in {"DONE": [cross.number], "SKIPPED": [old.number], "TODO": []}.items():
        found = data(asking(wilhelmina, "plannedcrosses", status=wanted))
        assert [each["plannedCrossDbId"] for each in found] == numbers


def test_a_season_tells_its_parents_where_they_are_asked_for(society, asking, wilhelmina):
    without = data(asking(wilhelmina, "crossingprojects", crossingProjectDbId="2025"))
    assert "potentialParents" not in without[0]
    asked = {"crossingProjectName": "Season 2025", "includePotentialParents": "true"}
    (season,) = data(asking(wilhelmina, "crossingprojects", **asked))
    types = {each["parentType"] for each in season["potentialParents"]}
    assert types == {"FEMALE", "MALE"}


def test_the_transactions_of_a_lot_add_up_to_its_amount(tansy, asking):
    lot = LotFactory(raised_by=tansy, seeds=200, seed_counting="counted")
    first, second, third = packets_of(lot, 3, seeds_each=40)
    make_sowing(tansy, first, seeds_sown=15)
    split_packet(packet=second, parts=[25, 15], by=tansy, at=NOON)
    discard(packet=third, by=tansy, at=NOON, why="mouldy")
    told = asking(tansy, f"seedlots/{lot.number}")["result"]
    transactions = data(asking(tansy, f"seedlots/{lot.number}/transactions"))
    came = sum(each["amount"] for each in transactions if "toSeedLotDbId" in each)
    went = sum(each["amount"] for each in transactions if "fromSeedLotDbId" in each)
    assert told["amount"] == came - went == 40 - 15 + 40
    only_out = asking(tansy, f"seedlots/{lot.number}/transactions", transactionDirection="FROM")
    assert sum(each["amount"] for each in data(only_out)) == went
    one = transactions[0]["transactionDbId"]
    found = asking(tansy, "seedlots/transactions", transactionDbId=one)
    assert data(found) == [transactions[0]]


def test_a_lot_of_a_cross_names_it_and_one_of_a_private_cross_does_not(
    society, tansy, asking, wilhelmina
):
    (lot,) = data(asking(wilhelmina, "seedlots", crossDbId=society["cross"].number))
    assert lot["seedLotDbId"] == society["lot"].number
    assert lot["contentMixture"][0]["crossDbId"] == society["cross"].number
    Cross.objects.filter(pk=society["cross"].pk).update(visibility=Visibility.ME)
    assert data(asking(wilhelmina, "seedlots", crossDbId=society["cross"].number)) == []
    told = asking(wilhelmina, f"seedlots/{society['lot'].number}")["result"]
    assert "crossDbId" not in told["contentMixture"][0]


@pytest.mark.parametrize("path", LISTS)
def test_more_records_cost_no_more_queries(
    path, society, tansy, with_key, django_assert_max_num_queries
):
    script = with_key(tansy)
    script.get("/api/v1/me/")
    with django_assert_max_num_queries(16):
        few = script.get(ROOT + path).json()
    for _ in range(3):
        make_plant(tansy, raised_from=lot_of_cross(tansy).harvest.cross, origin="cross")
        packets_of(LotFactory(raised_by=tansy), 2)
    with django_assert_max_num_queries(16):
        many = script.get(ROOT + path).json()
    if path not in ("commoncropnames", "crossingprojects"):
        assert len(data(many)) > len(data(few))


# The worked examples of the standard, on plants of the same descent.
_CROSSED = [("05", "02", "01"), ("06", "02", "01"), ("07", "04", "03"), ("08", "04", "03")]
_LATER = [("10", "07", "06"), ("11", "07", "06"), ("12", "10", "09"), ("13", "08", "11")]


@pytest.fixture
def worked_tree(tansy):
    """The thirteen plants of the worked examples, by their names there."""
    plants = {name: make_plant(tansy, f"Germplasm {name}") for name in ("01", "02", "03", "04")}

    def raise_from(name, seed_parent, pollen_parent):
        same = {"seed_parent": plants[seed_parent], "own_number": name, "season": 2025}
        cross = (
            make_cross(tansy, pollen=Cross.Pollen.SELF, **same)
            if pollen_parent is None
            else make_cross(tansy, pollen_parent=plants[pollen_parent], **same)
        )
        plants[name] = add_plant(
            keeper=tansy,
            by=tansy,
            at=NOON,
            name_text=f"Germplasm {name}",
            raised_from=cross,
            origin="cross",
        )

    for names in _CROSSED:
        raise_from(*names)
    raise_from("09", "05", None)
    for names in _LATER:
        raise_from(*names)
    return plants


@pytest.mark.parametrize("example", [0, 2, 3, 4])
def test_a_pedigree_is_the_one_of_the_worked_example(example, worked_tree, asking, tansy):
    example = WORKED_EXAMPLES[example]
    query = dict(part.split("=") for part in example["request"].partition("?")[2].split("&"))
    query["germplasmDbId"] = worked_tree[query["germplasmDbId"].removeprefix("germ")].number
    nodes = data(asking(tansy, "pedigree", **query))

    def names(relatives):
        return sorted(
            (each["germplasmName"][-2:], each.get("parentType")) for each in relatives or ()
        )

    assert {node["germplasmName"][-2:] for node in nodes} == {
        node["germplasmDbId"][-2:] for node in example["nodes"]
    }
    by_name = {node["germplasmName"][-2:]: node for node in nodes}
    for wanted in example["nodes"]:
        told = by_name[wanted["germplasmDbId"][-2:]]
        for relatives in ("parents", "siblings", "progeny"):
            assert names(told.get(relatives)) == names(wanted.get(relatives)), relatives
