"""Addresses of labels: every lot and unit has one."""

from django.urls import path

from . import label_views

app_name = "labels"
urlpatterns = [
    path("file/<int:number>/", label_views.label_file, name="file"),
    path("<path:code>/", label_views.label, name="label"),
]
