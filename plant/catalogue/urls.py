"""Addresses of the Rulebook."""

from django.urls import path

from . import views

app_name = "catalogue"
urlpatterns = [
    # rulebook/
    path("", views.rulebook, name="rulebook"),
    path("propose/<str:kind>/", views.change_propose, name="change_propose"),
    path("proposal/<int:number>/", views.proposal, name="proposal"),
]
