"""Addresses of the stores."""

from django.urls import path

from . import views

app_name = "items"
urlpatterns = [
    # stores/
    path("", views.stock, name="stock"),
    path("receive/", views.lot_receive, name="lot_receive"),
    path("out/", views.out_and_back, name="out_and_back"),
    path("count/", views.count, name="count"),
    path("counts/", views.counts, name="counts"),
    path("counts/<int:number>/", views.count_explain, name="count_explain"),
    path("tank/<path:code>/", views.tank, name="tank"),
    path("consignment/<str:code>/", views.consignment, name="consignment"),
    path("lot/<str:code>/", views.lot, name="lot"),
    path("lot/<str:code>/split/", views.lot_split, name="lot_split"),
    path("lot/<str:code>/scrap/", views.lot_scrap, name="lot_scrap"),
    path("lot/<str:code>/decide/", views.lot_decide, name="lot_decide"),
]
