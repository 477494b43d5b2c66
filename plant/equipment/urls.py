"""Addresses of equipment, below Rulebook."""

from django.urls import path

from . import views

app_name = "equipment"
urlpatterns = [
    path("", views.equipment_list, name="equipment_list"),
    path("add/", views.equipment_add, name="equipment_add"),
    path("gauge/<path:code>/check/", views.gauge_calibrate, name="gauge_calibrate"),
]
