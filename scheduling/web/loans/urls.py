from __future__ import annotations

from django.urls import path

from scheduling.web.loans import acts, check_in, pages, papers, tray_check_in

urlpatterns = [
    path("loans/", pages.loans, name="loans"),
    path("loans/begin/", acts.begin, name="begin_loan"),
    path("loans/<str:code>/", pages.loan, name="loan"),
    path("loans/<str:code>/paper/", papers.paper, name="loan_paper"),
    path("loans/<str:code>/check-in/", check_in.check_in, name="loan_check_in"),
    path("loans/<str:code>/check-in/box/", check_in.decide, name="loan_box"),
    path("loans/<str:code>/trays/<int:pk>/", tray_check_in.tray, name="loan_tray"),
    path("loans/<str:code>/act/<slug:what>/", acts.act, name="act_on_loan"),
]
