"""What is computed of a build over HTTP: with its facts, 304 while nothing changes, money only for who may see it."""

from typing import Any

import httpx
import pytest

from service import guard
from service.ids import new_id
from tests.api.others import member
from tests.api.words import API, build, fit, got, made, ok, part, plan, refused, specs
from tests.conftest import Served

VIEWS = ("gearing", "chain", "spokes", "clearance", "pressure", "torque", "position", "cost", "mass")


def euros(minor: int, currency: str = "EUR") -> dict[str, Any]:
    """An amount as it is sent."""
    return {"minor": minor, "currency": currency}


def furnished(client: httpx.Client) -> str:
    """A build with a drive, a frame and tyres that are known."""
    on = build(client, use="mixed")
    frame = specs(chainstay_mm=430, gap_tyre_width_mm=38, gap_side_mm=9, gap_crown_mm=12)
    fit(client, on, part(client, "frame", "Grey frame", specs=frame, mass_weighed_g=2010.0, price=euros(12000)))
    crankset = part(client, "crankset", specs=specs(arm_length_mm=170, rings_count=1))
    fit(client, on, crankset)
    fit(client, on, part(client, "chainring", specs=specs(ring_teeth=40)), "outer", into_part=crankset)
    tyre = specs(bsd_mm=622, width_marked_mm=40, pressure_max_kpa=400, pressure_planned_kpa=300)
    fit(client, on, part(client, "tyre", specs=tyre), "rear")
    wheel = next(each for each in got(client, f"/builds/{on}")["parts"] if each["slot"] == "wheel")["part"]
    cassette = specs(sprockets_teeth=[11.0, 13.0, 15.0, 18.0, 21.0, 24.0, 28.0, 32.0], sprockets_count=8)
    fit(client, on, part(client, "cassette", specs=cassette), into_part=wheel)
    fit(client, on, part(client, "rear-derailleur", specs=specs(capacity_teeth=30, largest_max_teeth=34)), "rear")
    plan(client, on, part(client, "chain", state="planned", specs=specs(links_count=116), price=euros(2500)))
    return on


def test_each_view_says_what_it_rests_on_and_what_it_lacks(client: httpx.Client) -> None:
    on = furnished(client)
    gears = got(client, f"/builds/{on}/gearing", cadence_rpm=60)
    assert [each["sprocket_teeth"] for each in gears["gears"]] == [32, 28, 24, 21, 18, 15, 13, 11]
    assert gears["gears"][-1]["speed_kmh"] == pytest.approx(gears["gears"][-1]["development_m"] * 3.6)
    assert {each["known_by"] for each in gears["inputs"]} == {"measured"}
    chain = got(client, f"/builds/{on}/chain")
    assert (chain["large_ring_teeth"], chain["large_sprocket_teeth"], chain["answer"]) == (40, 32, "long enough")
    assert chain["offcut_links_count"] == 116 - chain["links_needed_count"]
    room = got(client, f"/builds/{on}/clearance")
    assert [each["gap_mm"] for each in room["ends"][1]["gaps"]][:2] == [8, 10]
    assert {each["category"] for each in room["not_known"]} >= {"fork", "tyre", "pedals"}
    pressure = got(client, f"/builds/{on}/pressure")
    assert (pressure["tyres"][0]["ceiling_kpa"], pressure["tyres"][0]["governs"]) == (400, "tyre")
    asked = [each for view in VIEWS for each in got(client, f"/builds/{on}/{view}")["not_known"]]
    assert [each for each in asked if not (each["title"] and each["how"])] == []


@pytest.mark.parametrize("view", VIEWS)
def test_a_view_is_304_until_a_part_changes(client: httpx.Client, view: str) -> None:
    on = build(client)
    frame = part(client, "frame")
    fit(client, on, frame)
    first = client.get(f"{API}/builds/{on}/{view}")
    assert first.status_code == 200
    again = {"If-None-Match": first.headers["ETag"]}
    assert client.get(f"{API}/builds/{on}/{view}", headers=again).status_code == 304
    ok(client.put(f"{API}/parts/{frame}/specs/chainstay_mm", json={"number": 430}))
    assert client.get(f"{API}/builds/{on}/{view}", headers=again).status_code == 200
    assert client.get(f"{API}/builds/{new_id()}/{view}").status_code == 404


def test_a_guessed_fact_is_told_as_guessed(client: httpx.Client) -> None:
    on = build(client)
    frame = part(client, "frame")
    fit(client, on, frame)
    ok(client.put(f"{API}/parts/{frame}/specs/chainstay_mm", json={"number": 430, "known_by": "guessed"}))
    [read] = [each for each in got(client, f"/builds/{on}/chain")["inputs"] if each["field"] == "chainstay_mm"]
    assert (read["number"], read["known_by"], read["part"]) == (430, "guessed", frame)


def test_the_cost_is_a_hand_sum_with_its_expenses_and_names_what_it_leaves_out(client: httpx.Client) -> None:
    on = furnished(client)
    made(client, f"/builds/{on}/expenses", kind="shop", amount=euros(3000), day="2026-04-10", note="Facing.")
    made(client, f"/builds/{on}/expenses", kind="carriage", amount=euros(690))
    headers = {"If-Match": "*"}
    ok(client.patch(f"{API}/builds/{on}", json={"compare_price": euros(90000)}, headers=headers))
    found = got(client, f"/builds/{on}/cost")
    assert (found["paid_minor"], found["to_buy_minor"], found["spent_minor"]) == (12000, 2500, 3690)
    assert (found["total_minor"], found["against_minor"], found["currency"]) == (18190, 18190 - 90000, "EUR")
    names = {each["name"] for each in found["without_price"]}
    assert names >= {"crankset", "chainring", "tyre", "cassette"}
    assert [name for name in names if name not in found["leaves_out"]] == []
    assert {each["kind"]: each["amount_minor"] for each in found["by_kind"]}["shop"] == 3000
    assert [each["note"] for each in got(client, f"/builds/{on}/expenses")["items"] if each["kind"] == "shop"] == [
        "Facing."
    ]


def test_an_expense_sent_twice_is_stored_once(client: httpx.Client) -> None:
    on, sent = build(client), {"id": str(new_id()), "kind": "tool", "amount": euros(1500)}
    first = ok(client.post(f"{API}/builds/{on}/expenses", json=sent), 201)
    assert ok(client.post(f"{API}/builds/{on}/expenses", json=sent)) == first
    refused(client.post(f"{API}/builds/{on}/expenses", json=sent | {"kind": "shop"}), 409)
    assert len(got(client, f"/builds/{on}/expenses")["items"]) == 1


@pytest.mark.parametrize(
    ("sent", "status", "pointer"),
    [
        ({"kind": "shop", "amount": euros(10, "USD")}, 400, "/amount/currency"),
        ({"kind": "bribe", "amount": euros(10)}, 422, "/kind"),
        ({"kind": "shop", "amount": euros(-1)}, 422, "/amount/minor"),
        ({"kind": "shop", "amount": euros(10), "day": "soon"}, 422, "/day"),
        ({"kind": "shop"}, 422, "/amount"),
    ],
)
def test_an_expense_that_cannot_be_is_refused_at_its_field(
    client: httpx.Client, sent: dict[str, Any], status: int, pointer: str
) -> None:
    on = build(client)
    refused(client.post(f"{API}/builds/{on}/expenses", json=sent), status, pointer=pointer)
    assert got(client, f"/builds/{on}/expenses")["items"] == []


def test_a_price_to_compare_with_in_another_currency_is_refused(client: httpx.Client) -> None:
    sent = {"name": "Dear", "compare_price": euros(90000, "CHF")}
    refused(client.post(f"{API}/builds", json=sent), 400, "EUR", pointer="/compare_price/currency")
    on = build(client, compare_price=euros(90000))
    assert got(client, f"/builds/{on}/cost")["compare_minor"] == 90000
    ok(client.patch(f"{API}/builds/{on}", json={"compare_price": None}, headers={"If-Match": "*"}))
    assert got(client, f"/builds/{on}/cost")["compare_minor"] is None


def test_who_may_only_read_is_shown_no_money(client: httpx.Client, service: Served) -> None:
    on = furnished(client)
    made(client, f"/builds/{on}/expenses", kind="shop", amount=euros(3000))
    with service.client(member(service, "read")) as reader:
        found = got(reader, f"/builds/{on}/cost")
        assert got(reader, f"/builds/{on}/expenses")["items"][0]["amount"] is None
    told = [found, *found["by_kind"], *found["parts"], *found["without_price"], *found["without_price_new"]]
    amounts = [worth for each in told for name, worth in each.items() if name.endswith("_minor")]
    assert amounts != []
    assert set(amounts) == {None}


def test_an_expense_is_undone_like_any_other_change(client: httpx.Client) -> None:
    on = build(client)
    made(client, f"/builds/{on}/expenses", kind="shop", amount=euros(3000))
    request = got(client, "/journal")["items"][0]["request"]
    ok(client.post(f"{API}/journal/{request}/undo"))
    assert got(client, f"/builds/{on}/expenses")["items"] == []


def test_the_mass_is_a_hand_sum(client: httpx.Client) -> None:
    found = got(client, f"/builds/{furnished(client)}/mass")
    assert (found["sum_g"], found["weighed_g"]) == (2010, 2010)
    assert "tyre" in found["leaves_out"]
    assert {each["group"]: each["mass_g"] for each in found["groups"]}["frame and fork"] == 2010


def test_set_ups_differ_and_a_target_is_reached(client: httpx.Client) -> None:
    on = build(client)
    frame = specs(stack_mm=580, reach_mm=380, head_angle_deg=72)
    fit(client, on, part(client, "frame", specs=frame))
    fit(client, on, part(client, "headset", specs=specs(stack_upper_mm=15)))
    fit(client, on, part(client, "stem", specs=specs(length_mm=90, angle_deg=-6, clamp_height_mm=40)))
    fit(client, on, part(client, "spacers", specs=specs(height_mm=20)))
    one = made(client, f"/builds/{on}/set-ups", at="2026-04-01T10:00:00Z", saddle_height_mm=720)["id"]
    two = made(client, f"/builds/{on}/set-ups", at="2026-04-09T10:00:00Z", saddle_height_mm=728)["id"]
    found = got(client, f"/builds/{on}/position", first=one, second=two, forward_mm=450, up_mm=640, inseam_mm=820)
    assert {each["field"]: each["by"] for each in found["difference"]}["saddle_height_mm"] == 8
    assert [each["id"] for each in found["set_ups"]] == [two, one]
    assert found["bar"]["up_mm"] > 600
    assert found["reached"]["stems"][0]["off_mm"] <= found["reached"]["with_this_stem"]["off_mm"]
    assert found["starts"][0]["saddle_height_mm"] == pytest.approx(724.06)


def test_the_torques_take_your_wrench_and_its_extension(client: httpx.Client) -> None:
    on = build(client)
    stem = part(client, "stem")
    fit(client, on, stem)
    ok(client.put(f"{API}/parts/{stem}/torque-figures/steerer-clamp", json={"low_nm": 4, "high_nm": 5}))
    made(client, "/wrenches", title="Small", low_nm=2, high_nm=24, tolerance_percent=4)
    found = got(client, f"/builds/{on}/torque", wrench_mm=300, extension_mm=100)
    [row] = [each for each in found["fastenings"] if each["fastening"] == "stem.steerer-clamp"]
    assert (row["low_nm"], row["high_nm"], row["set_high_nm"], row["by_maker"]) == (4, 5, 3.75, True)


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("gearing?cadence_rpm=0", 422, "cadence_rpm"),
        ("gearing?circumference_mm=-5", 422, "circumference_mm"),
        ("gearing?cadence=90", 422, "cadence_rpm"),
        ("torque?wrench_mm=200&extension_mm=250", 400, "as long as the wrench"),
        ("torque?wrench_mm=200", 422, "extension_mm is missing"),
        ("torque?strength_class=9.9", 422, "strength_class"),
        ("position?forward_mm=430", 422, "up_mm is missing"),
        ("position?first=0199f2a1-7c00-7000-8000-000000000001", 422, "second is missing"),
        ("position?spacers_mm=-1", 422, "spacers_mm"),
    ],
)
def test_what_cannot_be_asked_is_refused_and_named(client: httpx.Client, path: str, status: int, words: str) -> None:
    refused(client.get(f"{API}/builds/{build(client)}/{path}"), status, words)


def test_a_set_up_of_another_build_is_not_compared(client: httpx.Client) -> None:
    on, other = build(client), build(client, "Other")
    one = made(client, f"/builds/{on}/set-ups", saddle_height_mm=720)["id"]
    foreign = made(client, f"/builds/{other}/set-ups", saddle_height_mm=700)["id"]
    refused(client.get(f"{API}/builds/{on}/position", params={"first": one, "second": foreign}), 404)


GPX = "application/gpx+xml"
NAMESPACE = "http://www.topografix.com/GPX/1/1"
TRACK = f"""<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="{NAMESPACE}"><trk>
<trkseg><trkpt lat="47.0" lon="8.0"><ele>400</ele><time>2026-05-04T07:00:00Z</time></trkpt>
<trkpt lat="47.01" lon="8.0"><ele>450</ele><time>2026-05-04T07:05:00Z</time></trkpt></trkseg>
<trkseg><trkpt lat="48.0" lon="8.0"><ele>900</ele><time>2026-05-04T09:00:00Z</time></trkpt>
<trkpt lat="48.01" lon="8.0"><ele>880</ele><time>2026-05-04T09:05:00Z</time></trkpt></trkseg></trk></gpx>"""


def sent_track(client: httpx.Client, text: str | bytes, media: str = GPX, **query: Any) -> httpx.Response:
    """A track as a file is sent."""
    data = text if isinstance(text, bytes) else text.encode()
    return client.post(f"{API}/calculations/track", content=data, headers={"Content-Type": media}, params=query)


@pytest.mark.parametrize("media", ["application/gpx+xml", "application/xml", "text/xml", "application/octet-stream"])
def test_a_track_is_added_up_and_its_gap_is_not_bridged(client: httpx.Client, media: str) -> None:
    found = ok(sent_track(client, TRACK, media))
    assert found["km"] == pytest.approx(2.2237, abs=5e-4)  # 0.01° of latitude is 1.1118 to 1.1120 km here (WGS 84)
    assert (found["climb_m"], found["moving_s"], found["segments"]) == (50, 600, 2)
    assert (found["elapsed_s"], found["points_count"], found["started_at"]) == (7500, 4, "2026-05-04T07:00:00Z")
    assert [each["climb_m"] for each in found["by_segment"]] == [50, 0]
    assert "2 m" in found["climb_rule"]
    assert ok(sent_track(client, TRACK, media, climb_threshold_m=60))["climb_m"] == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (TRACK.replace('lon="8.0"', 'lon="180"', 1), "Point 1 (segment 1): lon"),
        (TRACK.replace('lat="48.01"', 'lat="NaN"'), "Point 4 (segment 2): lat"),
        (TRACK.replace("09:05", "06:05"), "no earlier than"),
        (TRACK.replace("/1/1", "/1/0"), "it should begin with gpx"),
        (TRACK[:-40], "ends too early"),
        ("<!DOCTYPE gpx []>" + TRACK.partition("?>")[2], "DOCTYPE"),
        (b"\x1f\x8b\x08\x00", "packed with gzip"),
    ],
)
def test_a_track_that_is_none_is_refused_with_the_point(client: httpx.Client, text: str | bytes, words: str) -> None:
    refused(sent_track(client, text), 400, words)


def test_a_track_in_json_is_refused(client: httpx.Client) -> None:
    refused(sent_track(client, "{}", "application/json"), 415, "application/gpx+xml")


@pytest.mark.parametrize("announced", [True, False])
def test_a_track_over_its_limit_is_too_large(
    client: httpx.Client, announced: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "LARGEST_BYTES", 2_000_000)  # the limit itself is 50 times as much
    padded = TRACK.replace("</trk>", " " * 3_000_000 + "</trk>").encode()
    headers = {"Content-Type": "application/gpx+xml"}
    content = padded if announced else iter([padded[:1_500_000], padded[1_500_000:]])
    refused(client.post(f"{API}/calculations/track", content=content, headers=headers), 413, "1953 KiB")


def test_a_track_of_more_than_a_mebibyte_is_read_piece_by_piece(client: httpx.Client) -> None:
    padded = TRACK.replace("</trk>", " " * 3_000_000 + "</trk>")
    assert ok(sent_track(client, padded))["segments"] == 2
