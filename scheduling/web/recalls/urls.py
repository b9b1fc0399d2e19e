from __future__ import annotations

from django.urls import path

from scheduling.web.recalls import one, views

urlpatterns = [
    path("recalls/", views.recalls, name="recalls"),
    path("recalls/<int:pk>/", one.recall, name="recall"),
    path("recalls/<int:pk>/print/", one.print_recall, name="recall_print"),
    path("recalls/<int:pk>/retrieve/", one.retrieve, name="recall_retrieve"),
    path("recalls/<int:pk>/explain/", one.explain, name="recall_explain"),
    path("recalls/<int:pk>/close/", one.close, name="recall_close"),
]
