from django.apps import AppConfig


class SpcConfig(AppConfig):
    name = "records.spc"
