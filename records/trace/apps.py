from django.apps import AppConfig


class TraceConfig(AppConfig):
    name = "records.trace"
