from django.urls import URLPattern

app_name = "storage"
urlpatterns: list[URLPattern] = []
