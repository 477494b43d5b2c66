from django.apps import AppConfig


class FloorConfig(AppConfig):
    name = "records.floor"
