from implants.models.arrival import Arrival
from implants.models.count import Count, CountLine
from implants.models.credit import Credit
from implants.models.implant import Implant
from implants.models.label_code import LabelCode
from implants.models.movement import UnitMove, UnitMovement
from implants.models.order import Order, OrderMove, OrderMovement
from implants.models.order_line import OrderLine, Terms
from implants.models.owner import Owner
from implants.models.par_level import ParLevel
from implants.models.recall import Recall, RecallBox, RecallLine
from implants.models.replacement import OnUse, Replacement, UseRule
from implants.models.shelf_settings import ShelfSettings, shelf_settings
from implants.models.supplier import Supplier, SupplierClosedDate
from implants.models.unit import Unit

__all__ = [
    "Arrival",
    "Count",
    "CountLine",
    "Credit",
    "Implant",
    "LabelCode",
    "OnUse",
    "Order",
    "OrderLine",
    "OrderMove",
    "OrderMovement",
    "Owner",
    "ParLevel",
    "Recall",
    "RecallBox",
    "RecallLine",
    "Replacement",
    "ShelfSettings",
    "Supplier",
    "SupplierClosedDate",
    "Terms",
    "Unit",
    "UnitMove",
    "UnitMovement",
    "UseRule",
    "shelf_settings",
]
