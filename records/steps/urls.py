"""Addresses of the Plant pages."""

from django.urls import path

from . import views

app_name = "steps"
urlpatterns = [
    # plant/
    path("", views.today, name="today"),
]
