"""Expected refusals about boxes."""

from __future__ import annotations

from deploy.kit.errors import Refused


class ArrivalRefused(Refused):
    sentences = {
        "not_in_hand": "This box is not in hand any more. Scan it again.",
        "not_in_the_queue": "This entry was dealt with meanwhile.",
        "code_of_another": "Labels with {item} name {ref} already.",
    }


class CountRefused(Refused):
    sentences = {
        "no_place": "Say which place is to be counted.",
        "counted_already": "A count is running there already: {places}.",
        "count_elsewhere": "There is no such count here.",
        "count_closed": "{count} is closed.",
        "not_counted_there": "{place} is no place of {count}.",
        "note_missing": "Say in the note what explains: {lines}.",
        "difference_settled": "This difference was settled meanwhile.",
    }


class RecallRefused(Refused):
    sentences = {
        "title_missing": "Say which notice this is.",
        "nothing_named": "A recall names at least one item of the catalogue.",
        "recall_elsewhere": "There is no such recall here.",
        "recall_closed": "{recall} is closed.",
        "two_people": "Closing a recall takes two different people.",
        "boxes_open": "{number} of its boxes are neither found nor accounted for.",
        "note_missing": "Say why.",
    }


class UnitRefused(Refused):
    sentences = {
        "unit_elsewhere": "Box {unit} belongs to another site.",
        "unit_picked": "Box {unit} is picked for case {other}.",
        "taken_by_missing": "Box {unit}: say who took it.",
        "unit_expired": "Box {unit}: its use-by date was {expiry}.",
        "unit_expired_override": "Box {unit}: its use-by date was {expiry}. Recording it takes a "
        "reason and a second person.",
    }


class OrderRefused(Refused):
    """About orders, par levels, replacements and credits."""

    sentences = {
        "order_elsewhere": "Order {order} belongs to another site.",
        "order_sent": "Order {order} is {state}; only a draft is changed.",
        "order_not_sent": "Order {order} is {state}; the supplier answers what was sent.",
        "nothing_chosen": "Choose at least one line.",
        "no_supplier": "{item}: the catalogue names no supplier. Set it up first.",
        "order_empty": "Order {order} has no line yet.",
        "boxes_to_come": "Order {order}: {boxes} still to come. Say first that they are not "
        "coming, or wait for them.",
        "line_elsewhere": "That line is not one of order {order}.",
        "supplier_elsewhere": "Supplier {supplier} belongs to another site.",
        "implant_elsewhere": "Item {item} belongs to another site.",
        "not_from_supplier": "{item} does not come from {supplier}.",
        "superseded": "{item} is no longer made; {by} takes its place.",
        "same_item": "{item} cannot stand in for itself.",
        "quantity_wrong": "{item}: order one or more.",
        "more_than_open": "{item}: at least 1, and at most the {open} that are still to come.",
        "nothing_awaited": "{item}: no box has a date yet.",
        "nothing_confirmed": "Order {order}: give a date for at least one box, or their number.",
        "date_past": "{item}: {date} is past.",
        "box_elsewhere": "Box {unit} belongs to another site.",
        "box_not_used": "Box {unit} is {state}, not used.",
        "note_missing": "Box {unit}: say why it is not replaced.",
        "use_settled": "Box {unit}: somebody settled this meanwhile.",
        "reason_missing": "Say why the boxes go back.",
        "supplier_unknown": "Box {unit}: the catalogue names no supplier for {item}.",
        "credit_elsewhere": "That credit is another site's.",
        "number_missing": "Box {unit}: the credit note has a number.",
        "credit_settled": "Box {unit}: settled before with credit note {number}.",
        "level_wrong": "{item}: a par level is 0 to {most}.",
    }
