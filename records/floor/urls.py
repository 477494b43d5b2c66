"""Addresses of the floor."""

from django.urls import path

from . import entries, tablet, views

app_name = "floor"
urlpatterns = [
    # floor/
    path("", views.station_list, name="station_list"),
    path("entries/", entries.entries_take, name="entries_take"),
    path("photos/", entries.photo_take, name="photo_take"),
    path("snapshot/", tablet.snapshot, name="snapshot"),
    path("worker.js", tablet.worker, name="worker"),
    path("shell/", tablet.shell, name="shell"),
    path("words/<slug:language>/", tablet.words, name="words"),
    path("kept/", tablet.shell, name="kept"),
    path("file/", tablet.file_take, name="file_take"),
    path("at/<str:station>/", views.station_page, name="station"),
    path("at/<str:station>/unit/<path:code>/", views.unit_here, name="unit_here"),
    path("at/<str:station>/log/<str:name>/", views.log_page, name="log"),
]
