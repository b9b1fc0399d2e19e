from __future__ import annotations

from django.urls import path

from scheduling.web.shelf_pages import views

urlpatterns = [
    path("shelf/", views.shelf, name="shelf"),
    path("shelf/use-by/", views.use_by, name="use_by"),
    path("shelf/send-back/", views.send_back, name="send_back"),
    path("shelf/taken/", views.taken, name="taken_unscanned"),
    path("shelf/items/<path:ref>/", views.item, name="shelf_item"),
]
