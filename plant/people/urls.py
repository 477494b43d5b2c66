"""Addresses of coming in and going out."""

from django.urls import path

from . import badges, views

app_name = "people"
urlpatterns = [
    path("in/", views.sign_in, name="sign_in"),
    path("out/", views.sign_out, name="sign_out"),
    path("typed/", views.typed, name="typed"),
    path("password/", badges.own_password, name="own_password"),
    path("pin/", badges.own_pin, name="own_pin"),
    path("language/", badges.own_language, name="own_language"),
]
