from django.apps import AppConfig
from django.db.models.signals import post_migrate


class LedgerConfig(AppConfig):
    name = "records.ledger"

    def ready(self) -> None:
        from . import among  # noqa: F401  registers the filter
        from .triggers import install_for_app

        post_migrate.connect(install_for_app, dispatch_uid="ledger.triggers")
