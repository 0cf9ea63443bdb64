from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class JobsConfig(AppConfig):
    name = "seedbank.jobs"

    def ready(self) -> None:
        # Each app tells in its own `jobs` module which kinds of work it has for the background.
        autodiscover_modules("jobs")
