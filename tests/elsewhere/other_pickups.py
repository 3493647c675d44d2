"""Invented pickups of the twelve kinds, with one fault at most."""
from dataclasses import dataclass, field
from other_circuit import Network

KINDS = {"single2": 8, "hb2": 11, "hb3link": 11, "hb3shield": 8, "hb4": 22, "hb5": 7, "par2": 4, "stack2": 4, "stack4": 6, "tap": 6, "tri6": 7, "unused": 6}
COLOURS = ["BU", "YE", "GY", "VT", "PK", "TQ", "BN", "OG", "SR", "BUYE", "GYPK", "VTOG"]


@dataclass
class Coil:
    """A winding: volts of its second node against its first follow winding * pole * flux change."""
    name: str
    a: str
    b: str
    ohm: float
    henry: float
    winding: int
    pole: int
    place: str
    flux_Wb: float
    taps: list = field(default_factory=list)     # (fraction from a, node)
    open: bool = False

    @property
    def touch(self):
        return self.winding * self.pole


@dataclass
class Stretch:
    """What a wire map calls a coil: from node to node with no clip between."""
    a: str
    b: str
    coils: list                                    # names
    hidden: bool = False


@dataclass
class Pickup:
    kind: str
    coils: list
    stretches: list
    leads: list                                    # (clip, colour, node)
    ties: list = field(default_factory=list)       # (node, node, ohm)
    coupling: dict = field(default_factory=dict)   # (name, name) -> k
    stacked: bool = False
    fault: str = None
    fault_ohm: float = None
    fault_fraction: float = None
    fault_coil: str = None
    bad_clip: int = None
    tags: list = field(default_factory=list)
    cross: dict = field(default_factory=dict)      # place -> coil -> signed share of that coil's own flux

    def places(self):
        out = []
        for c in self.coils:
            if c.place not in out and c.place is not None:
                out.append(c.place)
        return out

    def coil(self, name):
        return next(c for c in self.coils if c.name == name)

    def edges(self, mend=False):
        """Resistances of the network; with mend, as if an open winding were whole."""
        out = []
        for c in self.coils:
            points = [(0.0, c.a)] + sorted(c.taps) + [(1.0, c.b)]
            for (f, n), (g, m) in zip(points, points[1:]):
                broken = c.open and f < 0.5 <= g and not mend
                out.append((n, m, None if broken else c.ohm * (g - f), (c.name, g - f)))
        return out + [(a, b, r, None) for a, b, r in self.ties]

    def network(self, mend=False):
        nodes = []
        for a, b, _, _ in self.edges(True):
            nodes += [n for n in (a, b) if n not in nodes]
        nodes += [n for _, _, n in self.leads if n not in nodes]
        net = Network(nodes, [(a, b, r, (i if c else None)) for i, (a, b, r, c) in enumerate(self.edges(mend))])
        net.share = {i: c for i, (_, _, _, c) in enumerate(self.edges(mend)) if c}
        return net

    def lifts(self, net, emf):
        """Potentials for coil name -> emf of the whole winding."""
        return net.lift({i: emf.get(c, 0.0) * part for i, (c, part) in net.share.items()})


def choose(rng, weights):
    """A key of weights, drawn by weight."""
    keys = list(weights)
    p = [weights[k] for k in keys]
    return keys[int(rng.choice(len(keys), p=[x / sum(p) for x in p]))]


def between(rng, lo, hi):
    """Even in logarithm."""
    return float(lo * (hi / lo) ** rng.random())


def draw_pickup(rng):
    """One pickup with leads on clips, faults and all."""
    kind = choose(rng, KINDS)
    tags = []
    make = choose(rng, {"usual": 55, "blade": 15, "low": 12, "hot": 10, "cover": 8})
    tags.append(make)
    stacked = kind in ("stack2", "stack4")

    def one(name, a, b, winding, pole, place, like=None):
        if like is None:
            if make == "low":
                ohm, henry, flux = between(rng, 40, 400), between(rng, .01, .08), between(rng, 3e-5, 6e-4)
            elif make == "hot":
                ohm, henry, flux = between(rng, 6500, 13000), between(rng, 3.5, 8), between(rng, 1.5e-3, 1.2e-2)
            else:
                ohm, henry, flux = between(rng, 2300, 7200), between(rng, 1.2, 4.2), between(rng, 4e-4, 6e-3)
        else:
            r = 1 + .03 * rng.standard_normal()
            if ratio != 1:
                r *= ratio
            ohm, henry, flux = like.ohm * r, like.henry * r * r * (1 + .03 * rng.standard_normal()), like.flux_Wb * r * between(rng, .7, 1.4)
        return Coil(name, a, b, ohm, henry, winding, pole, place, flux)

    ratio = 1
    if rng.random() < .1 and not stacked:
        ratio = between(rng, .45, .6) if rng.random() < .5 else between(rng, 1.7, 2.2)
        tags.append("unequal")
    names = choose(rng, {("upper", "lower", "middle"): 3, ("neck side", "bridge side", "between"): 2, ("screws", "slugs", "bar"): 2, ("A", "B", "C"): 1})
    w = [1 if rng.random() < .5 else -1 for _ in range(3)]
    p0 = 1 if rng.random() < .5 else -1
    same = rng.random() < .08
    poles = [p0, p0 if same else -p0, p0]
    if same:
        tags.append("equal poles")
    # A pair that is right in series has s1 and s2 following one another; the twin may have been wound the other way or not.
    mixed = False
    if kind == "single2" or kind == "tap" or kind == "unused":
        place = choose(rng, {"single": 3, "bobbin": 1, names[0]: 1})
        coils = [one("u", "u0", "u1", w[0], p0, place)]
    elif stacked:
        u = one("u", "u0", "u1", w[0], p0, choose(rng, {"single": 2, "top": 1}))
        v = one("v", "v0", "v1", w[1], p0, None, u)
        coils = [u, v]
    elif kind == "tri6":
        u = one("u", "u0", "u1", w[0], poles[0], names[0])
        coils = [u, one("v", "v0", "v1", w[1], poles[1], names[1], u), one("x", "x0", "x1", w[2], poles[2], names[2], u)]
    else:
        u = one("u", "u0", "u1", w[0], poles[0], names[0])
        coils = [u, one("v", "v0", "v1", w[1], poles[1], names[1], u)]
    if len(coils) == 1 or stacked:
        tags = [x for x in tags if x not in ("equal poles", "unequal")]
    c = {x.name: x for x in coils}

    def series(first, second, opposed):
        """Joins second to first on one node so that a touch lifts both alike, or against each other."""
        sense = c[first].touch * c[second].touch * (-1 if opposed else 1)
        if sense > 0:
            c[second].a = c[first].b
        else:
            c[second].b = c[first].b
        return c[first].a, (c[second].b if sense > 0 else c[second].a), c[first].b

    nodes, stretches = [], []
    if kind in ("single2", "unused"):
        nodes, stretches = ["u0", "u1"], [Stretch("u0", "u1", ["u"])]
    elif kind == "tap":
        f = float(rng.uniform(.2, .8))
        coils[0].taps.append((f, "t"))
        nodes, stretches = ["u0", "t", "u1"], [Stretch("u0", "t", ["u"]), Stretch("t", "u1", ["u"])]
    elif kind in ("hb2", "hb3shield", "stack2"):
        mixed = kind != "stack2" and rng.random() < .12
        a, b, _ = series("u", "v", mixed or kind == "stack2")
        nodes, stretches = [a, b], [Stretch(a, b, ["u", "v"], True)]
    elif kind == "par2":
        mixed = rng.random() < .1
        sense = c["u"].touch * c["v"].touch * (-1 if mixed else 1)
        c["v"].a, c["v"].b = ("u0", "u1") if sense > 0 else ("u1", "u0")
        nodes, stretches = ["u0", "u1"], [Stretch("u0", "u1", ["u", "v"], True)]
    elif kind == "hb3link":
        a, b, link = series("u", "v", rng.random() < .1)
        nodes, stretches = [a, link, b], [Stretch(a, link, ["u"]), Stretch(link, b, ["v"])]
    elif kind in ("hb4", "stack4"):
        nodes, stretches = ["u0", "u1", "v0", "v1"], [Stretch("u0", "u1", ["u"]), Stretch("v0", "v1", ["v"])]
        if kind == "hb4" and rng.random() < .12:
            a, b, link = series("u", "v", False)
            far = c["v"].a if c["v"].a != link else c["v"].b
            nodes, stretches = [a, link, link, far], [Stretch(a, link, ["u"]), Stretch(link, far, ["v"])]
            tags.append("link twisted")
    elif kind == "hb5":
        t = c["v"]
        t.taps.append((float(rng.uniform(.25, .75)), "t"))
        nodes = ["u0", "u1", "v0", "t", "v1"]
        stretches = [Stretch("u0", "u1", ["u"]), Stretch("v0", "t", ["v"]), Stretch("t", "v1", ["v"])]
    elif kind == "tri6":
        nodes = ["u0", "u1", "v0", "v1", "x0", "x1"]
        stretches = [Stretch("u0", "u1", ["u"]), Stretch("v0", "v1", ["v"]), Stretch("x0", "x1", ["x"])]
        if rng.random() < .35:
            # Three in series with both links brought out: four leads, one component.
            series("u", "v", False)
            far = c["v"].a if c["v"].a != c["u"].b else c["v"].b
            sense = c["v"].touch * c["x"].touch * (1 if c["v"].a == c["u"].b else -1)
            if sense > 0:
                c["x"].a = far
            else:
                c["x"].b = far
            last = c["x"].b if sense > 0 else c["x"].a
            nodes = ["u0", c["u"].b, far, last]
            stretches = [Stretch("u0", c["u"].b, ["u"]), Stretch(c["u"].b, far, ["v"]), Stretch(far, last, ["x"])]
            tags.append("three in series")
    if mixed:
        tags.append("out of phase")
    kinds_of_lead = ["wire"] * len(nodes)

    # Frame, shield and spare leads.
    ties = []
    has_chassis = kind == "hb3shield" or len(nodes) < 6 and rng.random() < .5
    if has_chassis:
        nodes.append("chassis")
        kinds_of_lead.append("bare" if rng.random() < .82 else "wire")
        tie = rng.random()
        if tie < .2:
            end = stretches[0].a if rng.random() < .5 else stretches[-1].b
            ties.append(("chassis", end, float(rng.uniform(.03, .5))))
            tags.append("frame tied")
        if len(nodes) < 6 and rng.random() < .06:
            nodes.append("chassis")
            kinds_of_lead.append("wire")
            tags.append("two frame leads")
    spare = (1 if rng.random() < .6 else 2) if kind == "unused" else int(rng.random() < .05)
    for i in range(spare):
        if len(nodes) < 6:
            nodes.append(f"spare{i}")
            kinds_of_lead.append("wire" if rng.random() < .85 or "bare" in kinds_of_lead else "bare")
            tags.append("spare lead")
    if len(nodes) < 6 and rng.random() < .06:
        n = nodes[int(rng.integers(len(stretches) + 1))]
        nodes.append(n)
        kinds_of_lead.append("wire")
        tags.append("joined clips")
    order = rng.permutation(len(nodes))
    clips = sorted(int(x) for x in rng.choice(6, size=len(nodes), replace=False) + 1) if rng.random() < .25 else list(range(1, len(nodes) + 1))
    colours = [COLOURS[i] for i in rng.permutation(len(COLOURS))]
    leads = []
    for i, clip in zip(order, clips):
        colour = "BARE" if kinds_of_lead[i] == "bare" else colours.pop()
        leads.append((clip, colour, nodes[i]))

    pickup = Pickup(kind, coils, stretches, leads, ties, stacked=stacked, tags=tags)
    # Neighbours: coupling and what leaks over of a touch. Its sign is the pickup's own and means nothing.
    side = between(rng, .2, .32) if make == "blade" else between(rng, .04, .18)
    names_ = [x.name for x in coils]
    for i, m in enumerate(names_):
        for n in names_[i + 1:]:
            pickup.coupling[m, n] = -float(rng.uniform(.35, .9)) if stacked else side * (.4 if {m, n} == {"u", "x"} and kind == "tri6" else 1)
    for place in pickup.places():
        pickup.cross[place] = {}
        for x in coils:
            if x.place == place:
                pickup.cross[place][x.name] = 1.0
            elif stacked:
                pickup.cross[place][x.name] = float(rng.uniform(.25, .7)) * min(1, coils[0].flux_Wb / x.flux_Wb)
            else:
                pickup.cross[place][x.name] = float(rng.uniform(.3, 1)) * min(.2, side + .03) * (1 if rng.random() < .6 else -1)
    draw_fault(rng, pickup, has_chassis)
    return pickup


def draw_fault(rng, pickup, has_chassis):
    """One fault, or none (two pickups in three)."""
    if rng.random() > .36:
        return
    kind = choose(rng, {"bridge_chassis": 20, "bridge_coils": 8, "leak": 15, "open": 20, "shorted_turns": 8, "intermittent": 26, "flaky": 6, "live": 4})
    x = pickup.coils[int(rng.integers(len(pickup.coils)))]
    tied = "frame tied" in pickup.tags
    low = "low" in pickup.tags

    def tap_at(coil, f, node):
        coil.taps.append((f, node))
        return node
    if kind == "bridge_chassis" and has_chassis and not tied and not x.taps:
        pickup.fault, pickup.fault_coil = kind, x.name
        pickup.fault_fraction = float(rng.uniform(.1, .9))
        pickup.fault_ohm = between(rng, .1, 3) if low or rng.random() < .6 else between(rng, 3, 300)
        pickup.ties.append((tap_at(x, pickup.fault_fraction, "fault"), "chassis", pickup.fault_ohm))
    elif kind == "bridge_coils" and pickup.kind in ("hb4", "tri6") and "link twisted" not in pickup.tags and "three in series" not in pickup.tags:
        y = next(c for c in pickup.coils if c is not x)
        pickup.fault, pickup.fault_coil = kind, x.name
        pickup.fault_ohm = between(rng, .1, 3)
        pickup.ties.append((tap_at(x, float(rng.uniform(.15, .85)), "fault"), tap_at(y, float(rng.uniform(.15, .85)), "fault2"), pickup.fault_ohm))
    elif kind == "leak":
        other = "chassis" if has_chassis and not tied else None
        if other is None and pickup.kind in ("hb4", "tri6", "stack4") and "link twisted" not in pickup.tags and "three in series" not in pickup.tags:
            other = next(c for c in pickup.coils if c is not x).a
        if other is None:
            return
        pickup.fault, pickup.fault_coil = kind, x.name
        pickup.fault_ohm = between(rng, 1.2e5, 6e7)
        pickup.ties.append((x.b, other, pickup.fault_ohm))
    elif kind == "open" and not x.taps:
        pickup.fault, pickup.fault_coil, x.open = kind, x.name, True
    elif kind == "shorted_turns" and not x.taps:
        f = between(rng, .02, .35)
        pickup.fault, pickup.fault_coil, pickup.fault_fraction = kind, x.name, f
        x.ohm *= 1 - f
        x.henry *= (1 - f) ** 2
        x.flux_Wb *= 1 - f
    elif kind in ("intermittent", "flaky"):
        used = [clip for clip, _, node in pickup.leads if any(node in (s.a, s.b) for s in pickup.stretches)]
        pickup.fault, pickup.bad_clip = kind, int(rng.choice(used))
    elif kind == "live":
        pickup.fault = kind
