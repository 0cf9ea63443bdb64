from django.apps import AppConfig


class SowingsConfig(AppConfig):
    name = "seedbank.sowings"
