from __future__ import annotations

from django.urls import path

from implants.web import counts, one_count, receiving, unknown_boxes

urlpatterns = [
    path("receive/", receiving.receive, name="receive"),
    path("receive/decide/", receiving.decide, name="receive_decide"),
    path("receive/not-in-the-catalogue/", unknown_boxes.unknown_boxes, name="unknown_boxes"),
    path("counts/", counts.counts, name="counts"),
    path("counts/<int:pk>/", one_count.count, name="count"),
    path("counts/<int:pk>/scan/", one_count.scan, name="count_scan"),
    path("counts/<int:pk>/differences/", one_count.differences, name="count_differences"),
    path("counts/<int:pk>/print/", one_count.print_count, name="count_print"),
    path("counts/open-differences/", counts.open_differences, name="open_differences"),
]
