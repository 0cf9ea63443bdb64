"""What is seen of a flower on a day."""

import datetime
from typing import Any

from django import forms

from crosses.base.pages import KeyedForm
from crosses.forms.fields import PhotoField, day_field
from crosses.models import Check

# What is seen on most days; the rest stands on the flower's own page.
ONE_TAP_KINDS = [
    (Check.Kind.NOTHING_YET, "Nothing yet"),
    (Check.Kind.COROLLA_FADED, "Corolla faded"),
    (Check.Kind.SWELLING, "Swelling"),
    (Check.Kind.COLOURING, "Colouring"),
    (Check.Kind.SPLIT, "Split"),
    (Check.Kind.ABORTED, "Aborted"),
    (Check.Kind.EATEN, "Eaten"),
]


PHOTO_HELP = (
    "Only the picture is kept: where and when it was taken is removed. Whoever may see the cross"
    " may see it."
)


class CheckForm(KeyedForm):
    """One look; the kind is the button that was pressed."""

    seen_on = day_field(label="Day")
    kind = forms.ChoiceField(choices=Check.Kind.choices, label="What you see")
    flowers = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=999,
        label="On how many",
        help_text="Empty: on all that are still open.",
    )
    note = forms.CharField(required=False, max_length=200, label="Note")
    photo = PhotoField(required=False, label="Photo", help_text=PHOTO_HELP)

    def __init__(self, *args: Any, today: datetime.date, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["seen_on"].initial = today


class PhotoForm(KeyedForm):
    """A photo of a look that is written down already."""

    photo = PhotoField(label="Photo", help_text=PHOTO_HELP)
