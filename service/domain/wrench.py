"""A torque wrench made longer: what to set on it."""

from math import cos, radians

from service.errors import Refusal


def extension_setting_nm(torque_nm: float, wrench_mm: float, extension_mm: float, angle_deg: float = 0.0) -> float:
    """What to set where an extension makes the wrench longer: T × L ÷ (L + E cos θ), drive to grip and drive to bolt.

    In line θ is 0, at a right angle nothing changes, at 180° it points back at the handle
    (https://www.engineersedge.com/manufacturing_spec/torque_wrench_2.htm; the form with an angle is from memory).
    Raises Refusal for an extension that is not shorter than the wrench.
    """
    if extension_mm >= wrench_mm:
        raise Refusal(
            "The extension is as long as the wrench, or longer: the setting means nothing then.",
            errors=[("/extension_mm", f"under wrench_mm, {wrench_mm:g}, from the drive to the middle of the grip")],
        )
    reach = 0.0 if angle_deg == 90 else extension_mm * cos(radians(angle_deg))
    return torque_nm * wrench_mm / (wrench_mm + reach)
