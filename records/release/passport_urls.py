"""Addresses that anybody may open: the page of a unit under its token, and labels from before there were tokens.

What is printed on a label can't be changed any more: none of these addresses is ever given up. The name of a link's
first key, 01 for a part's number, is GS1's (Digital Link, URI syntax).
"""

from django.urls import path, re_path

from . import passport_views

app_name = "passport"
urlpatterns = [
    path("f/<str:token>/", passport_views.frame, name="frame"),
    path("f/<str:token>/report/", passport_views.report, name="report"),
    path("f/<str:token>/reported/", passport_views.reported, name="reported"),
    re_path(r"^f/(?P<token>[^/]+)/01/(?P<link>.+?)/?$", passport_views.frame, name="frame_by_link"),
    re_path(r"^01/(?P<link>.+?)/?$", passport_views.old_link, name="old_link"),
]
