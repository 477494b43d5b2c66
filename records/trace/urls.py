"""Addresses of the trace. A code may hold a slash, so it always stands last."""

from django.urls import path

from . import views

app_name = "trace"
urlpatterns = [
    path("", views.find, name="find"),
    path("in-common/", views.shared, name="shared"),
    path("unit/<path:code>/", views.unit, name="unit"),
    path("lot-to-frames/<path:code>/", views.lot_to_frames, name="lot_to_frames"),
    path("list/<path:code>/", views.frame_list, name="frame_list"),
    path("hold/<path:code>/", views.hold_place, name="hold_place"),
    path("hold-all/<path:code>/", views.hold_all, name="hold_all"),
    path("lift/<int:hold>/", views.hold_lift, name="hold_lift"),
    path("lift/<int:hold>/several/", views.hold_lift_several, name="hold_lift_several"),
]
