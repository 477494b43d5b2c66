"""Addresses of Review."""

from django.urls import path

from . import views

app_name = "quality"
urlpatterns = [
    path("", views.bench, name="bench"),
    path("decided/", views.past, name="past"),
    path("note/<path:code>/", views.departure_note, name="departure_note"),
    path("aside/<path:code>/", views.unit_aside, name="unit_aside"),
    path("rework/<path:code>/", views.unit_rework, name="unit_rework"),
    path("departure/<str:code>/decide/", views.departure_decide, name="departure_decide"),
    path("departure/<str:code>/countersign/", views.departure_countersign, name="departure_countersign"),
    path("departure/<str:code>/contact/", views.contact_erase, name="contact_erase"),
    path("departure/<path:code>/", views.departure, name="departure"),  # a symbol may hold slashes
    path("unplaced/<uuid:entry>/", views.unplaced_settle, name="unplaced_settle"),
    path("flag/<int:flag>/", views.flag_answer, name="flag_answer"),
    path("swap/", views.labels_swap, name="labels_swap"),
    path("swap/<uuid:swap>/", views.swap_confirm, name="swap_confirm"),
]
