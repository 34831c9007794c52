"""The stand-alone calculations over HTTP: a published example each, and what cannot be is refused at its field."""

from typing import Any

import httpx
import pytest

from tests.api.words import API, ONE_DATABASE, ok, refused

pytestmark = ONE_DATABASE


def worked_out(client: httpx.Client, name: str, **sent: Any) -> dict[str, Any]:
    """What a calculation answers."""
    return dict(ok(client.post(f"{API}/calculations/{name}", json=sent)))


# A. Williams, How It Works, "The gearing of a cycle", http://www.free-books.at/book_22465/: 28 in, 75 and 30: 70 in
def test_a_gear_by_each_way_to_say_the_wheel(client: httpx.Client) -> None:
    found = worked_out(client, "gear", ring_teeth=75, sprocket_teeth=30, wheel_diameter_in=28, crank_mm=170)
    assert found["gear_in"] == pytest.approx(70)
    assert (found["ratio"], found["speed_kmh"]) == (2.5, None)
    assert found["gain_ratio"] == pytest.approx(14 * 25.4 / 170 * 2.5)
    by_tyre = worked_out(client, "gear", ring_teeth=1, sprocket_teeth=1, bead_seat_mm=622, tyre_mm=25, cadence_rpm=60)
    rolled = worked_out(client, "gear", ring_teeth=1, sprocket_teeth=1, circumference_mm=2105)
    assert by_tyre["development_m"] == pytest.approx(rolled["development_m"], rel=0.005)  # ISO 5775 table, 25-622
    assert by_tyre["speed_kmh"] == pytest.approx(by_tyre["development_m"] * 3.6)


# Budynas and Nisbett, solutions manual, problem 17-26: 21 and 84 teeth, 20 in, half an inch of pitch: 135 pitches
def test_a_chain(client: httpx.Client) -> None:
    found = worked_out(client, "chain-length", ring_teeth=84, sprocket_teeth=21, chainstay_mm=508)
    assert found["links_approximate"] == pytest.approx(135, abs=0.1)
    assert found["links_exact"] == pytest.approx(135, abs=0.1)
    assert found["links_to_fit"] == 136


SPOKE = {"hole_circle_mm": 58, "flange_offset_mm": 39, "effective_rim_mm": 555, "spoke_hole_mm": 2.6}


# "spoke length" note, http://tristable.net/bike/spoke_length.txt: 265.8 mm
def test_a_spoke(client: httpx.Client) -> None:
    found = worked_out(client, "spoke-length", **SPOKE, spokes_count=36, crosses=3)
    assert found["length_mm"] == pytest.approx(265.8, abs=0.05)
    assert found["order_mm"] == 266


# http://torqwrench.com/Info/extens.php: 30 lbf·ft, 12 in, 6 in: 20 lbf·ft
def test_a_wrench_with_an_extension(client: httpx.Client) -> None:
    sent = {"wanted_nm": 30, "wrench_mm": 304.8, "extension_mm": 152.4}
    assert worked_out(client, "torque-extension", **sent)["set_nm"] == pytest.approx(20)
    assert worked_out(client, "torque-extension", **sent, angle_deg=90)["set_nm"] == 30
    assert worked_out(client, "torque-extension", **sent, angle_deg=180)["set_nm"] == pytest.approx(60)


# ISO 898-1 as tabulated at https://staging2.optimas.com/technical-resources/iso-metric-thread-proof-loads
def test_a_bolt(client: httpx.Client) -> None:
    found = worked_out(client, "bolt-torque", thread="M5", strength_class="8.8", nut_factor=0.2, proof_share=0.75)
    assert (found["stress_area_mm2"], found["proof_load_n"]) == (14.2, 8230)
    assert found["preload_n"] == pytest.approx(6172.5)
    assert found["torque_nm"] == pytest.approx(6.2, abs=0.05)  # the computed ceiling of that table's rows


# NIST SP 811, Appendix B.8: 1 lbf·in is 0.112 984 8 N·m; https://www.nist.gov/pml/special-publication-811
def test_torques_in_other_units(client: httpx.Client) -> None:
    found = worked_out(client, "torque-units", torque=1, unit="lbf·in")
    assert found["N·m"] == pytest.approx(0.1129848, abs=5e-8)
    assert found["lbf·ft"] == pytest.approx(1 / 12)
    assert worked_out(client, "torque-units", torque=1, unit="N·m")["kgf·cm"] == pytest.approx(10.197162, abs=5e-7)
    assert set(found) == {"N·m", "lbf·in", "lbf·ft", "kgf·cm"}


# ISO 5775 by way of https://de-rec-fahrrad.de/_export/xhtml/technik/etrtotabelle
def test_a_tyre_on_a_rim(client: httpx.Client) -> None:
    found = worked_out(client, "tyre", bead_seat_mm=622, tyre_mm=25, rim_inner_mm=15, tyre_max_kpa=700, rim_max_kpa=600)
    assert found["circumference_mm"] == pytest.approx(2105, rel=0.005)
    assert (found["diameter_mm"], found["fits"], found["answer"]) == (672, True, "meets")
    assert (found["ceiling_kpa"], found["governs"], found["not_known"]) == (600, "rim", [])
    bare = worked_out(client, "tyre", bead_seat_mm=622, tyre_mm=40)
    assert (bare["fits"], bare["ceiling_kpa"], bare["governs"]) == (None, None, None)
    assert (bare["not_known"], bare["advised_kpa"]) == (["tyre", "rim"], 300)
    assert worked_out(client, "tyre", bead_seat_mm=622, tyre_mm=25, rim_inner_mm=25)["answer"] == "conflicts"


def test_room_for_another_tyre(client: httpx.Client) -> None:
    found = worked_out(client, "clearance", tyre_mm=38, gap_mm=8, new_tyre_mm=42, required_mm=6)
    assert (found["new_gap_mm"], found["largest_tyre_mm"]) == (6, 42)  # geometry, worked by hand
    none = worked_out(client, "clearance", tyre_mm=20, gap_mm=2, new_tyre_mm=32, required_mm=40)
    assert (none["new_gap_mm"], none["largest_tyre_mm"]) == (-4, None)


# B. W. Taylor, Introduction to Management Science, ch. 8, the last three activities of its network
def test_a_critical_path(client: httpx.Client) -> None:
    steps = [{"key": "3-5", "minutes": 4}, {"key": "4-5", "minutes": 8}, {"key": "5-6", "minutes": 2}]
    steps[2]["after"] = ["3-5", "4-5"]
    found = worked_out(client, "critical-path", steps=steps)
    assert (found["total"], found["critical"]) == (10, ["4-5", "5-6"])
    assert [each["slack"] for each in found["steps"]] == [4, 0, 0]
    assert found["steps"][0]["latest_finish"] == 8


GEAR = {"ring_teeth": 42, "sprocket_teeth": 17, "circumference_mm": 2100}
WIDE = SPOKE | {"spokes_count": 36, "crosses": 3, "hole_circle_mm": 290, "effective_rim_mm": 200}
BOLT = {"thread": "M5", "strength_class": "8.8"}


@pytest.mark.parametrize(
    ("name", "sent", "status", "pointer"),
    [
        ("gear", GEAR | {"ring_teeth": 0}, 422, "/ring_teeth"),
        ("gear", GEAR | {"sprocket_teeth": -11}, 422, "/sprocket_teeth"),
        ("gear", GEAR | {"ring_teeth": 42.5}, 422, "/ring_teeth"),
        ("gear", GEAR | {"wheel_diameter_in": 27}, 422, "/circumference_mm"),
        ("gear", {"ring_teeth": 42, "sprocket_teeth": 17}, 422, "/circumference_mm"),
        ("gear", {"ring_teeth": 42, "sprocket_teeth": 17, "bead_seat_mm": 622}, 422, "/tyre_mm"),
        ("gear", GEAR | {"cadence": 90}, 422, "/cadence"),
        ("chain-length", {"ring_teeth": 0, "sprocket_teeth": 17, "chainstay_mm": 430}, 422, "/ring_teeth"),
        ("chain-length", {"ring_teeth": 60, "sprocket_teeth": 40, "chainstay_mm": 150}, 400, "/chainstay_mm"),
        ("spoke-length", WIDE, 400, "/hole_circle_mm"),
        ("spoke-length", SPOKE | {"spokes_count": 33, "crosses": 3}, 400, "/spokes_count"),
        ("spoke-length", SPOKE | {"spokes_count": 36, "crosses": 5}, 400, "/crosses"),
        ("spoke-length", SPOKE | {"spokes_count": 36, "crosses": -1}, 422, "/crosses"),
        ("torque-extension", {"wanted_nm": 10, "wrench_mm": 200, "extension_mm": 250}, 400, "/extension_mm"),
        ("torque-extension", {"wanted_nm": 0, "wrench_mm": 200, "extension_mm": 50}, 422, "/wanted_nm"),
        ("bolt-torque", BOLT | {"thread": "M5x0.5"}, 400, "/thread"),
        ("bolt-torque", BOLT | {"thread": "9/16"}, 400, "/thread"),
        ("bolt-torque", BOLT | {"strength_class": "9.9"}, 422, "/strength_class"),
        ("bolt-torque", BOLT | {"proof_share": 1.5}, 422, "/proof_share"),
        ("torque-units", {"torque": 5, "unit": "stone"}, 422, "/unit"),
        ("torque-units", {"torque": -5, "unit": "N·m"}, 422, "/torque"),
        ("tyre", {"bead_seat_mm": 622, "tyre_mm": 0}, 422, "/tyre_mm"),
        ("tyre", {"bead_seat_mm": 622, "tyre_mm": 40, "rim_max_kpa": -1}, 422, "/rim_max_kpa"),
        ("clearance", {"tyre_mm": 38, "gap_mm": -1, "new_tyre_mm": 42, "required_mm": 6}, 422, "/gap_mm"),
        ("critical-path", {"steps": []}, 422, "/steps"),
        ("critical-path", {"steps": [{"key": "a", "minutes": -1}]}, 422, "/steps/0/minutes"),
        ("critical-path", {"steps": [{"key": "a", "minutes": 1, "after": ["b"]}]}, 400, "/steps/0/after/0"),
        ("critical-path", {"steps": [{"key": "a", "minutes": 1, "after": ["a"]}]}, 400, "/steps/0/after"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_at_its_field(
    client: httpx.Client, name: str, sent: dict[str, Any], status: int, pointer: str
) -> None:
    refused(client.post(f"{API}/calculations/{name}", json=sent), status, pointer=pointer)
