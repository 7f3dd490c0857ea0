from django.urls import URLPattern

app_name = "shipping"
urlpatterns: list[URLPattern] = []
