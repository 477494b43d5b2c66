"""Addresses of the stores."""

from django.urls import path

from . import lot_views, mounting_views, rework_views, right_views, views

app_name = "items"
urlpatterns = [
    # stores/
    path("", views.stock, name="stock"),
    path("receive/", lot_views.lot_receive, name="lot_receive"),
    path("out/", views.out_and_back, name="out_and_back"),
    path("count/", views.count, name="count"),
    path("counts/", views.counts, name="counts"),
    path("counts/<int:number>/", views.count_explain, name="count_explain"),
    path("charge/<path:code>/", lot_views.tank_charge, name="tank_charge"),
    path("draw/<path:code>/", lot_views.tank_draw, name="tank_draw"),
    path("clean/<path:code>/", lot_views.tank_clean, name="tank_clean"),
    path("cleaning/<uuid:of>/", right_views.clean_withdraw, name="clean_withdraw"),
    path("keeping/<uuid:of>/", right_views.keeping_withdraw, name="keeping_withdraw"),
    path("tank/<path:code>/", lot_views.tank, name="tank"),
    path("unit/<path:code>/out/", rework_views.unit_take_out, name="unit_take_out"),
    path("unit/<path:code>/in/", rework_views.unit_put_in, name="unit_put_in"),
    path("unit/<path:code>/number/", rework_views.unit_renumber, name="unit_renumber"),
    path("unit/<path:code>/back/", rework_views.frame_return, name="frame_return"),
    path("unit/<path:code>/wound/", mounting_views.unit_wound, name="unit_wound"),
    path("mounted/<uuid:of>/", mounting_views.feed_withdraw, name="feed_withdraw"),
    path("unit/<path:code>/coupon/", rework_views.coupon_cut, name="coupon_cut"),
    path("inputs/<path:code>/late/", right_views.input_late, name="input_late"),
    path("inputs/<path:code>/", right_views.inputs, name="inputs"),
    path("input/<uuid:of>/<path:was>/", right_views.input_correct, name="input_correct"),
    path("consignment/<str:code>/", views.consignment, name="consignment"),
    path("consignment/<str:code>/swap/", views.consignment_swap, name="consignment_swap"),
    path("lot/<path:code>/delivery/", right_views.receipt_correct, name="receipt_correct"),
    path("lot/<path:code>/certificate/", lot_views.lot_certificate, name="lot_certificate"),
    path("lot/<path:code>/move/", lot_views.lot_move, name="lot_move"),
    path("lot/<path:code>/mount/", mounting_views.lot_mount, name="lot_mount"),
    path("lot/<path:code>/keep/", lot_views.lot_keep, name="lot_keep"),
    path("lot/<path:code>/extend/", lot_views.lot_extend, name="lot_extend"),
    path("lot/<path:code>/back/", lot_views.lot_back, name="lot_back"),
    path("lot/<path:code>/split/", lot_views.lot_split, name="lot_split"),
    path("lot/<path:code>/merge/", lot_views.lot_merge, name="lot_merge"),
    path("lot/<path:code>/scrap/", lot_views.lot_scrap, name="lot_scrap"),
    path("lot/<path:code>/decide/", lot_views.lot_decide, name="lot_decide"),
    path("lot/<path:code>/at-risk/", lot_views.lot_risk, name="lot_risk"),
    path("lot/<path:code>/", lot_views.lot, name="lot"),
]
