"""What was seen of pollinations, as the reckoning wants it."""

from collections.abc import Iterable
from operator import itemgetter

from django.db.models import Prefetch, QuerySet

from crosses.calc.capsule import CapsuleState, Seen, Taken, capsule_state
from crosses.models import Check, CheckPhoto, HarvestedPollination, Pollination


def happened_to(pollination: Pollination) -> list[Seen | Taken]:
    """Return what was seen of a pollination and taken from it, in the order of day and hour."""
    checks = pollination.checks.filter(withdrawn_at=None)
    harvests = pollination.harvests.filter(harvest__withdrawn_at=None).select_related("harvest")
    return _in_order(checks, harvests)


def _in_order(
    checks: Iterable[Check], harvests: Iterable[HarvestedPollination]
) -> list[Seen | Taken]:
    """Put looks and harvests in order; of one day by when each was logged, as it was done."""
    events: list[tuple[tuple[object, ...], Seen | Taken]] = [
        ((look.seen_on, look.logged_at, 0, look.pk), Seen(look.seen_on, look.kind, look.flowers))
        for look in checks
    ]
    events += [
        (
            (line.harvest.harvested_on, line.harvest.logged_at, 1, line.pk),
            Taken(line.harvest.harvested_on, line.capsules),
        )
        for line in harvests
    ]
    return [event for _when, event in sorted(events, key=itemgetter(0))]


def things_seen(pollination: Pollination) -> list[Seen]:
    return [event for event in happened_to(pollination) if isinstance(event, Seen)]


def state_of(pollination: Pollination) -> CapsuleState:
    """Reckon where a pollination stands from its checks and harvests."""
    return capsule_state(pollination.flowers, happened_to(pollination))


def state_of_loaded(pollination: Pollination) -> CapsuleState:
    """Reckon the same from checks and harvests that a list has loaded (standing ones only)."""
    happened = _in_order(pollination.checks.all(), pollination.harvests.all())
    return capsule_state(pollination.flowers, happened)


def checks_of(pollination: Pollination) -> QuerySet[Check]:
    """Return every look at a pollination, latest first, those taken back among them."""
    standing = CheckPhoto.objects.filter(withdrawn_at=None)
    checks = pollination.checks.select_related("logged_by", "withdrawn_by")
    checks = checks.prefetch_related(Prefetch("photos", queryset=standing))
    return checks.order_by("-seen_on", "-id")
