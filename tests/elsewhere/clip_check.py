"""Puts the clip bench's own physics beside what can be worked out by hand: JSON in, JSON out.

in:  { "networks": [ { "nodes": n, "edges": [[a, b, ohm], ...] } ], "seed": s, "pickups": k, "touches": [ { "flux_Wb", "rise_s", "noise_V", "rate_Hz" } ] }
out: { "tables": [...], "hb4": [...], "signs": [...], "d": [...] }
"""
import json
import sys

import numpy as np

from clip_capture import Capture, Workshop
from clip_network import Network
from clip_pickup import draw_pickup
from clip_truth import potentials


def table(network):
    net = Network()
    for i in range(network["nodes"]):
        net.node(i)
    for a, b, ohm in network["edges"]:
        net.add(a, b, ohm)
    return [[None if np.isinf(x) else x for x in row] for row in net.resistances(list(range(network["nodes"]))).tolist()]


def sound(kind, seed, number):
    return draw_pickup(np.random.default_rng([seed, number]), kind, None)


def hb4(pickup):
    clips = sorted(pickup.leads)
    ohms = pickup.network().resistances(clips)
    clip_of = {node: clip for clip, node in pickup.leads.items()}
    return [{"ohm_20C": w.ohm_20C, "temperature_C": pickup.temperature_C,
             "leads_ohm": [pickup.detail["lead_ohm"][clip_of[w.start]], pickup.detail["lead_ohm"][clip_of[w.end]]],
             "ohm": float(ohms[clips.index(clip_of[w.start]), clips.index(clip_of[w.end])])} for w in pickup.windings]


def sign(pickup):
    """Volts at the winding's end against its start for a touch of 1 at its place."""
    clip_of = {node: clip for clip, node in pickup.leads.items()}
    return [{"winding": "cw" if w.sense > 0 else "ccw", "pole": "N" if w.pole > 0 else "S",
             "swing": potentials(pickup)[w.place][clip_of[w.end]] - potentials(pickup)[w.place][clip_of[w.start]]} for w in pickup.windings]


def sigmas(touch):
    """The ideal detector for one raised cosine, with no load and hardly a nuisance."""
    rng = np.random.default_rng(1)
    pickup = next(p for n in range(50) if (p := sound("single2", 1, n)).frame == "none" and len(p.leads) == 2)
    workshop = Workshop(rng)
    workshop.rate_Hz, workshop.before_s, workshop.after_s = touch["rate_Hz"], 0.2, 1.0
    workshop.noise_V, workshop.step_V, workshop.input_ohm, workshop.hand_hum = touch["noise_V"], 1e-9, 1e12, 1.0
    a, b = sorted(pickup.leads)
    capture = Capture(workshop, pickup.places[0], pickup.places[0], "normal", [(a, b)])
    capture.draw_hand(rng, 0.0)
    hand = capture.gesture
    hand.approach, hand.begin_s, hand.contact_s, hand.rise_s, hand.bounces, hand.leave_s = "normal", 0.01, 0.01, touch["rise_s"], [], None
    return capture.evidence(pickup)[0][0] * touch["flux_Wb"]


def main():
    ask = json.load(sys.stdin)
    pickups = [sound("hb4", ask["seed"], n) for n in range(ask["pickups"])]
    plain = [p for p in pickups if not p.ties]
    print(json.dumps({"tables": [table(n) for n in ask["networks"]], "hb4": [w for p in plain for w in hb4(p)],
                      "signs": [w for p in plain for w in sign(p)], "d": [sigmas(t) for t in ask["touches"]]}))


main()
