"""Addresses of carriers, below Stores."""

from django.urls import path

from . import carrier_views

app_name = "carriers"
urlpatterns = [
    path("", carrier_views.carrier_list, name="carrier_list"),
    path("put/<path:code>/", carrier_views.carrier_put, name="carrier_put"),
    path("back/<path:code>/", carrier_views.carrier_back, name="carrier_back"),
    path("off/<path:code>/", carrier_views.carrier_off, name="carrier_off"),
]
