from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "plant.people"

    def ready(self) -> None:
        from plant.speaking import in_language
        from records.ledger.refusals import Refused

        Refused.tell = staticmethod(in_language)
