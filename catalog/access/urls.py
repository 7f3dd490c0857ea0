from django.urls import path

from catalog.access import views

app_name = "access"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("units/", views.units, name="units"),
]
