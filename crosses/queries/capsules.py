"""What was seen of pollinations, as the reckoning wants it."""

from django.db.models import Prefetch, QuerySet, Sum

from crosses.calc.capsule import CapsuleState, Seen, capsule_state
from crosses.models import Check, CheckPhoto, HarvestedPollination, Pollination


def things_seen(pollination: Pollination) -> list[Seen]:
    checks = pollination.checks.filter(withdrawn_at=None).order_by("seen_on", "id")
    return [Seen(check.seen_on, check.kind, check.flowers) for check in checks]


def state_of(pollination: Pollination) -> CapsuleState:
    """Reckon where a pollination stands from its checks and harvests."""
    harvested = HarvestedPollination.objects.filter(
        pollination=pollination, harvest__withdrawn_at=None
    ).aggregate(capsules=Sum("capsules"))["capsules"]
    return capsule_state(pollination.flowers, things_seen(pollination), harvested or 0)


def state_of_loaded(pollination: Pollination) -> CapsuleState:
    """Reckon the same from checks and harvests that a list has loaded (standing ones only)."""
    seen = [Seen(check.seen_on, check.kind, check.flowers) for check in pollination.checks.all()]
    harvested = sum(line.capsules for line in pollination.harvests.all())
    return capsule_state(pollination.flowers, seen, harvested)


def checks_of(pollination: Pollination) -> QuerySet[Check]:
    """Return every look at a pollination, latest first, those taken back among them."""
    standing = CheckPhoto.objects.filter(withdrawn_at=None)
    checks = pollination.checks.select_related("logged_by", "withdrawn_by")
    checks = checks.prefetch_related(Prefetch("photos", queryset=standing))
    return checks.order_by("-seen_on", "-id")
