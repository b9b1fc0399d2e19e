from __future__ import annotations

from django.urls import path

from scheduling.web.theatre import acts, outside, pages, record_pages, used_pages

urlpatterns = [
    path("used/", used_pages.used, name="used"),
    path("used/workbook/", used_pages.workbook, name="used_workbook"),
    path("theatre/", pages.choose, name="theatre"),
    path("theatre/<int:pk>/", pages.in_theatre_page, name="in_theatre"),
    path("theatre/<int:pk>/open/", acts.open_checked, name="theatre_open"),
    path("theatre/<int:pk>/record/", acts.record, name="theatre_record"),
    path("theatre/<int:pk>/never-received/", outside.outside, name="outside"),
    path("theatre/<int:pk>/entered-in-error/", outside.outside_void, name="outside_void"),
    path("theatre/<int:pk>/start/", acts.start, name="theatre_start"),
    path("theatre/<int:pk>/end/", acts.end, name="theatre_end"),
    path("cases/<int:pk>/record/", record_pages.page, name="implant_record"),
    path("cases/<int:pk>/record.pdf", record_pages.pdf, name="implant_record_pdf"),
    path("cases/<int:pk>/record.xlsx", record_pages.workbook, name="implant_record_workbook"),
    path("cases/<int:pk>/record.json", record_pages.fhir, name="implant_record_fhir"),
]
