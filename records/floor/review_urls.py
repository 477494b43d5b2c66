"""Addresses of what the floor shows in Review: bad days, and entries to be looked at."""

from django.urls import path

from . import kept_views, sheet_views, tablet_views

app_name = "days"
urlpatterns = [
    # review/
    path("bad-days/", sheet_views.bad_days, name="bad_days"),
    path("bad-days/print/", sheet_views.sheet_print, name="sheet_print"),
    path("bad-days/<str:code>/", sheet_views.sheet, name="sheet"),
    path("bad-days/<str:code>/file/", sheet_views.sheet_file, name="sheet_file"),
    path("bad-days/<str:code>/back/", sheet_views.sheet_return, name="sheet_return"),
    path("bad-days/<str:code>/line/<int:n>/", sheet_views.line_enter, name="line_enter"),
    path("tablets/", tablet_views.tablet_list, name="tablet_list"),
    path("tablets/<str:code>/", tablet_views.tablet_lock_out, name="tablet_lock_out"),
    path("tablets/<str:code>/settle/", tablet_views.tablet_settle, name="tablet_settle"),
    path("kept/", kept_views.kept_list, name="kept_list"),
    path("kept/<uuid:entry>/", kept_views.kept_entry, name="kept_entry"),
    path("kept/rules/<int:number>/", kept_views.difference, name="difference"),
]
