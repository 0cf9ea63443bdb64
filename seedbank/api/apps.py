from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "seedbank.api"

    def ready(self) -> None:
        # Importing it is what makes the schema know our keys.
        import seedbank.api.schema  # noqa: F401
