"""Addresses of labels: every lot, unit and thing of the works has one."""

from django.urls import path

from . import label_views, owner_views

app_name = "labels"
urlpatterns = [
    path("", label_views.label_list, name="label_list"),
    path("file/<int:number>/", label_views.label_file, name="file"),
    path("scanner-test/", label_views.scanner_test, name="scanner_test"),
    path("owner/<path:code>/close/", owner_views.passport_close, name="passport_close"),
    path("owner/<path:code>/", owner_views.passport, name="passport"),
    path("packages/<path:code>/file/", label_views.package_file, name="package_file"),
    path("packages/<path:code>/", label_views.package_labels, name="package_labels"),
    path("check/<path:code>/", label_views.label_check, name="label_check"),
    path("<path:code>/", label_views.label, name="label"),
]
