"""Addresses of runs."""

from django.urls import path

from . import views

app_name = "runs"
urlpatterns = [
    # curves/
    path("", views.run_list, name="run_list"),
    path("record/", views.run_record, name="run_record"),
    path("shot/", views.shot_read, name="shot_read"),
    path("recipe/propose/", views.recipe_propose, name="recipe_propose"),
    path("recipe/<int:number>/", views.recipe, name="recipe"),
    path("over/", views.runs_over, name="runs_over"),
    path("log/<int:number>/", views.log_file, name="log_file"),
    path("run/<str:code>/", views.run, name="run"),
    path("run/<str:code>/read/", views.log_read, name="log_read"),
    path("run/<str:code>/judge/", views.run_assess, name="run_assess"),
    path("run/<str:code>/decide/", views.run_decide, name="run_decide"),
]
