"""Addresses of inspection: sheets stand on the floor and the desk, gauges below Charts."""

from django.urls import path

import plant.addresses  # noqa: F401  a name may hold a slash

from . import views

app_name = "inspection"
urlpatterns = [
    path("measure/<path:code>/", views.sheet, name="sheet"),
    path("measurement/<uuid:of>/<name:characteristic>/correct/", views.measurement_correct, name="measurement_correct"),
    path(
        "measurement/<uuid:of>/<name:characteristic>/withdraw/", views.measurement_withdraw, name="measurement_withdraw"
    ),
    path("charts/gauges/", views.gauge_list, name="gauge_list"),
    path("charts/gauges/<path:code>/", views.gauge_page, name="gauge_page"),
]
