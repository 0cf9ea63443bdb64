"""An alarm stands for a capsule that exists, whatever was seen and taken before."""

import datetime

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from crosses.actions.capsule import record_check
from crosses.actions.harvest import log_harvest
from crosses.base.refusal import Refused
from crosses.calc.capsule import KINDS_OF_CHECK
from crosses.queries.watch import watch_list
from seedbank.members.models import Member
from tests.conftest import NOON, TODAY
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

SIGNS = {"swelling", "colouring", "split", "shed"}
looks = st.tuples(st.sampled_from(sorted(KINDS_OF_CHECK)), st.integers(0, 4), st.integers(0, 60))
cuts = st.tuples(st.just("harvest"), st.integers(1, 4), st.integers(0, 60))


class TestAlarms(TestCase):
    """Random histories of one record, played through the acts that write in life."""

    @settings(max_examples=25, suppress_health_check=list(HealthCheck), deadline=None)
    @given(
        flowers=st.integers(1, 4),
        age=st.integers(1, 120),
        history=st.lists(looks | cuts, max_size=6),
    )
    def test_an_alarm_is_for_what_may_still_be_there(self, flowers, age, history):
        grower = Member.objects.create_user(
            "g@example.org", "a long enough word", number="0001", name="G", country="GB"
        )
        taxon = TaxonFactory(species="", ripe_low_days=20, ripe_high_days=40)
        day = TODAY - datetime.timedelta(days=age)
        flower = make_pollination(
            grower,
            make_cross(grower, seed_parent=make_plant(grower, taxon=taxon)),
            pollinated_on=day,
            flowers=flowers,
        )
        done = [
            event for event in sorted(history, key=lambda each: each[2]) if _play(flower, event)
        ]
        flower.refresh_from_db()
        row, group = _card(grower)
        cut = sum(number for kind, number, _day in done if kind == "harvest")
        shown = {"now", "seen_today", "later"}
        # By hand: capsules known to be there are those set, less those lost and those taken in.
        if row is not None:
            left = row.state.capsules_set - row.state.capsules_harvested
            gone = sum(
                number or flowers
                for kind, number, _day in done
                if kind in {"aborted", "eaten", "shed"}
            )
            if left - gone > 0:
                assert group in shown, (done, group)
        if group in shown:
            assert cut < flowers
            has_set = row.state.capsules_open > 0
            reopened = any(kind == "still_there" for kind, _number, _day in done)
            # Beyond three times the window's end nothing that nobody saw set is waited for.
            assert has_set or reopened or age < 120
        elif group == "closed":
            assert row.state.capsules_open == 0
        if group == "now":
            record_check(pollination=flower, by=grower, at=NOON, seen_on=TODAY, kind="nothing_yet")
            assert _card(grower)[1] != "now"


def _play(flower, event):
    kind, number, days = event
    seen_on = min(flower.pollinated_on + datetime.timedelta(days=days), TODAY)
    grower = flower.logged_by
    try:
        if kind == "harvest":
            log_harvest(
                cross=flower.cross,
                by=grower,
                at=NOON,
                harvested_on=seen_on,
                capsules=[(flower, number)],
                seed_counting="not_yet",
            )
        else:
            record_check(
                pollination=flower,
                by=grower,
                at=NOON,
                seen_on=seen_on,
                kind=kind,
                flowers=number or None,
            )
    except Refused:
        return False
    return True


def _card(grower):
    found = watch_list(grower, TODAY, NOON)
    for name in ("now", "seen_today", "later", "closed"):
        for each in getattr(found, name):
            return each.row, name
    return None, ""
