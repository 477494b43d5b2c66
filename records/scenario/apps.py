from django.apps import AppConfig


class ScenarioConfig(AppConfig):
    name = "records.scenario"
