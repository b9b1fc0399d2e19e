from __future__ import annotations

from django.urls import path

from scheduling.web.labels import views

urlpatterns = [
    path("p/<path:name>", views.place, name="place"),
    path("labels/places/", views.place_labels, name="place_labels"),
    path("labels/box/<int:pk>/", views.box_label, name="box_label"),
]
