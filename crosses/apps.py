from django.apps import AppConfig


class CrossesConfig(AppConfig):
    name = "crosses"
    verbose_name = "Crosses"
