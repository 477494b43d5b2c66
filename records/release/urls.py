"""Addresses of release, below Review."""

from django.urls import path

from . import views

app_name = "release"
urlpatterns = [
    path("going/", views.going, name="going"),
    path("gone/", views.gone, name="gone"),
    path("release/<path:code>/", views.unit_release, name="unit_release"),
    path("dossier/<path:code>/", views.unit_dossier, name="unit_dossier"),
    path("traveller/<path:code>/", views.unit_traveller, name="unit_traveller"),
    path("ship/<path:code>/", views.unit_ship, name="unit_ship"),
]
