from __future__ import annotations

from django.urls import path

from scheduling.web.workbooks import views

urlpatterns = [
    path("workbooks/", views.workbooks, name="workbooks"),
    path("workbooks/<slug:kind>/", views.send, name="workbook_send"),
    path("workbooks/<slug:kind>/template/", views.template_of, name="workbook_template"),
    path("workbooks/<slug:kind>/export/", views.export, name="workbook_export"),
    path("workbooks/drafts/<int:pk>/", views.draft, name="import_draft"),
    path("workbooks/drafts/<int:pk>/progress/", views.progress, name="import_progress"),
    path("workbooks/drafts/<int:pk>/refused/", views.refused, name="import_refused"),
]
