"""Open a round and set its rules; what the draw depends on stands still once the list is out."""

import datetime
import secrets
from typing import Any

from django.db import IntegrityError, transaction

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from seedbank.calc.lottery import SECRET_BYTES, commitment
from seedbank.calc.pseudonym import KEY_BYTES
from seedbank.exchange.models import Round
from seedbank.members.models import Member

# What may still be put right when members are already choosing.
CHANGED_ANY_TIME = {"name", "wishes_close_at", "posting_from", "rules_text"}


@transaction.atomic
def open_round(*, by: Member, at: datetime.datetime, slug: str, name: str, **facts: Any) -> Round:
    """Open a round; the draw is committed to in the same moment, before anybody wishes."""
    secret = secrets.token_bytes(SECRET_BYTES)
    opened = Round(
        slug=slug,
        name=name,
        opened_by=by,
        draw_secret=secret.hex(),
        pseudonym_key=secrets.token_hex(KEY_BYTES),
        draw_commitment=commitment(secret),
        **facts,
    )
    _check_dates(opened)
    try:
        with transaction.atomic():
            save_with_history(opened, by=by, why="Opened.")
    except IntegrityError as taken:
        raise Refused(
            "round-exists", "There is a round with this short name already.", field="slug"
        ) from taken
    return opened


@transaction.atomic
def change_round(
    *, round: Round, by: Member, at: datetime.datetime, why: str, **facts: Any
) -> Round:
    round = Round.objects.select_for_update().get(pk=round.pk)
    changed = {name for name, value in facts.items() if getattr(round, name) != value}
    if round.is_published and changed - CHANGED_ANY_TIME:
        first = sorted(changed - CHANGED_ANY_TIME)[0]
        raise Refused(
            "round-published",
            "The list is out: members chose by this rule, so it stands.",
            field=first,
        )
    if round.frozen_at and "wishes_close_at" in changed:
        raise Refused(
            "round-frozen",
            "The wishes are frozen; the closing cannot move now.",
            field="wishes_close_at",
        )
    for name in changed:
        setattr(round, name, facts[name])
    _check_dates(round)
    if changed:
        save_with_history(round, by=by, why=why)
    return round


def _check_dates(round: Round) -> None:
    if round.wishes_close_at <= round.list_opens_at:
        raise Refused(
            "closes-too-early", "Wishes close after the list opens.", field="wishes_close_at"
        )
    if round.donations_close_at and round.donations_close_at > round.list_opens_at:
        raise Refused(
            "donations-too-late",
            "Donations close before the list opens.",
            field="donations_close_at",
        )
    if round.posting_from and round.posting_from < round.wishes_close_at.date():
        raise Refused(
            "posts-too-early", "Parcels are posted after wishes close.", field="posting_from"
        )
