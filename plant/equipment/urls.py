"""Addresses of equipment, below Rulebook."""

from django.urls import path

from . import views

app_name = "equipment"
urlpatterns = [
    path("", views.equipment_list, name="equipment_list"),
    path("add/", views.equipment_add, name="equipment_add"),
    path("gauge/<path:code>/check/", views.gauge_calibrate, name="gauge_calibrate"),
    path("printers/", views.printer_list, name="printer_list"),
    path("printers/add/", views.printer_set, name="printer_add"),
    path("printers/<path:code>/", views.printer_set, name="printer_set"),
]
