"""Addresses of what the floor shows in Plant."""

from django.urls import path

from . import figure_views

app_name = "figures"
urlpatterns = [
    # plant/
    path("figures/", figure_views.figures, name="figures"),
    path("figures/unsent/", figure_views.figures_unsent, name="figures_unsent"),
    path("figures/marks/", figure_views.figures_flags, name="figures_flags"),
]
