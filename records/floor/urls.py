"""Addresses of the floor."""

from django.urls import path

from . import entries, views

app_name = "floor"
urlpatterns = [
    # floor/
    path("", views.station_list, name="station_list"),
    path("entries/", entries.entries_take, name="entries_take"),
    path("at/<str:station>/", views.station_page, name="station"),
    path("at/<str:station>/unit/<path:code>/", views.unit_here, name="unit_here"),
    path("at/<str:station>/log/<str:name>/", views.log_page, name="log"),
]
