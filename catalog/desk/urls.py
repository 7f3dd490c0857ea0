from django.urls import URLPattern, path

from catalog.desk import views

app_name = "desk"
urlpatterns: list[URLPattern] = [
    path("", views.today, name="today"),
    path("pieces/<str:number>/", views.piece, name="piece"),
]
