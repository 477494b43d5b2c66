"""Addresses of the stores."""

from django.urls import path

from . import views

app_name = "items"
urlpatterns = [
    # stores/
    path("", views.stock, name="stock"),
    path("receive/", views.lot_receive, name="lot_receive"),
    path("lot/<str:code>/decide/", views.lot_decide, name="lot_decide"),
]
