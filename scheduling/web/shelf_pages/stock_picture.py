"""Stock over time as a picture: stairs for what is planned and for all that may be wanted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from scheduling.shelf.stock_over_time import Course, StockOverTime

WIDTH, HEIGHT = 720, 260
LEFT, RIGHT, TOP, BOTTOM = 40, 28, 20, 34
MOST_RULES = 6


@dataclass(frozen=True, slots=True)
class Label:
    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class StockPicture:
    """Paths and labels in a field of `width` × `height`; `reorder` is the height of the reorder
    point's line, None without one; `short`: where the planned course first lacks a box."""

    width: int
    height: int
    planned: str
    wanted: str
    rules: tuple[Label, ...]
    weeks: tuple[Label, ...]
    reorder: Label | None
    short: Label | None
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = HEIGHT - BOTTOM


def stock_picture(stock: StockOverTime, reorder_point: int | None) -> StockPicture:
    top = max(
        1,
        reorder_point or 0,
        stock.planned.start,
        *(level for course in (stock.planned, stock.wanted) for _, level in course.levels),
    )
    days = (stock.until - stock.today).days

    def x(day: date) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * (day - stock.today).days / days, 1)

    def y(level: int) -> float:
        return round(TOP + (HEIGHT - TOP - BOTTOM) * (1 - level / top), 1)

    def stairs(course: Course) -> str:
        path, before = "", course.start
        for day, level in course.levels:
            if day > stock.until:
                break
            path += f"V{y(level)}" if path and day == stock.today else ""
            path += f"H{x(day)}V{y(level)}" if path else f"M{x(day)} {y(level)}"
            before = level
        return f"{path}V{y(before)}H{x(stock.until)}"

    step = max(1, -(-top // MOST_RULES))
    first_monday = stock.today + timedelta(days=-stock.today.weekday() % 7)
    mondays = [
        day
        for week in range(days // 7 + 1)
        if (day := first_monday + timedelta(weeks=week)) <= stock.until
    ]
    short = stock.planned.runs_short
    return StockPicture(
        width=WIDTH,
        height=HEIGHT,
        planned=stairs(stock.planned),
        wanted=stairs(stock.wanted),
        rules=tuple(Label(LEFT - 8, y(level), str(level)) for level in range(0, top + 1, step)),
        weeks=tuple(
            Label(x(day), HEIGHT - 10, f"{day.day} {day:%b}")
            for day in mondays[:: 2 if days > 56 else 1]
        ),
        reorder=None
        if reorder_point is None
        else Label(WIDTH - RIGHT, y(reorder_point), f"reorder point {reorder_point}"),
        short=Label(x(short.day), y(0), "") if short and short.day <= stock.until else None,
    )
