"""Addresses of charts."""

from django.urls import path

from . import views

app_name = "spc"
urlpatterns = [
    # charts/
    path("", views.chart_list, name="chart_list"),
    path("<str:part>/<str:name>/", views.chart, name="chart"),
    path("<str:part>/<str:name>/freeze/", views.limits_freeze, name="limits_freeze"),
    path("<str:part>/<str:name>/break/", views.chart_break, name="chart_break"),
    path("<str:part>/<str:name>/signal/<int:measurement>/<str:rule>/", views.signal_answer, name="signal_answer"),
]
