"""The roles: which permissions each holds.  Data only; `deploy.kit` makes the groups from it."""

from __future__ import annotations

READ = frozenset(
    {
        "trays.read_trays",
        "implants.read_shelf",
        "implants.read_recalls",
        "scheduling.read_cases",
    },
)
PRINT = frozenset({"scheduling.print_pick_list"})
SCAN = frozenset({"scheduling.scan_pick_list"})
PICK = SCAN | {"scheduling.pick_boxes"}

READS = READ | {"scheduling.read_own_cases"}
"""What a session that only looks (badge without PIN) can do, as far as the role allows it."""

STAFF = frozenset({"implant coordinator", "administrator"})
"""The roles that work in the admin."""

ROLES: dict[str, frozenset[str]] = {
    "sterile services": READ
    | PRINT
    | SCAN
    | {
        "trays.process_trays",
        "trays.release_loads",
        "trays.return_trays",
        "scheduling.take_on_gaps",
        "scheduling.check_in_loan_trays",
    },
    "implant coordinator": READ
    | PRINT
    | PICK
    | {
        "scheduling.record_use",
        "scheduling.sign_in_theatre",
        "scheduling.book_case",
        "scheduling.take_on_gaps",
        "scheduling.run_case",
        "scheduling.reserve",
        "scheduling.borrow",
        "scheduling.check_in_loan_trays",
        "implants.order_implants",
        "implants.receive",
        "implants.count_shelf",
        "implants.open_recall",
        "implants.close_recall",
        # The catalogue and the techniques, in the admin.
        *(
            f"{app}.{verb}_{model}"
            for app, model in (
                ("trays", "instrument"),
                ("trays", "configuration"),
                ("trays", "configurationversion"),
                ("trays", "content"),
                ("trays", "tray"),
                ("trays", "missingline"),
                ("trays", "machine"),
                ("trays", "sterilesettings"),
                ("implants", "implant"),
                ("implants", "unit"),
                ("implants", "labelcode"),
                ("implants", "supplier"),
                ("implants", "suppliercloseddate"),
                ("implants", "userule"),
                ("implants", "shelfsettings"),
                ("scheduling", "technique"),
                ("scheduling", "techniqueset"),
                ("scheduling", "techniquerule"),
                ("scheduling", "techniquecheck"),
                ("scheduling", "techniqueconfirmation"),
                ("scheduling", "surgeon"),
                ("scheduling", "theatre"),
                ("scheduling", "housesettings"),
                ("scheduling", "openinghours"),
                ("scheduling", "closeddate"),
                ("scheduling", "oncallnight"),
                ("scheduling", "taperpair"),
                ("scheduling", "maker"),
            )
            for verb in ("view", "add", "change", "delete")
        ),
    },
    "surgeon": frozenset(
        {
            "trays.read_trays",
            "implants.read_shelf",
            "implants.read_recalls",
            "scheduling.read_own_cases",
            "scheduling.book_own_case",
            "scheduling.write_own_plan",
            "scheduling.sign_in_theatre",
            "scheduling.print_pick_list",
        }
    ),
    "theatre": READ
    | PRINT
    | PICK
    | {
        *("scheduling.run_case", "scheduling.record_use", "scheduling.sign_in_theatre"),
        "trays.return_trays",
    },
    "manager": READ,
    # One named person: who received what is for no other eyes.
    "implant lead": READ | {"implants.close_recall", "implants.read_recipients"},
    # Users, roles, settings; nothing clinical.  Deletes nobody: accounts are closed.
    "administrator": frozenset(
        {
            "kit.change_roles",
            "kit.view_securityevent",
            *(
                f"{app}.{verb}_{model}"
                for app, model in (
                    ("auth", "user"),
                    ("kit", "site"),
                    ("kit", "person"),
                    ("kit", "credential"),
                    ("kit", "proposal"),
                    ("scheduling", "surgeon"),
                    ("scheduling", "theatre"),
                    ("scheduling", "housesettings"),
                    ("scheduling", "openinghours"),
                    ("scheduling", "closeddate"),
                    ("scheduling", "oncallnight"),
                    ("scheduling", "oncallnight"),
                )
                for verb in ("view", "add", "change")
            ),
        }
    ),
}
