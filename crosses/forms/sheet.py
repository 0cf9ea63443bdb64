"""Which sheet or tape labels are printed on."""

from typing import Any

from django import forms
from django.http import HttpRequest

from crosses.base.typed import FloatField
from crosses.calc.errors import BadInput
from crosses.formats.labelsheet import (
    LEAST_HEIGHT_MM,
    SHEETS,
    LabelSheet,
    check_sheet,
    tape,
)

SESSION_KEY = "label-sheet"
OWN_MEASURES = "own"
TAPE = "tape"
_OF_A_SHEET = ("columns", "rows", "width_mm", "height_mm", "left_mm", "top_mm")
_OF_A_TAPE = ("width_mm", "height_mm")
_GAPS = ("gap_across_mm", "gap_down_mm")


class SheetForm(forms.Form):
    """Which sheet the labels are printed on; own measures in millimetres."""

    sheet = forms.ChoiceField(
        label="Sheet or tape",
        choices=[
            *((name, name) for name in SHEETS),
            (OWN_MEASURES, "a sheet of own measures"),
            (TAPE, "a continuous tape"),
        ],
    )
    start_at = forms.IntegerField(
        label="First free place",
        min_value=1,
        initial=1,
        required=False,
        help_text="Counted row by row; 1 on a new sheet.",
    )
    width_mm = FloatField(required=False, label="Label width, mm", help_text="Along a tape.")
    height_mm = FloatField(required=False, label="Label height, mm", help_text="Of a tape.")
    columns = forms.IntegerField(required=False, min_value=1, max_value=10, label="Columns")
    rows = forms.IntegerField(required=False, min_value=1, max_value=20, label="Rows")
    left_mm = FloatField(required=False, label="Left margin, mm")
    top_mm = FloatField(required=False, label="Top margin, mm")
    gap_across_mm = FloatField(required=False, label="Gap across, mm")
    gap_down_mm = FloatField(required=False, label="Gap down, mm")

    def __init__(
        self, *args: Any, least_height_mm: float = LEAST_HEIGHT_MM, **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self.least_height_mm = least_height_mm

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        needed = {OWN_MEASURES: _OF_A_SHEET, TAPE: _OF_A_TAPE}.get(cleaned.get("sheet", ""), ())
        for name in needed:
            if cleaned.get(name) is None and name not in self.errors:
                self.add_error(name, "Own measures need this one.")
        if self.errors or "sheet" not in cleaned:
            return cleaned
        sheet = cleaned["label_sheet"] = self._sheet(cleaned)
        cleaned["start_at"] = cleaned.get("start_at") or 1
        if sheet.per_page == 1:
            # A tape has no used places.
            cleaned["start_at"] = 1
        elif cleaned["start_at"] > sheet.per_page:
            self.add_error("start_at", f"This sheet has {sheet.per_page} places.")
        return cleaned

    def _sheet(self, cleaned: dict[str, Any]) -> LabelSheet:
        if cleaned["sheet"] in SHEETS:
            return SHEETS[cleaned["sheet"]]
        if cleaned["sheet"] == TAPE:
            sheet = tape(cleaned["width_mm"], cleaned["height_mm"])
        else:
            measures: dict[str, Any] = {name: cleaned[name] for name in _OF_A_SHEET}
            measures |= {name: cleaned[name] or 0.0 for name in _GAPS}
            sheet = LabelSheet(**measures)
        try:
            check_sheet(sheet, least_height_mm=self.least_height_mm)
        except BadInput as wrong:
            self.add_error(wrong.field, wrong.message)
        return sheet

    def to_remember(self, labels_printed: int) -> dict[str, Any]:
        """Return what the form begins with next time: the same sheet, at its next free place."""
        cleaned = self.cleaned_data
        used = cleaned["start_at"] - 1 + labels_printed
        kept = {name: cleaned[name] for name in ("sheet", *_OF_A_SHEET, *_GAPS)}
        return {**kept, "start_at": used % cleaned["label_sheet"].per_page + 1}


def remembered_sheet(request: HttpRequest) -> dict[str, Any]:
    """Return what was printed on last, with its next free place."""
    kept: dict[str, Any] = request.session.get(SESSION_KEY, {})
    return dict(kept)


def remember_sheet(request: HttpRequest, form: SheetForm, *, labels_printed: int) -> None:
    request.session[SESSION_KEY] = form.to_remember(labels_printed)
