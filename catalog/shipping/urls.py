from django.urls import path

from catalog.shipping import views

app_name = "shipping"
urlpatterns = [path("rules/", views.rules, name="rules")]
