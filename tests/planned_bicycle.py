"""A bicycle that is only planned: 35 parts, six facts not measured, one off the recommendation, two for one place."""

import tomllib
from collections.abc import Mapping
from typing import Any

import httpx

from service.domain.procedure import Library
from tests.api.words import made, part, plan
from tests.checklists.bicycle import FOLDER, Entered

PRICES: Mapping[str, float | None] = {
    "frame": 90, "fork": 45, "bottom-bracket": 18, "crankset": 40, "chainring@outer": 15,
    "cassette@rear": 28, "chain": 14, "rear-derailleur@rear": 22, "shifter@right": 16, "gear-cable@rear": 4.5,
    "wheel@front": 0, "hub@front": 12, "rim@front": 24.9, "wheel@rear": 0, "hub@rear": 18, "rim@rear": 24.9,
    "tyre@front": 25, "tubeless-valve@front": 6, "rotor@front": 8,
    "tyre@rear": 25, "tubeless-valve@rear": 6, "rotor@rear": 8, "rim-tape@rear": None,
    "cable-disc-caliper@front": 20, "brake-pads@front": 7.5, "brake-lever@left": 9, "brake-cable@front": 3.5,
    "cable-disc-caliper@rear": 20, "brake-pads@rear": 7.5, "brake-lever@right": 9, "brake-cable@rear": 3.5,
    "stem": 10, "handlebar": None, "seatpost": 12, "saddle": None,
}  # fmt: skip
"""What each part costs in euros; None where nobody knows."""
HAND_SUM_MINOR = 55230
"""Frame to chainring 208.00, cassette to cable 84.50, wheels 79.80, tyres to rotors 78.00, brakes 80.00, rest 22.00."""
WITHOUT_PRICE = ("handlebar", "rim-tape@rear", "saddle")
NOT_MEASURED = (
    ("seatpost", "diameter_mm"),
    ("hub@rear", "old_mm"),
    ("rotor@front", "diameter_mm"),
    ("stem", "bar_clamp_mm"),
    ("brake-lever@left", "pull_family"),
    ("fork", "steerer_mm"),
)
TO_BUY = ("seatpost", "chain", "brake-pads@front", "brake-pads@rear")
"""Planned and not in hand: 12 + 14 + 7.50 + 7.50 = 41.00 still to buy."""
TO_BUY_MINOR = 4100
MORE: Mapping[str, Mapping[str, Any]] = {
    "crankset": {"spindle": "tube_24", "arm_length_mm": 170, "arm_fixing": "pinch_bolts", "chainline_mm": 47.5,
                 "fits_shell_mm": [68, 73], "ring_mount": "bcd", "bcd_mm": 110, "bolt_count": 5, "rings_count": 1,
                 "arms_width_mm": 160},
    "chainring@outer": {"ring_teeth": 40, "ring_mount": "bcd", "bcd_mm": 110, "bolt_count": 5, "seat": "any",
                        "chain_inner_mm": 2.18, "teeth_profile": "narrow_wide"},
    "frame": {"gap_tyre_width_mm": 45, "gap_side_mm": 8, "gap_crown_mm": 9, "chainstay_mm": 435,
              "front_centre_mm": 640, "joint_below_top_mm": 90, "max_single_ring_teeth": 44},
    "fork": {"gap_tyre_width_mm": 45, "gap_side_mm": 8, "gap_crown_mm": 10},
    "cassette@rear": {"stack_mm": 37.5},
    "hub@rear": {"end_caps_swap": False, "locknut_to_smallest_mm": 4.5},
    "wheel@rear": {"chain_stay_gap_mm": 4},
    "cable-disc-caliper@front": {"rotor_thickness_mm": 1.8, "moving_pads": "one"},
}  # fmt: skip
"""Facts that the bicycle of the checklists leaves open."""
CLOSER_PRICE, CLOSER_G = 31.5, 355.0


class Planned(Entered):
    """The bicycle on the service, every part of it chosen, with a second cassette as a candidate."""

    def __init__(self, client: httpx.Client, library: Library) -> None:
        self.client, self.library = client, library
        known = tomllib.loads((FOLDER / "steel-mixed.toml").read_text("utf-8"))
        self.raw = {**known, "parts": {key: _said(known["parts"], key) for key in PRICES}}
        self.title = "Planned bicycle"
        self.build = str(made(client, "/builds", name=self.title, **known["build"])["id"])
        for key, field in NOT_MEASURED:
            del self.raw["parts"][key]["specs"][field]
        self.parts = {key: self._priced(key, said) for key, said in self.raw["parts"].items()}
        self.plan()
        self.closer = self._closer()

    def _priced(self, key: str, said: Mapping[str, Any]) -> str:
        euros = PRICES[key]
        price = {} if euros is None else {"price": {"minor": round(euros * 100), "currency": "EUR"}}
        state = {"state": "planned"} if key in TO_BUY else {}
        mass = {"mass_claimed_g": 420.0} if key == "cassette@rear" else {}
        facts = {field: _fact(fact, self.library, key, field) for field, fact in said.get("specs", {}).items()}
        sent = {"origin": said.get("origin", "new"), "specs": facts} | price | state | mass
        return part(self.client, key.partition("@")[0], f"The {key}", **sent)

    def _closer(self) -> str:
        """A cassette whose largest sprocket the derailleur's maker allows, as the other candidate."""
        facts = self.raw["parts"]["cassette@rear"]["specs"] | {"largest_teeth": 34}
        sent = {field: _fact(fact, self.library, "cassette", field) for field, fact in facts.items()}
        price = {"minor": round(CLOSER_PRICE * 100), "currency": "EUR"}
        closer = part(self.client, "cassette", "Closer cassette", specs=sent, price=price, mass_claimed_g=CLOSER_G,
                      state="planned")  # fmt: skip
        plan(self.client, self.build, closer, "", into_part=self.parts["wheel@rear"], chosen=False)
        return closer


def _said(known: Mapping[str, Any], key: str) -> dict[str, Any]:
    """What is said of a part there, and here."""
    told = known.get(key, {})
    return {**told, "specs": {**told.get("specs", {}), **MORE.get(key, {})}}


def _fact(fact: Any, library: Library, key: str, field: str) -> dict[str, Any]:
    kind = next(spec.kind for spec in library.categories[key.partition("@")[0]].specs if spec.key == field)
    if isinstance(fact, list):
        return {kind: fact}
    if isinstance(fact, bool):
        return {"words": "yes" if fact else "no"}
    return {"number" if kind == "number" else "words": fact, "sure": True}
