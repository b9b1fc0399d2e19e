from __future__ import annotations

from django.urls import path

from scheduling.web.ordering import order_list, order_pages, par_pages, size_risk_pages

urlpatterns = [
    path("to-order/", order_list.to_order, name="to_order"),
    path("to-order/make/", order_list.make, name="make_orders"),
    path("to-order/note/", order_list.note, name="note_gap"),
    path("to-order/settle/", order_list.settle_use, name="settle_use"),
    path("orders/", order_pages.orders, name="orders"),
    path("orders/<str:code>/", order_pages.order, name="order"),
    path("orders/<str:code>/<slug:what>/", order_pages.act, name="act_on_order"),
    path("par-levels/", par_pages.par_levels, name="par_levels"),
    path("par-levels/accept/", par_pages.accept, name="accept_par"),
    path("size-risk/", size_risk_pages.size_risk, name="size_risk"),
    path("size-risk/accept/", size_risk_pages.accept, name="accept_size_risk"),
    path("credits/<int:pk>/", order_pages.credit, name="settle_credit"),
]
