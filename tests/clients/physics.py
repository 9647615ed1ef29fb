"""Holds `limbledger compute` against libraries that are not ours: radioactivedecay for decay, Pint for doses, shapely for
geometry, geographiclib for distances.

Says nothing when they agree. The program is the one that LIMBLEDGER names.
"""

import json
import math
import os
import random
import subprocess
import sys

import pint
import radioactivedecay
from geographiclib.geodesic import Geodesic
from shapely import LineString, Point, Polygon, affinity

PROGRAM = os.environ.get("LIMBLEDGER", "target/debug/limbledger")
FAR = 1e4  # mm: a line this long stands for one without an end
dice = random.Random(7)  # the same cases in every run
wrong = []


def compute(name, members):
    run = subprocess.run([PROGRAM, "compute", name], input=json.dumps(members), capture_output=True, text=True)
    if run.returncode:
        sys.exit(f"compute {name} refused {members}: {run.stderr}")
    return json.loads(run.stdout)


def agree(what, ours, theirs, relative=1e-9, absolute=1e-9):
    if not math.isclose(ours, theirs, rel_tol=relative, abs_tol=absolute):
        wrong.append(f"{what}: {ours!r}, elsewhere {theirs!r}")


def decay():
    """The library's own half-life to the last digit; the default within what the two half-lives differ by."""
    for nuclide, code in [("Tc-99m", "Tc-99m/ICRP-107"), ("Mo-99", "Mo-99")]:
        agree(f"half-life of {code}", compute("decay", {"nuclide": code, "activity_mbq": 1, "hours": 1})["half_life_h"],
              radioactivedecay.Nuclide(nuclide).half_life("h"), relative=1e-4)
    for _ in range(12):
        activity, hours = dice.uniform(1, 8000), dice.uniform(0, 72)
        sample = radioactivedecay.Inventory({"Tc-99m": activity}, "MBq").decay(hours, "h")
        left = sample.activities("MBq")["Tc-99m"]
        question = {"activity_mbq": activity, "hours": hours}
        agree("Tc-99m", compute("decay", {"nuclide": "Tc-99m/ICRP-107"} | question)["activity_mbq"], left)
        ours = compute("decay", question)
        longer = math.exp(math.log(2) * hours * (1 / ours["half_life_h"] - 1 / 6.015))
        agree("Tc-99m by default", ours["activity_mbq"] * longer, left)
    question = {"nuclide": "Mo-99", "activity_mbq": 1000, "hours": 48}
    parent = radioactivedecay.Inventory({"Mo-99": 1000}, "MBq").decay(48, "h").activities("MBq")["Mo-99"]
    agree("Mo-99", compute("decay", question)["activity_mbq"], parent, relative=1e-4)


def jitter(point, by=4):
    return [point[0] + dice.uniform(-by, by), point[1] + dice.uniform(-by, by)]


FOOT = {"T": (0, 15), "Q": (-60, 21), "E": (-40, 70), "A1": (-26, 46), "A2": (-2, 17), "C": (-45, 80), "W1": (-30, 63),
        "W2": (16, 5), "N": (-45, 35), "F1": (-95, 160), "F2": (-60, 112), "S1": (-58, 100), "S2": (-38, 74),
        "R": (-30, 60), "B": (20, 1), "H": (-95, 1)}


def beyond(one, two):
    """The line through two points, far beyond both."""
    along = affinity.scale(LineString([one, two]), FAR, FAR, origin=Point(one))
    back = affinity.rotate(along, 180, origin=Point(one))
    return LineString([back.coords[1], along.coords[1]])


def steepness(proximal, distal):
    """Degrees between a dorsal line and the ground behind it, by its turn from lying on it."""
    return math.degrees(math.atan2(proximal[1] - distal[1], distal[0] - proximal[0]))


def hoof():
    for _ in range(12):
        level = {name: jitter(at) for name, at in FOOT.items()}
        turn, shift = dice.uniform(-40, 40), (dice.uniform(-300, 300), dice.uniform(-300, 300))
        ground = {"G1": (-100, 0), "G2": (40, 0)}
        placed = {name: Point(at) for name, at in (level | ground).items()}
        placed = {name: affinity.translate(affinity.rotate(at, turn, origin=(0, 0)), *shift) for name, at in placed.items()}
        points = {name: [at.x, at.y] for name, at in placed.items()}
        ours = compute("hoof", {"view": "LM", "points": points})["measures"]

        sole = beyond(points["G1"], points["G2"])
        agree("sole_depth_mm", ours["sole_depth_mm"], placed["T"].distance(sole), 1e-7, 1e-6)
        agree("sole_depth_wing_mm", ours["sole_depth_wing_mm"], placed["Q"].distance(sole), 1e-7, 1e-6)
        drop = placed["C"].distance(sole) - placed["E"].distance(sole)
        agree("founder_distance_mm", ours["founder_distance_mm"], drop, 1e-7, 1e-6)
        middle = LineString([placed["A1"], placed["A2"]]).centroid
        wall = middle.distance(beyond(points["W1"], points["W2"]))
        agree("hdpd_mm", ours["hdpd_mm"], wall, 1e-7, 1e-6)
        agree("hdpd_ratio", ours["hdpd_ratio"], wall / placed["T"].distance(placed["N"]), 1e-7, 1e-6)
        heel = beyond(points["G1"], affinity.rotate(placed["G2"], 90, origin=placed["G1"]).coords[0])
        ahead = {name: placed[name].distance(heel) for name in "BTR"}
        agree("p3_tip_to_breakover_mm", ours["p3_tip_to_breakover_mm"], ahead["B"] - ahead["T"], 1e-7, 1e-6)
        behind = ahead["R"] - math.copysign(placed["H"].distance(heel), level["H"][0] + 100)
        agree("cor_dorsal_palmar_ratio", ours["cor_dorsal_palmar_ratio"], (ahead["B"] - ahead["R"]) / behind, 1e-6)

        # Angles do not turn with the picture: those of the level foot.
        bone, wall = steepness(level["A1"], level["A2"]), steepness(level["W1"], level["W2"])
        agree("p3_dorsal_angle_deg", ours["p3_dorsal_angle_deg"], bone)
        agree("dorsal_hoof_wall_angle_deg", ours["dorsal_hoof_wall_angle_deg"], wall)
        agree("capsular_rotation_deg", ours["capsular_rotation_deg"], bone - wall)
        agree("phalangeal_rotation_deg", ours["phalangeal_rotation_deg"], bone - steepness(level["S1"], level["S2"]))
        agree("hoof_pastern_axis", ours["hoof_pastern_axis"], wall - steepness(level["F1"], level["F2"]))
        agree("palmar_angle_deg", ours["palmar_angle_deg"], steepness(level["Q"], level["T"]))


def tendon():
    """The lesion's volume is the area under its sections, and a share is one area in another."""
    names = ["1A", "1B", "2A", "2B", "3A", "3B", "3C"]
    for _ in range(12):
        spacing = dice.uniform(10, 45)
        outlines = [Point(0, 0).buffer(dice.uniform(4, 7)) for _ in names]
        lesions = [affinity.scale(outline, *[dice.uniform(0.05, 0.9)] * 2) for outline in outlines]
        zones = [{"zone": name, "total_mm2": outline.area, "lesion_mm2": lesion.area}
                 for name, outline, lesion in zip(names, outlines, lesions)]
        ours = compute("tendon", {"zones": zones, "spacing_mm": spacing})
        side = [(place * spacing, lesion.area) for place, lesion in enumerate(lesions)]
        agree("lesion_volume_mm3", ours["lesion_volume_mm3"], Polygon([(0, 0), *side, (side[-1][0], 0)]).area)
        shares = [100 * outline.intersection(lesion).area / outline.area for outline, lesion in zip(outlines, lesions)]
        for zone, share in zip(ours["zones"], shares):
            agree("lesion_pct of " + zone["zone"], zone["lesion_pct"], share)
        whole = sum(lesion.area for lesion in lesions) / sum(outline.area for outline in outlines)
        agree("total_pct", ours["total_pct"], 100 * whole)
        if ours["worst_zone"] != names[shares.index(max(shares))]:
            wrong.append(f"worst_zone: {ours['worst_zone']}, of {shares}")


def distance():
    """On the sphere to the last digits; on the ellipsoid within what flattening makes of it."""
    sphere, earth = Geodesic(6371.0088, 0), Geodesic.WGS84
    for near in [0.5, 5, 60] * 8:
        lat, lon = dice.uniform(-80, 80), dice.uniform(-119, 119)
        there = lat + dice.uniform(-near, near) * (90 - abs(lat)) / 90, lon + dice.uniform(-near, near)
        ends = {"from": {"lat": lat, "lon": lon}, "to": {"lat": there[0], "lon": there[1]}}
        ours = compute("distance", ends | {"circuity": 1.2, "speed_kmh": 40})
        agree("straight_km", ours["straight_km"], sphere.Inverse(lat, lon, *there)["s12"])
        agree("straight_km on WGS84", ours["straight_km"], earth.Inverse(lat, lon, *there)["s12"] / 1000, relative=6e-3)
        agree("road_km", ours["road_km"], 1.2 * ours["straight_km"])
        agree("minutes", ours["minutes"], 1.5 * ours["road_km"])


def doses():
    """A dose by weight in a library of units, and the pounds of United States labels as our milligrams per kilogram."""
    units = pint.UnitRegistry()
    for _ in range(24):
        weight, amount, strength = dice.uniform(30, 900), dice.uniform(1.2, 4.2), dice.choice([50, 100, 200, 1000 / 15])
        ours = compute("dose", {"drug": "phenylbutazone", "route": "IV", "weight_kg": weight, "mg_per_kg": amount,
                                "concentration_mg_per_ml": strength})
        dose = amount * units.mg / units.kg * weight * units.kg
        agree("dose_mg", ours["dose_mg"], dose.to("mg").magnitude)
        agree("volume_ml", ours["volume_ml"], (dose / (strength * units.mg / units.ml)).to("ml").magnitude)
    # 21 CFR 522 and 520, as each label says it.
    labels = [("phenylbutazone", "IV", "1 g/(1000 lb)", "2 g/(1000 lb)"), ("phenylbutazone", "PO", "1 g/(500 lb)", "2 g/(500 lb)"),
              ("flunixin", "IV", "0.5 mg/lb", "0.5 mg/lb"), ("ketoprofen", "IV", "1.0 mg/lb", "1.0 mg/lb"),
              ("xylazine", "IV", "0.5 mg/lb", "0.5 mg/lb"), ("xylazine", "IM", "1.0 mg/lb", "1.0 mg/lb"),
              ("acepromazine", "IV", "2 mg/(100 lb)", "4 mg/(100 lb)")]
    for drug, route, low, high in labels:
        ours = compute("dose", {"drug": drug, "route": route, "weight_kg": 500, "jurisdiction": "US"})
        for mine, label in zip(ours["range_mg_per_kg"], (low, high)):
            agree(f"{drug} {route} mg/kg", mine, units(label).to("mg/kg").magnitude, relative=6e-3)
            agree(f"{drug} {route} mg", ours["range_mg"][0], 500 * ours["range_mg_per_kg"][0])


decay()
distance()
doses()
hoof()
tendon()
sys.exit("\n".join(wrong) or 0)
