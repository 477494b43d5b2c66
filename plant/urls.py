"""Addresses of the site; each room includes its own."""

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path

from . import views
from .health import health

urlpatterns: list[URLPattern | URLResolver] = [
    path("", views.home, name="home"),
    path("photo/<str:name>/", views.photo, name="photo"),
    path("health/", health, name="health"),
    path("sign/", include("plant.people.urls")),
    path("floor/", include("records.floor.urls")),
    path("", include("records.inspection.urls")),
    path("charts/", include("records.spc.urls")),
    path("curves/", include("records.runs.urls")),
    path("stores/carriers/", include("records.steps.carrier_urls")),
    path("stores/", include("records.items.urls")),
    path("trace/", include("records.trace.urls")),
    path("review/", include("records.quality.urls")),
    path("review/", include("records.release.urls")),
    path("review/", include("records.floor.review_urls")),
    path("label/", include("records.release.label_urls")),
    path("", include("records.release.passport_urls")),
    path("plant/", include("records.steps.urls")),
    path("plant/", include("records.floor.plant_urls")),
    path("rulebook/", include("plant.catalogue.urls")),
    path("rulebook/people/", include("plant.people.staff")),
    path("rulebook/equipment/", include("plant.equipment.urls")),
    path("admin/", admin.site.urls),
]
