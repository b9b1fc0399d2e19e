from __future__ import annotations

from django.urls import path

from implants.web import order_papers

urlpatterns = [
    path("orders/<str:code>/paper/", order_papers.paper, name="order_paper"),
    path("orders/<str:code>/workbook/", order_papers.workbook, name="order_workbook"),
]
