from django.urls import path

from catalog.pieces import production_views, views

app_name = "pieces"
urlpatterns = [
    path("pictures/<int:file_id>/<str:size>.jpg", views.picture, name="picture"),
    path("productions/", production_views.productions, name="productions"),
    path("productions/add/", production_views.add_production, name="add_production"),
    path("productions/<str:code>/", production_views.production, name="production"),
    path("productions/<str:code>/correct/", production_views.edit_production, name="edit_production"),
    path("productions/<str:code>/add-role/", production_views.add_role, name="add_role"),
    path("productions/<str:code>/add-look/", production_views.add_look, name="add_look"),
    path("productions/<str:code>/<str:role_code>/add-slot/", production_views.add_slot, name="add_slot"),
    path("productions/<str:code>/<str:role_code>/add-set/", production_views.add_set, name="add_set"),
    path("<str:number>/edit/", views.edit, name="edit"),
    path("<str:number>/measures/", views.measure, name="measure"),
    path("<str:number>/pictures/", views.pictures, name="pictures"),
    path("<str:number>/pictures/<int:picture_id>/", views.change_picture, name="change_picture"),
    path("<str:number>/parts/", views.parts, name="parts"),
    path("<str:number>/matches/", views.matches, name="matches"),
    path("<str:number>/value/", views.value, name="value"),
]
