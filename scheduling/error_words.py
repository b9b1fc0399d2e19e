"""The sentence of each refusal, by code.  Braces name the refusal's own values.

A refusal without a sentence here cannot be raised: add the sentence with the code.
"""

from __future__ import annotations

from collections.abc import Mapping

SENTENCES: Mapping[str, str] = {
    # -- cases
    "case_invalid": "The booking cannot be used: {faults}.",
    "case_ref_taken": "There is already a case {case}.",
    "case_not_booked": "Case {case} is {status}; only a booked case can be {verb}.",
    "case_moved_meanwhile": "Case {case} was moved meanwhile: it starts {start} now. Look "
    "again first; nothing was changed.",
    "case_not_started": "Case {case} is {status}; only a started case can be ended.",
    "case_is_over": "Case {case} is {status}; nothing can be changed for it any more.",
    "stage_minutes_invalid": "The time cannot be taken: {faults}.",
    # -- plans
    "plan_invalid": "The plan cannot be used: {faults}.",
    "plan_missing": "Case {case} has no plan yet.",
    "plan_changed_meanwhile": "The plan of case {case} was changed meanwhile: version {in_force} "
    "is in force now. Look at it first; nothing was saved.",
    "window_replaced": "“{window}”, version {number}, was replaced or retired meanwhile.",
    "plan_not_in_force": "Plan {plan} of case {case} was replaced by plan {in_force}.",
    "confirmation_not_asked": "The technique {technique} does not ask for “{asked}”.",
    # -- decisions
    "decision_invalid": "The decision cannot be recorded: {faults}.",
    "changed_while_deciding": "Case {case} changed while you were looking: look at it again first. "
    "Nothing was recorded.",
    "not_on_it": "You are not on case {case}.",
    # -- reservations
    "unit_elsewhere": "Box {unit} belongs to another site.",
    "unit_on_hold": "Box {unit} is on hold: {hold}.",
    "unit_gone": "Box {unit} is {state}.",
    "unit_picked": "Box {unit} is picked for case {other}.",
    "unit_expired": "Box {unit}: use by {expiry}, but case {case} ends on {day}.",
    "unit_wrong_side": "Box {unit} is for the {unit_side} side; case {case} is {case_side}.",
    "unit_promised": "Box {unit} is reserved for case {other}.",
    "unit_not_reserved": "Box {unit} is not reserved for case {case}.",
    "tray_elsewhere": "Tray {tray} belongs to another site.",
    "tray_on_hold": "Tray {tray} is on hold: {stage}.",
    "tray_promised": "Tray {tray} is reserved for case {other} and not free from {begins} until "
    "{until}, its turnaround included.",
    "tray_not_reserved": "Tray {tray} is not reserved for case {case}.",
    # -- picks
    "pick_not_yours": "Box {unit} is fetched by the theatre team or the implant coordinator.",
    "changed_meanwhile": "{item} cannot be taken: its record has changed at this moment. "
    "Scan again.",
    "tray_issued": "Tray {tray} is issued to case {other}.",
    "tray_not_sterile": "Tray {tray} was sterile until {until}.",
    # -- in theatre
    "case_not_run": "Case {case} was cancelled: nothing was opened for it.",
    "opened_elsewhere": "Box {unit} was opened for case {other}.",
    "opening_not_possible": "This cannot be opened here: {read}.",
    "opening_takes_reason": "Opening or using it after a STOP takes a reason.",
    "opening_takes_two": "This takes a reason and a second, different person.",
    "waste_without_reason": "Choose why box {unit} is wasted.",
    "box_not_opened": "Box {unit} was not opened for this case. Check its label first.",
    "box_was_opened": "Box {unit} was opened: it does not go back to the shelf. Record it as "
    "implanted or wasted.",
    "box_not_of_case": "Box {unit} is picked for case {other}, not for {case}.",
    "implant_takes_two": "Box {unit} is for the other side. Recording it takes a reason and a "
    "second person.",
    "tray_not_named": "No tray of this site was read.",
    "outside_invalid": "This box cannot be recorded: {faults}.",
    "outside_takes_two": "A box that was never received takes a second, different person.",
    "outside_void_before": "{box} was taken off the record before.",
    "box_is_on_record": "This is box {unit} of the house ({state}): record that one.",
    # -- pick lists
    "day_without_cases": "There is no case in {theatre} on {day}.",
    # -- gaps
    "implant_elsewhere": "Item {item} belongs to another site.",
    "gap_note_missing": "Item {item}: say what you are doing about it.",
    # -- loans
    "loan_elsewhere": "Loan {loan} belongs to another site.",
    "loan_is": "Loan {loan} is {state}: {doing} is not possible.",
    "loan_empty": "Say which trays or boxes are to be lent.",
    "loan_date_past": "{date} is past.",
    "due_back_past": "{day} is past: it is to go back on a day that is still to come.",
    "supplier_elsewhere": "Supplier {supplier} belongs to another site.",
    "too_many_trays": "A loan has {most} trays at most: make it two.",
    "tray_not_lent": "Tray {tray} is no lender's tray.",
    "tray_on_loan": "Tray {tray} is on a loan already, or here.",
    "tray_checked_in": "Tray {tray} was checked in meanwhile.",
    "place_unusable": "“{place}” is no place: say where the boxes of this loan are put.",
    "box_in_hand": "A box of loan {loan} was scanned and has no place yet. Put it away first.",
    "loan_still_promised": "Loan {loan} is promised: {what}. Free it there first.",
    "loan_still_out": "Loan {loan}: {what} was picked, and is neither used nor back.",
    # -- size risk
    "size_record_changed": "The record of {line} is another by now. Look at it again first; "
    "nothing was accepted.",
    "size_record_too_small": "{cases} of {least} cases are on record: too few to rest on.",
    # -- workbooks
    "draft_written": "“{name}” is written already.",
    "draft_not_read": "“{name}” was not looked at yet.",
    # -- requests
    "scenario_invalid": "The scenario cannot be used: {faults}.",
    "body_invalid": "The request cannot be used: {faults}.",
}
