from django.urls import path

from catalog.finding import views

app_name = "finding"
urlpatterns = [
    path("", views.find, name="find"),
    path("table.csv", views.find_csv, name="find_csv"),
]
