from django.urls import URLPattern, path

from catalog.storage import (
    found_views,
    label_print_views,
    label_views,
    missing_views,
    move_views,
    paper_views,
    views,
)

app_name = "storage"
# The first words of these addresses cannot be codes of places: see RESERVED in place_actions.py.
urlpatterns: list[URLPattern] = [
    path("", views.places, name="places"),
    path("add/", views.add_place, name="add_place"),
    path("missing/", move_views.missing, name="missing"),
    path("missing/<int:pk>/", missing_views.missing_file, name="missing_file"),
    path("missing/<int:pk>/search/", missing_views.log_search, name="log_search"),
    path("found/", found_views.found_list, name="found"),
    path("found/add/", found_views.add_found, name="add_found"),
    path("found/<str:number>/", found_views.found_thing, name="found_thing"),
    path("found/<str:number>/measures/", found_views.measure_found, name="measure_found"),
    path("found/<str:number>/pictures/", found_views.picture_found, name="picture_found"),
    path("found/<str:number>/pictures/<int:picture_id>/", found_views.found_picture, name="found_picture"),
    path("found/<str:number>/known/", found_views.know_again, name="know_again"),
    path("labels/issue/", label_views.issue_label, name="issue_label"),
    path("labels/replace/", label_views.replace_label, name="replace_label"),
    path("labels/blanks/", label_views.blanks, name="blanks"),
    path("labels/blanks/blanks.pdf", label_print_views.blanks_pdf, name="blanks_pdf"),
    path("labels/<str:code>/label.pdf", label_print_views.label_pdf, name="label_pdf"),
    path("labels/<str:code>/", label_views.labels, name="labels"),
    path("labels/<str:code>/bind/", label_views.bind, name="bind"),
    path("piece/<str:number>/move/", move_views.move_piece, name="move_piece"),
    path("piece/<str:number>/missing/", move_views.mark_piece_missing, name="mark_piece_missing"),
    path("piece/<str:number>/found/", move_views.mark_piece_found, name="mark_piece_found"),
    path("<str:code>/", views.place, name="place"),
    path("<str:code>/edit/", views.edit_place, name="edit_place"),
    path("<str:code>/labels/", label_print_views.place_labels, name="place_labels"),
    path("<str:code>/labels/labels.pdf", label_print_views.place_labels_pdf, name="place_labels_pdf"),
    path("<str:code>/rescue/", paper_views.rescue_list, name="rescue_list"),
    path("<str:code>/put/", views.put_here, name="put_here"),
    path("<str:code>/move/", move_views.move_container, name="move_container"),
    path("<str:code>/missing/", move_views.mark_container_missing, name="mark_container_missing"),
    path("<str:code>/found/", move_views.mark_container_found, name="mark_container_found"),
]
