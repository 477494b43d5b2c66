"""Addresses of the floor."""

from django.urls import path

from . import call_views, camera, coming, entries, handing_views, labelling, many_views, own, tablet, views

app_name = "floor"
urlpatterns = [
    # floor/
    path("", views.station_list, name="station_list"),
    path("entries/", entries.entries_take, name="entries_take"),
    path("photos/", entries.photo_take, name="photo_take"),
    path("sign/", coming.sign_in_here, name="sign_in_here"),
    path("key/", coming.key_take, name="key_take"),
    path("tablet/", coming.tablet_page, name="tablet_here"),
    path("snapshot/", tablet.snapshot, name="snapshot"),
    path("worker.js", tablet.worker, name="worker"),
    path("shell/", tablet.shell, name="shell"),
    path("words/", tablet.words, name="words"),
    path("camera/", camera.camera, name="camera"),
    path("kept/", tablet.shell, name="kept"),
    path("fit/", tablet.tablet_fit, name="tablet_fit"),
    path("own/", own.own, name="own"),
    path("own/pin/", own.own_pin, name="own_pin"),
    path("own/password/", own.own_password, name="own_password"),
    path("file/", tablet.file_take, name="file_take"),
    path("codes/", tablet.codes_take, name="codes_take"),
    path("hand-over/", handing_views.hand_over_page, name="hand_over"),
    path("hand-over/before/", handing_views.hand_over_list, name="hand_over_list"),
    path("hand-over/<uuid:key>/", handing_views.hand_over_before, name="hand_over_before"),
    path("calls/", call_views.call_list, name="call_list"),
    path("calls/new/", call_views.lead_call, name="lead_call"),
    path("calls/waiting/", call_views.calls_waiting, name="calls_waiting"),
    path("calls/seen/", call_views.notices_seen, name="notices_seen"),
    path("calls/<uuid:key>/", call_views.call_state, name="call_state"),
    path("calls/<uuid:key>/told/", call_views.call_told, name="call_told"),
    path("calls/<uuid:key>/answer/", call_views.call_answer, name="call_answer"),
    path("at/<str:station>/", views.station_page, name="station"),
    path("at/<str:station>/unit/<path:code>/", views.unit_here, name="unit_here"),
    path("labels/first/", labelling.label_first, name="label_first"),
    path("at/<str:station>/label/", labelling.label_here, name="label_scan"),
    path("at/<str:station>/label/<path:code>/", labelling.label_here, name="label_here"),
    path("at/<str:station>/many/<str:name>/", many_views.many_page, name="many"),
    path("at/<str:station>/log/<str:name>/", views.log_page, name="log"),
]
