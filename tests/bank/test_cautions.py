"""The society's rules of caution: kept by the keeper, and carried by packets."""

import json
from pathlib import Path

import pytest

from crosses.base.refusal import Refused
from crosses.models import Taxon
from seedbank.bank.actions.caution import add_rule, change_rule, withdraw_rule
from seedbank.bank.kinds import cautions_of_lots
from seedbank.bank.models import CautionRule
from tests.conftest import NOON, TODAY
from tests.factories.bank import LotFactory

pytestmark = pytest.mark.django_db

FACTS = {
    "rule": "Nonesuch: lilies",
    "kind": "prohibited_genus",
    "level": "ask",
    "words": "Ask the ministry of Nonesuch.",
    "source": "invented",
    "checked_on": TODAY,
    "checked_by": "S. Umbrage",
    "genera": ["Lilium"],
    "label_words": "Ask before it goes to Nonesuch.",
}
TYPED = {**FACTS, "genera": "Lilium", "destinations": "us, nz", "checked_on": "2026-05-20"}


@pytest.fixture(autouse=True)
def no_rule_yet():
    CautionRule.objects.all().delete()


@pytest.fixture
def rule(ignatius) -> CautionRule:
    return add_rule(by=ignatius, **FACTS)


def _caution(name_text: str, **facts) -> str:
    lot = LotFactory(name_text=name_text, **facts)
    return cautions_of_lots([lot])[lot.pk]


def test_the_shipped_rules_are_what_the_table_can_hold(ignatius):
    rows = json.loads(Path("fixtures/cautions.json").read_text(encoding="utf-8"))
    for row in rows:
        rule = add_rule(by=ignatius, **row)
        rule.refresh_from_db()
        rule.full_clean()
        assert rule.as_rule().words == row["words"]
    assert CautionRule.objects.count() == len(rows)


def test_every_packet_of_a_poisonous_genus_carries_it(ignatius):
    poisonous = FACTS | {"kind": "poisonous", "genera": ["Aconitum"], "label_words": "Poisonous."}
    add_rule(by=ignatius, **poisonous)
    assert _caution("Aconitum napellus") == "Poisonous."
    assert _caution("Primula veris") == ""


def test_what_the_society_wrote_of_a_genus_goes_before_the_general_words(ignatius):
    Taxon.objects.create(genus="Aconitum", hazard_note="Wear gloves.")
    poisonous = FACTS | {"kind": "poisonous", "genera": ["Aconitum"], "label_words": "Poisonous."}
    add_rule(by=ignatius, **poisonous)
    assert _caution("Aconitum napellus") == "Wear gloves."


def test_a_protected_genus_is_marked_beside_a_lots_own_note(rule):
    assert _caution("Lilium martagon", hazard_note="Treated.") == (
        "Treated. Ask before it goes to Nonesuch."
    )


def test_a_withdrawn_rule_marks_nothing_and_stays_to_be_read(rule, ignatius):
    withdraw_rule(rule=rule, by=ignatius, at=NOON, reason="repealed")
    assert _caution("Lilium martagon") == ""
    assert CautionRule.objects.get().withdrawn_reason == "repealed"
    with pytest.raises(Refused, match="add another"):
        change_rule(changed=rule, by=ignatius, why="x", words="anew")


def test_what_a_rule_said_before_is_kept_with_who_and_why(rule, ignatius):
    change_rule(changed=rule, by=ignatius, why="new order", words="No lilies at all.")
    now, before = rule.history.all()
    assert (before.words, now.words) == ("Ask the ministry of Nonesuch.", "No lilies at all.")
    assert (now.history_user, now.history_change_reason) == (ignatius, "new order")


def test_a_rule_of_small_lots_needs_its_limits(ignatius):
    with pytest.raises(Refused, match="all three limits") as no:
        add_rule(by=ignatius, **FACTS | {"kind": "small_lots", "most_seeds": 50})
    assert no.value.field == "most_packets"


def test_the_keeper_adds_changes_and_withdraws_a_rule_on_its_pages(ignatius, signed_in):
    client = signed_in(ignatius)
    client.post("/cautions/add/", TYPED)
    rule = CautionRule.objects.get()
    assert (rule.genera, rule.destinations) == (["Lilium"], ["NZ", "US"])
    client.post(f"/cautions/{rule.pk}/", {**TYPED, "words": "Other words.", "why": "read again"})
    page = client.get(f"/cautions/{rule.pk}/").content.decode()
    assert "read again" in page
    assert "Ask the ministry of Nonesuch." in page
    client.post(f"/cautions/{rule.pk}/withdraw/", {"reason": "repealed"})
    assert "There is no rule yet." in client.get("/cautions/").content.decode()


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("destinations", "US, XQ", "“XQ” is not a country"),
        ("genera", "Lilium 7", "“7” is not the name of a genus"),
        ("source", "", "required"),
    ],
)
def test_what_cannot_be_a_rule_is_said_at_its_field_and_stays_typed(
    ignatius, signed_in, field, typed, words
):
    answer = signed_in(ignatius).post("/cautions/add/", {**TYPED, field: typed})
    assert words in str(answer.context["form"].errors[field])
    assert "Ask the ministry of Nonesuch." in answer.content.decode()
    assert not CautionRule.objects.exists()


def test_every_member_reads_the_rules_and_only_keeper_and_administrator_change_them(
    rule, tansy, solveig, signed_in
):
    client = signed_in(tansy)
    assert "Nonesuch: lilies" in client.get("/cautions/").content.decode()
    for path in ("add/", f"{rule.pk}/", f"{rule.pk}/withdraw/"):
        assert client.get(f"/cautions/{path}").status_code == 403
        assert signed_in(solveig).get(f"/cautions/{path}").status_code == 200
