"""What is seen of a flower on a day."""

import datetime
from typing import Any

from crosses.base.fact_forms import FactsForm
from crosses.base.pages import KeyedForm
from crosses.facts.capsule import CHECK
from crosses.forms.fields import PhotoField

PHOTO_HELP = (
    "Only the picture is kept: where and when it was taken is removed. Whoever may see the cross"
    " may see it."
)


class CheckForm(FactsForm, KeyedForm):
    """One look; the kind is the button that was pressed."""

    declared = CHECK

    photo = PhotoField(required=False, label="Photo", help_text=PHOTO_HELP)

    def __init__(self, *args: Any, today: datetime.date, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["seen_on"].initial = today


class PhotoForm(KeyedForm):
    """A photo of a look that is written down already."""

    photo = PhotoField(label="Photo", help_text=PHOTO_HELP)
