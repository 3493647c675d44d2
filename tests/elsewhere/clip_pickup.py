"""Pickups drawn at random: windings, leads, frame and faults, as a network with named nodes."""
from dataclasses import dataclass, field

import numpy as np

from clip_hand import log_uniform
from clip_network import Network

KINDS = ("single2", "hb2", "hb3link", "hb3shield", "hb4", "hb5", "par2", "stack2", "stack4", "tap", "tri6", "unused")
KIND_SHARES = (0.11, 0.12, 0.10, 0.07, 0.25, 0.05, 0.06, 0.03, 0.05, 0.05, 0.06, 0.05)
COLOURS = ("BU", "YE", "GY", "VT", "PK", "TQ", "BN", "OG", "BUYE", "GYPK")
COPPER_PER_K = 0.00393  # IEC 60028, at 20 C
SHAPE = {"hb2": "pair", "hb3link": "pair", "hb3shield": "pair", "hb4": "pair", "hb5": "pair", "par2": "pair",
         "single2": "single", "tap": "single", "stack2": "stack", "stack4": "stack", "tri6": "three"}
PLACES = {"single": (("single",), ("pole row",)), "stack": (("single",), ("top",)),
          "pair": (("upper", "lower"), ("upper", "lower"), ("front", "back")),
          "three": (("upper", "middle", "lower"), ("first", "second", "third"))}


@dataclass
class Winding:
    name: str
    start: str
    end: str
    ohm_20C: float
    henry: float
    loss_ohm: float
    farad: float
    sense: int                # +1: clockwise from start to end, seen from the face
    pole: int                 # +1: the face shows N
    place: str
    inner: bool = False       # under another coil: cannot be touched by itself
    cuts: list = field(default_factory=list)      # (fraction, node)
    shorted: float = 0.0
    broken: bool = False

    @property
    def touch(self):
        """Sign of the emf at `end` as steel arrives."""
        return self.sense * self.pole

    @property
    def turns(self):
        """Share of the turns that still make voltage."""
        return 1 - self.shorted


@dataclass
class Pickup:
    kind: str
    windings: list
    places: tuple
    leads: dict               # clip -> node, or None where the lead leads nowhere
    colours: dict             # clip -> colour code, or None
    frame: str                # "none", "lone", "tied": has no lead, a lead of its own, a lead and a tie to an end
    ties: list                # (node, node, ohm) less than 2 ohm
    extra: list               # (node, node, ohm) faults that conduct
    share: dict               # (place, winding) -> flux relative to a touch's own; positive has the winding's own touch sign
    coupling: dict            # frozenset of names -> k, negative for coils that share an axis
    temperature_C: float
    fault: str = None
    tags: list = field(default_factory=list)
    detail: dict = field(default_factory=dict)

    def winding(self, name):
        return next(w for w in self.windings if w.name == name)

    def response(self, place):
        """Flux in each winding, start to end, for a touch of 1 at a place."""
        return np.array([self.share[place, w.name] * w.touch * w.turns for w in self.windings])

    def warm(self, ohm_20C):
        return ohm_20C * (1 + COPPER_PER_K * (self.temperature_C - 20))

    def segments(self):
        """(node, node, ohms at the bench's temperature, winding's name, share of its emf) of every unbroken stretch."""
        out = []
        for w in self.windings:
            points = sorted([(0.0, w.start), *w.cuts, (1.0, w.end)])
            for (f, a), (g, b) in zip(points, points[1:]):
                ohm = self.warm(w.ohm_20C) * (g - f) * w.turns
                if w.broken and f <= 0.5 < g:
                    if f > 0 or (0.5 - f) > 0.01:
                        out.append((a, f"{w.name}~", ohm * (0.5 - f) / (g - f), w.name, 0.5 - f))
                    out.append((f"{w.name}~~", b, ohm * (g - 0.5) / (g - f), w.name, g - 0.5))
                else:
                    out.append((a, b, ohm, w.name, g - f))
        return out

    def network(self, faults=True):
        """The whole network up to the clips, whose nodes are their numbers."""
        net = Network()
        for a, b, ohm, name, share in self.segments():
            net.add(a, b, ohm, name, share)
        for a, b, ohm in self.ties + (self.extra if faults else []):
            net.add(a, b, ohm)
        for clip, node in sorted(self.leads.items()):
            if node is None:
                net.node(clip)
            else:
                net.add(clip, node, self.detail["lead_ohm"][clip])
        return net

    def mutual(self, a, b):
        """Mutual inductance of two windings taken start to end, H."""
        k = self.coupling.get(frozenset((a.name, b.name)), 0.0)
        return -k * a.sense * b.sense * np.sqrt(a.henry * b.henry) * a.turns * b.turns


def _winding(rng, name, place, pole, ohm=None, henry=None, **more):
    ohm = log_uniform(rng, 2500, 16000) if ohm is None else ohm
    # Inductance goes with the square of the turns, and so, for one kind of wire, with the square of the resistance.
    henry = min(9.0, max(0.6, 2.3 * (ohm / 4100) ** 1.1 * log_uniform(rng, 0.75, 1.35))) if henry is None else henry
    loss = log_uniform(rng, 30e3, 100e3) if rng.random() < 0.2 else log_uniform(rng, 120e3, 1e6)
    return Winding(name, f"{name}0", f"{name}1", ohm, henry, loss, log_uniform(rng, 4e-11, 2.5e-10),
                   int(rng.choice((-1, 1))), pole, place, **more)


def _siblings(rng, names, places, poles, mismatch):
    ohm = log_uniform(rng, 2800, 7500)
    first = _winding(rng, names[0], places[0], poles[0], ohm)
    out = [first]
    for name, place, pole in zip(names[1:], places[1:], poles[1:]):
        r = float(rng.uniform(0.94, 1.06))
        # Siblings of one wire: L goes with R squared, within the 15 per cent by which they may honestly differ.
        henry = first.henry * r ** 2 * float(rng.uniform(0.95, 1.05))
        if mismatch:
            r = float(rng.choice((rng.uniform(0.45, 0.68), rng.uniform(1.45, 2.0))))
            henry = first.henry * r ** 2 * float(rng.uniform(0.9, 1.1))
        w = _winding(rng, name, place, pole, ohm * r, henry)
        w.loss_ohm = first.loss_ohm * r * float(rng.uniform(0.93, 1.07))
        w.farad = first.farad * float(rng.uniform(0.9, 1.1))
        out.append(w)
    return out


def _join_in_series(rng, first, second, opposed):
    """Ties an end of each so that their touches add (or, opposed, fight). @returns the outer ends and the junction."""
    if rng.random() < 0.5:
        first.start, first.end, first.sense = first.end, first.start, -first.sense
    first.end = "link"
    if (second.touch == first.touch) != opposed:
        second.start = "link"
        return first.start, second.end
    second.end = "link"
    return first.start, second.start


def draw_pickup(rng, kind, fault):
    """Draws a pickup of a kind. `fault` is None or the class of what is wrong with it."""
    base = kind
    if kind == "unused":
        base = str(rng.choice(("single2", "hb2", "hb3link", "hb4")))
    shape = SHAPE[base]
    names = PLACES[shape][int(rng.integers(len(PLACES[shape])))]
    tags = []
    pole = int(rng.choice((-1, 1)))
    mismatch = fault is None and shape in ("pair", "three") and base in ("hb3link", "hb4", "tri6") and rng.random() < 0.07
    if mismatch:
        tags.append("mismatch")
    coupling, share = {}, {}
    if shape == "pair":
        same = rng.random() < 0.1
        if same:
            tags.append("same_pole")
        windings = _siblings(rng, ("u", "l"), names, (pole, pole if same else -pole), mismatch)
    elif shape == "three":
        windings = _siblings(rng, ("a", "b", "c"), names, (pole, -pole, pole), mismatch)
    elif shape == "stack":
        top = _winding(rng, "t", names[0], pole, log_uniform(rng, 3000, 8000))
        bottom = _winding(rng, "i", names[0], pole, top.ohm_20C * float(rng.uniform(0.9, 1.1)), top.henry * float(rng.uniform(0.8, 1.0)), inner=True)
        windings = [top, bottom]
    else:
        windings = [_winding(rng, "s", names[0], pole)]
    for i, a in enumerate(windings):
        for b in windings[i + 1:]:
            coupling[frozenset((a.name, b.name))] = -float(rng.uniform(0.3, 0.9)) if shape == "stack" else log_uniform(rng, 0.04, 0.18)
    for place in names:
        for w in windings:
            if w.place == place and not w.inner:
                share[place, w.name] = 1.0
            elif w.inner:
                share[place, w.name] = float(rng.uniform(0.15, 0.55))
            else:
                # A neighbour's share has no sign to rely on: of coils whose poles differ it is mostly the neighbour's own.
                own = next(x for x in windings if x.place == place and not x.inner)
                usual = 1 if own.pole != w.pole else -1
                share[place, w.name] = usual * log_uniform(rng, 0.02, 0.18) * (1 if rng.random() < 0.75 else -1)

    opposed = False
    if base in ("hb2", "hb3shield", "par2") and fault is None and rng.random() < 0.06:
        opposed = True
        tags.append("out_of_phase_inside")
    if base in ("hb2", "hb3shield", "hb3link", "stack2"):
        # A stack is joined to cancel hum: same pole, so its windings run against each other from end to end.
        against = {"stack2": True, "hb3link": rng.random() < 0.15}.get(base, opposed)
        outer = _join_in_series(rng, windings[0], windings[1], against)
        nodes = [*outer] + (["link"] if base == "hb3link" else [])
    elif base == "par2":
        u, l = windings
        same_way = (u.touch == l.touch) != opposed
        l.start, l.end = (u.start, u.end) if same_way else (u.end, u.start)
        nodes = [u.start, u.end]
    else:
        nodes = [n for w in windings for n in (w.start, w.end)]
    if base in ("tap", "hb5"):
        windings[0].cuts.append((float(rng.uniform(0.25, 0.75)), "tap"))
        nodes.append("tap")

    pickup = Pickup(kind, windings, names, {}, {}, "none", [], [], share, coupling,
                    float(np.round(rng.uniform(12, 31), 2)), fault, tags)
    _fit_leads(rng, pickup, base, nodes, fault)
    _spoil(rng, pickup, base, fault)
    return pickup


def _fit_leads(rng, pickup, base, nodes, fault):
    spare = int(rng.integers(1, 3)) if pickup.kind == "unused" else 0
    room = 6 - len(nodes) - spare
    frame = "none"
    if fault == "bridge_chassis" or (fault == "leak" and base not in ("hb4", "tri6")):
        frame = "lone"
    elif base == "hb3shield":
        frame = "tied" if rng.random() < 0.35 else "lone"
    elif room > 0:
        frame = str(rng.choice(("none", "lone", "tied"), p=(0.45, 0.37, 0.18)))
    wires = list(nodes)
    if frame != "none":
        wires.append("frame")
    if frame == "tied":
        ends = [n for n in nodes if n not in ("link", "tap")]
        pickup.ties.append((str(rng.choice(ends)), "frame", log_uniform(rng, 0.02, 0.6)))
        pickup.tags.append("chassis_tied")
    if base == "hb4" and fault is None and rng.random() < 0.08:
        u, l = pickup.windings
        # Two leads that somebody has already twisted together, as a series link.
        pickup.ties.append((u.end, l.start if u.touch == l.touch else l.end, log_uniform(rng, 0.03, 0.8)))
        pickup.tags.append("joined_leads")
    elif len(wires) + spare < 6 and base != "hb4" and fault is None and rng.random() < 0.06:
        wires.append(str(rng.choice(nodes)))
        pickup.tags.append("double_lead")
    wires += [None] * min(spare, 6 - len(wires))
    pickup.frame = frame
    order = rng.permutation(len(wires))
    # Clips may be numbered with a gap: the clip between was not used.
    numbers = sorted(int(c) for c in (rng.choice(6, len(wires), replace=False) + 1)) if rng.random() < 0.15 else range(1, len(wires) + 1)
    pickup.leads = {c: wires[k] for c, k in zip(numbers, order)}
    bare = rng.random() < (0.9 if fault == "bridge_chassis" else 0.7)
    named = rng.random() > 0.06
    colours = [str(c) for c in rng.permutation(COLOURS)]
    for clip, node in pickup.leads.items():
        if node == "frame" and bare:
            pickup.colours[clip] = "BARE"
        else:
            pickup.colours[clip] = colours.pop() if named else None
    pickup.detail["lead_ohm"] = {clip: log_uniform(rng, 0.01, 0.1) for clip in pickup.leads}


def _spoil(rng, pickup, base, fault):
    """Puts in the fault."""
    touchable = [w for w in pickup.windings if not w.inner]
    victim = touchable[int(rng.integers(len(touchable)))]
    if fault == "open":
        if victim.cuts:
            victim = pickup.windings[-1]
        victim.broken = True
    elif fault == "shorted_turns":
        victim.shorted = log_uniform(rng, 0.01, 0.35)
    elif fault == "bridge_chassis":
        victim = next((w for w in touchable if not w.cuts), victim)
        f = float(rng.uniform(0.06, 0.94))
        victim.cuts.append((f, "spot"))
        pickup.extra.append(("spot", "frame", log_uniform(rng, 0.2, 300)))
        pickup.detail["fraction"] = f
    elif fault == "bridge_coils":
        a, b = touchable[:2]
        fa, fb = (float(x) for x in rng.uniform(0.08, 0.92, 2))
        a.cuts.append((fa, "spot"))
        b.cuts.append((fb, "spot2"))
        pickup.extra.append(("spot", "spot2", log_uniform(rng, 0.2, 200)))
    elif fault == "leak":
        ohm = log_uniform(rng, 6e5, 6e7)
        f = float(rng.uniform(0.05, 0.95))
        others = [w for w in touchable if w is not victim]
        victim.cuts.append((f, "spot"))
        if pickup.frame == "lone":
            pickup.extra.append(("spot", "frame", ohm))
        else:
            pickup.extra.append(("spot", others[0].start, ohm))
        pickup.detail["leak_ohm"] = ohm
    pickup.detail["victim"] = victim.name if fault in ("open", "shorted_turns", "bridge_chassis", "leak") else None
