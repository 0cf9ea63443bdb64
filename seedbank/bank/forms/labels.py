"""Which sheet labels are printed on."""

from typing import Any

from django import forms

from crosses.calc.errors import BadInput
from seedbank.formats.labelsheet import SHEETS, LabelSheet, check_sheet

OWN_MEASURES = "own"


class LabelForm(forms.Form):
    """Which sheet the labels are printed on; own measures in millimetres."""

    sheet = forms.ChoiceField(
        label="Sheet", choices=[*((name, name) for name in SHEETS), (OWN_MEASURES, "own measures")]
    )
    start_at = forms.IntegerField(
        label="First free place",
        min_value=1,
        initial=1,
        required=False,
        help_text="Counted row by row; 1 on a new sheet.",
    )
    columns = forms.IntegerField(required=False, min_value=1, max_value=10, label="Columns")
    rows = forms.IntegerField(required=False, min_value=1, max_value=20, label="Rows")
    width_mm = forms.FloatField(required=False, label="Label width, mm")
    height_mm = forms.FloatField(required=False, label="Label height, mm")
    left_mm = forms.FloatField(required=False, label="Left margin, mm")
    top_mm = forms.FloatField(required=False, label="Top margin, mm")
    gap_across_mm = forms.FloatField(required=False, label="Gap across, mm")
    gap_down_mm = forms.FloatField(required=False, label="Gap down, mm")

    measures = ("columns", "rows", "width_mm", "height_mm", "left_mm", "top_mm")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("sheet") == OWN_MEASURES:
            for name in self.measures:
                if cleaned.get(name) is None and name not in self.errors:
                    self.add_error(name, "Own measures need this one.")
        if self.errors or "sheet" not in cleaned:
            return cleaned
        cleaned["label_sheet"] = self._sheet(cleaned)
        start_at = cleaned.get("start_at") or 1
        if start_at > cleaned["label_sheet"].per_page:
            per_page = cleaned["label_sheet"].per_page
            self.add_error("start_at", f"This sheet has {per_page} places.")
        cleaned["start_at"] = start_at
        return cleaned

    def _sheet(self, cleaned: dict[str, Any]) -> LabelSheet:
        if cleaned["sheet"] != OWN_MEASURES:
            return SHEETS[cleaned["sheet"]]
        sheet = LabelSheet(
            columns=cleaned["columns"],
            rows=cleaned["rows"],
            width_mm=cleaned["width_mm"],
            height_mm=cleaned["height_mm"],
            left_mm=cleaned["left_mm"],
            top_mm=cleaned["top_mm"],
            gap_across_mm=cleaned["gap_across_mm"] or 0.0,
            gap_down_mm=cleaned["gap_down_mm"] or 0.0,
        )
        try:
            check_sheet(sheet)
        except BadInput as wrong:
            self.add_error(wrong.field, wrong.message)
        return sheet
