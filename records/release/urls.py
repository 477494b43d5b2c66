"""Addresses of release, below Review."""

from django.urls import path

from . import views

app_name = "release"
urlpatterns = [
    path("release/<path:code>/", views.unit_release, name="unit_release"),
    path("ship/<path:code>/", views.unit_ship, name="unit_ship"),
]
