"""The API of the stand-alone calculations: nothing is stored, everything comes with the request."""

from dataclasses import asdict
from math import pi
from typing import Annotated, Any

from fastapi import Depends, Query, Request
from fastapi.concurrency import run_in_threadpool

from service.api.queries import check_queries
from service.context import signed_in_router
from service.domain import bolt, chain, clearance, gearing, tyre, units, wheel, wrench
from service.domain.critical_path import Activity, critical_path
from service.domain.track import CLIMB_THRESHOLD_M, MOVING_MS, Track, TrackSum
from service.errors import Refusal
from service.formats.gpx import GpxReader
from service.schemas import calculations as sent
from service.schemas.problems import refusals

router = signed_in_router(check_queries, prefix="/api/v1/calculations", tags=["calculations"])
REFUSED = refusals(Refusal)
FITS = {
    "meets": "Within the table of 2006; both makers' lists govern.",
    "needs care": "Outside the table of 2006, strict for today's rims: read both makers' lists before you buy.",
    "conflicts": "So wide a rim stretches the tyre flat: it unseats, and the rim has no cover.",
    "not measured yet": "Measure the rim between its hooks.",
}

TIMES = ("earliest_start", "earliest_finish", "latest_start", "latest_finish")


@router.post("/gear", summary="Work out a gear")
def work_out_gear(asked: sent.GearSent) -> sent.GearShown:
    """Ratio, development, gear inches; gain ratio and speed where crank and cadence are given."""
    if asked.circumference_mm is not None:
        circumference_mm = asked.circumference_mm
    elif asked.wheel_diameter_in is not None:
        circumference_mm = pi * asked.wheel_diameter_in * gearing.INCH_MM
    else:
        circumference_mm = tyre.circumference_mm(asked.bead_seat_mm or 0, asked.tyre_mm or 0)
    found = gearing.gear(asked.ring_teeth, asked.sprocket_teeth, circumference_mm, asked.crank_mm, asked.cadence_rpm)
    return sent.GearShown(
        ratio=found.ratio,
        development_m=found.development_m,
        gear_in=found.gear_in,
        gain_ratio=found.gain_ratio,
        speed_kmh=found.speed_kmh,
        circumference_mm=circumference_mm,
    )


@router.post("/chain-length", summary="Work out a chain's length", responses=REFUSED)
def work_out_chain_length(asked: sent.ChainLengthSent) -> sent.ChainLengthShown:
    """Links of a taut run over one ring and one sprocket; a derailleur's cage comes on top."""
    exact = chain.links_exact(asked.ring_teeth, asked.sprocket_teeth, asked.chainstay_mm)
    return sent.ChainLengthShown(
        links_approximate=chain.links_approximate(asked.ring_teeth, asked.sprocket_teeth, asked.chainstay_mm),
        links_exact=exact,
        links_to_fit=chain.links_to_fit(exact),
    )


@router.post("/spoke-length", summary="Work out a spoke's length", responses=REFUSED)
def work_out_spoke_length(asked: sent.SpokeLengthSent) -> sent.SpokeLengthShown:
    """One side of a wheel; circles and holes are diameters."""
    lacing = wheel.Lacing(**asked.model_dump(exclude={"tight_side"}))
    length_mm = wheel.spoke_length_mm(lacing)
    order_mm = wheel.order_length_mm(length_mm, tight_side=asked.tight_side)
    return sent.SpokeLengthShown(length_mm=length_mm, order_mm=order_mm)


@router.post("/torque-extension", summary="Work out a setting with an extension", responses=REFUSED)
def work_out_torque_extension(asked: sent.TorqueExtensionSent) -> sent.TorqueExtensionShown:
    """What to set on the wrench so that the bolt gets what is wanted."""
    set_nm = wrench.extension_setting_nm(asked.wanted_nm, asked.wrench_mm, asked.extension_mm, asked.angle_deg)
    return sent.TorqueExtensionShown(set_nm=set_nm)


@router.post("/bolt-torque", summary="Work out what a bolt takes", responses=REFUSED)
def work_out_bolt_torque(asked: sent.BoltTorqueSent) -> sent.BoltTorqueShown:
    """Proof load of ISO 898-1, and the torque that brings a bolt to a share of it; the part maker's figure governs."""
    size = bolt.coarse_size(asked.thread)
    proof = bolt.proof_load_n(asked.thread, asked.strength_class)
    if size is None or proof is None:
        known = ", ".join(bolt.PROOF_N)
        right = f"one of {known}, with its coarse pitch"
        raise Refusal(f"The thread {asked.thread} is not in the table.", errors=[("/thread", right)])
    preload_n = proof * asked.proof_share
    return sent.BoltTorqueShown(
        stress_area_mm2=bolt.STRESS_AREA_MM2[size],
        proof_load_n=proof,
        preload_n=preload_n,
        torque_nm=bolt.tightening_torque_nm(asked.nut_factor, preload_n, float(size[1:])),
    )


@router.post("/torque-units", summary="Turn a torque into other units")
def work_out_torque_units(asked: sent.TorqueUnitsSent) -> sent.TorqueUnitsShown:
    """Exact by definition."""
    torque_nm = units.newton_metres(asked.torque, asked.unit)
    return sent.TorqueUnitsShown(
        newton_metres=torque_nm,
        pound_inches=units.torque_in(torque_nm, "lbf·in"),
        pound_feet=units.torque_in(torque_nm, "lbf·ft"),
        kilogram_centimetres=units.torque_in(torque_nm, "kgf·cm"),
    )


@router.post("/tyre", summary="Work out a tyre on a rim")
def work_out_tyre(asked: sent.TyreSent) -> sent.TyreShown:
    """Size, whether the widths go together, and the pressure that nobody's limit forbids."""
    answer = tyre.widths(asked.tyre_mm, asked.rim_inner_mm)
    ceiling = tyre.ceiling({"tyre": asked.tyre_max_kpa, "rim": asked.rim_max_kpa}, hookless=asked.hookless)
    return sent.TyreShown.model_validate(
        {
            "circumference_mm": tyre.circumference_mm(asked.bead_seat_mm, asked.tyre_mm),
            "diameter_mm": tyre.diameter_mm(asked.bead_seat_mm, asked.tyre_mm),
            "fits": None if asked.rim_inner_mm is None else answer == "meets",
            "answer": answer,
            "say": FITS[answer],
            "ceiling_kpa": ceiling.kpa,
            "governs": ceiling.governs,
            "not_known": list(ceiling.not_known),
            "advised_kpa": tyre.advised_kpa(asked.tyre_mm) if asked.rim_max_kpa is None else None,
        }
    )


@router.post("/clearance", summary="Work out the room of another tyre")
def work_out_clearance(asked: sent.ClearanceSent) -> sent.ClearanceShown:
    """A gap carried over from one tyre to another on the same rim."""
    largest = clearance.largest_tyre_mm(asked.tyre_mm, asked.gap_mm, asked.required_mm, asked.gap)
    return sent.ClearanceShown(
        new_gap_mm=clearance.new_gap_mm(asked.tyre_mm, asked.gap_mm, asked.new_tyre_mm, asked.gap),
        largest_tyre_mm=largest if largest > 0 else None,
    )


@router.post("/critical-path", summary="Work out a critical path", responses=REFUSED)
def work_out_critical_path(asked: sent.CriticalPathSent) -> sent.CriticalPathShown:
    """When each step can start, how late it may, and which may not slip."""
    found = critical_path([Activity(each.key, each.minutes, tuple(each.after)) for each in asked.steps])
    steps = [
        sent.ActivityShown(key=key, slack=span.slack, **{name: getattr(span, name) for name in TIMES})
        for key, span in found.times.items()
    ]
    return sent.CriticalPathShown(steps=steps, total=found.total, critical=list(found.critical))


GPX_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "description": "A GPX 1.1 file of up to 100 MB, read piece by piece; nothing of it is kept.",
        "content": {"application/gpx+xml": {"schema": {"type": "string"}}},
    }
}
MOVING = f"Time counts between two points of a segment that lie {MOVING_MS:g} m or more apart for each second."
Threshold = Annotated[
    float, Query(ge=0, le=100, description="How far a height must be from the last one that counted, m.")
]


async def _track_sent(request: Request, climb_threshold_m: Threshold = CLIMB_THRESHOLD_M) -> Track:
    """Adds up a track while it comes in, so that a large one is never held whole."""
    reader, adding = GpxReader(), TrackSum(threshold_m=climb_threshold_m)
    async for piece in request.stream():
        await run_in_threadpool(_take, piece, reader, adding)
    adding.add(reader.close())
    return adding.done()


def _take(piece: bytes, reader: GpxReader, adding: TrackSum) -> None:
    adding.add(reader.feed(piece))


@router.post("/track", summary="Work out a recorded track", responses=REFUSED, openapi_extra=GPX_BODY)
def work_out_track(
    track: Annotated[Track, Depends(_track_sent)], climb_threshold_m: Threshold = CLIMB_THRESHOLD_M
) -> sent.TrackShown:
    """Distance on the ellipsoid, climb and moving time of a GPX 1.1 file."""
    climb = f"A rise counts once it is {climb_threshold_m:g} m over the last height that counted; no fall counts."
    return sent.TrackShown(
        km=track.metres / 1000,
        climb_m=track.climb_m,
        moving_s=track.moving_s,
        segments=len(track.segments),
        points_count=track.points_count,
        by_segment=[_segment(asdict(each)) for each in track.segments],
        started_at=track.started_at,
        elapsed_s=track.elapsed_s,
        climb_threshold_m=climb_threshold_m,
        climb_rule=climb,
        moving_rule=MOVING,
    )


def _segment(told: dict[str, Any]) -> sent.SegmentShown:
    return sent.SegmentShown(km=told.pop("metres") / 1000, **told)
