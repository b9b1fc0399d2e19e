"""What sterile services are refused, as data; worded here, since only trays raise them."""

from __future__ import annotations

from deploy.kit.errors import RefusalValue, Refused
from trays.stages import stands


class TrayRefused(Refused):
    """What was asked cannot be done with the tray, pack or load as it stands (409)."""

    def said(self, name: str, value: RefusalValue) -> str:
        said = super().said(name, value)
        return stands(said) if name == "stage" else said

    sentences = {
        "elsewhere": "{what} belongs to another site.",
        "not_here": "Tray {tray} is {stage}; for {doing} it has to be {wanted}.",
        "on_hold": "Tray {tray} is on hold, {stage}: {why}.",
        "already": "Tray {tray} is {stage} already.",
        "sterile_date_over": "Tray {tray} was sterile until {until}: it is sterilised again first.",
        "issued_to": "Tray {tray} is issued to {case}.",
        # -- machines and loads
        "machine_down": "{machine} is out of use: {reason}.",
        "wrong_machine": "{machine} is no {wanted}.",
        "load_not_open": "Load {load} is {state}: nothing can be put in or taken out any more.",
        "load_empty": "Load {load} has nothing in it.",
        "load_full": "{machine} takes {places} trays; load {load} is full.",
        "load_state": "Load {load} is {state}: {doing} is not possible.",
        "load_not_passed": "Tray {tray} is in load {load}, which is {state}.",
        "wash_missing": "No washer load is recorded for tray {tray} since it came to cleaning.",
        "in_other_load": "Tray {tray} is in load {load} already.",
        "values_missing": "Load {load}: the measured values are to be entered first.",
        "indicator_awaited": "Load {load} has implants in it: its biological indicator is not read "
        "yet.",
        "indicator_growth": "Load {load}: its biological indicator shows growth.",
        "deviation_unexplained": "Load {load} deviates ({deviations}). Say why it is good all the "
        "same.",
        "withdraw_reason_missing": "Load {load}: say why it is withdrawn.",
        "incident_closed": "Tray {tray}: the incident is closed already.",
        "outcome_missing": "Tray {tray}: say what was done about it.",
        "machine_up": "{machine} is in use already.",
        "down_reason_missing": "Say why {machine} is out of use.",
        # -- counts
        "count_closed": "The count sheet of tray {tray} is closed. Begin a new count first.",
        "count_missing": "The count sheet of tray {tray} is not closed yet.",
        "not_on_sheet": "{instrument} is not on the count sheet of tray {tray}.",
        "count_too_many": "The count sheet has {expected} of {instrument}.",
        "not_refilled": "{instrument} is not one that is filled up; say r and from where instead.",
        "photo_unreadable": "This is no photograph that can be kept: JPEG or PNG.",
        "photo_too_large": "The photograph is larger than {most} MB: take a smaller one.",
        "lines_open": "Tray {tray}: {number} lines are not said yet, first {lines}.",
        "second_missing": "Tray {tray}: a second person signs the count sheet too.",
        "note_missing": "Tray {tray}: say what theatre said, or that its count was not closed.",
        # -- instruments
        "same_tray": "Both are tray {tray}.",
        "not_unwrapped": "Tray {tray} is {stage}: nothing is put in or taken out. Only a tray that "
        "is returned used, at cleaning, or at inspection and assembly lies open.",
        "not_clean": "Tray {giver} is {stage}: what is in it is not clean enough for tray {taker}.",
        "not_in_tray": "Tray {tray} has no more of {instrument}.",
        "nothing_missing": "Tray {tray} lacks no {instrument}: it borrows only what it lacks.",
        "not_away": "{instrument} is not away any more.",
        "not_before_cleaning": "{instrument} comes from {way}: it goes back into a tray before it "
        "is cleaned. Tray {tray} is {stage}.",
        "why_missing": "{instrument}: say why it may be used again.",
        # -- holds
        "not_held": "Tray {tray} is {stage}, not on hold.",
        "lift_reason_missing": "Tray {tray}: say why it may be used again.",
        # -- loans
        "no_count_sheet": "{configuration} has no count sheet yet: issue it first.",
        "not_with_lender": "Tray {tray} is no loan that is still to come: it is {stage}.",
        "goes_back_clean": "Tray {tray} is {stage}: it goes back when it is cleaned.",
        "tag_taken": "Another tray carries the tag {asset}.",
        "place_missing": "Say the place first.",
    }
