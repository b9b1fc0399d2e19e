from implants.models.implant import Implant
from implants.models.label_code import LabelCode
from implants.models.movement import UnitMove, UnitMovement
from implants.models.unit import Unit

__all__ = ["Implant", "LabelCode", "Unit", "UnitMove", "UnitMovement"]
