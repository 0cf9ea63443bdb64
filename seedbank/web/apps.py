from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "seedbank.web"
