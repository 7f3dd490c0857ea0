"""All addresses belong to the catalogue; this file only hangs it at the root."""

from django.urls import include, path

urlpatterns = [path("", include("catalog.urls"))]

handler400 = "catalog.core.uploads.bad_request"
