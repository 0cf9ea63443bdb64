"""Forms are laid out by the project's own templates."""

from django.forms.renderers import TemplatesSetting


class FormRenderer(TemplatesSetting):
    form_template_name = "pieces/form.html"
    field_template_name = "pieces/field.html"
    formset_template_name = "pieces/formset.html"
