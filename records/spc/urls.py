"""Addresses of charts."""

from django.urls import path

import plant.addresses  # noqa: F401  a name may hold a slash

from . import views

app_name = "spc"
urlpatterns = [
    # charts/
    path("", views.chart_list, name="chart_list"),
    path("<name:part>/<name:name>/", views.chart, name="chart"),
    path("<name:part>/<name:name>/freeze/", views.limits_freeze, name="limits_freeze"),
    path("<name:part>/<name:name>/break/", views.chart_break, name="chart_break"),
    path("<name:part>/<name:name>/signal/<int:measurement>/<str:rule>/", views.signal_answer, name="signal_answer"),
]
