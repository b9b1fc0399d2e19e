"""The benches of sterile services."""

from __future__ import annotations

from django.urls import path

from scheduling.web.sterile import (
    bench,
    counts,
    first,
    instruments,
    loads,
    machines,
    packing,
    prints,
    queue,
    stage_times,
    traces,
    trays,
)

urlpatterns = [
    path("needed-next/", queue.needed_next, name="needed_next"),
    path("needed-next/first/", first.first, name="which_first"),
    path("needed-next/wall/", queue.wall, name="needed_next_wall"),
    path("handover/", queue.handover, name="handover"),
    path("bench/", bench.choose, name="bench"),
    path("bench/instruments/", instruments.instruments, name="instruments"),
    path("bench/<slug:slug>/", bench.station, name="bench_station"),
    path("bench/pack/<int:pk>/", packing.pack, name="pack_tray"),
    path("bench/count/<int:pk>/", counts.count, name="count_tray"),
    path("bench/photo/<int:pk>/", counts.photo, name="tray_photo"),
    path("bench/tray/<int:pk>/", trays.tray, name="tray_at_bench"),
    path("stage-times/", stage_times.stage_times, name="stage_times"),
    path("machines/", machines.machines, name="machines"),
    path("loads/", loads.loads, name="loads"),
    path("loads/<int:pk>/", loads.load, name="load"),
    path("loads/<int:pk>/trace/", traces.load_trace, name="load_trace"),
    path("loads/<int:pk>/load.pdf", prints.load_list, name="load_pdf"),
    path("loads/<int:pk>/retrieve.pdf", prints.retrieval, name="retrieval_pdf"),
    path("bench/tray/<int:pk>/label.pdf", prints.label, name="label_pdf"),
    path("bench/tray/<int:pk>/count-sheet.pdf", prints.count_sheet, name="count_sheet_pdf"),
    path("handover/handover.pdf", prints.handover, name="handover_pdf"),
]
