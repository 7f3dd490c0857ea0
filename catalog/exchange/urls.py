from django.urls import path

from catalog.exchange import views

app_name = "exchange"
urlpatterns = [
    path("", views.load_table, name="import"),
    path("roster/<str:reference>/", views.load_roster, name="import_roster"),
    path("weather/<str:reference>/", views.load_weather, name="import_weather"),
    path("columns/<slug:kind>/", views.show_columns, name="columns"),
    path("columns/<slug:kind>/empty.csv", views.empty_table, name="empty_table"),
]
