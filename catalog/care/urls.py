from django.urls import URLPattern

app_name = "care"
urlpatterns: list[URLPattern] = []
