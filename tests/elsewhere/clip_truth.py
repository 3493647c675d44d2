"""What was really there, and what the evidence of a record lets a perfect reader say."""
import numpy as np

from clip_network import Network

# Sigmas of the ideal detector from which on a sign can be had, and from which on a touch is clear: the ideal knows the
# shape, a reader does not, and pays for it (a bank of shapes costs a factor of 1.3 at 2 sigma, 40 ms of flux one of 2 to 5).
KNOWN_d = 15
CLEAR_d = 25
GUESS_d = 3
JOINED_ohm = 2.0
DOMINANT = 3.0  # own flux over a neighbour's share, below which nobody can say whose touch it was


class Stretches:
    """The coils of a pickup as its clips show them: stretches of winding between two groups of joined clips."""

    def __init__(self, pickup):
        self.pickup = pickup
        clips = sorted(pickup.leads)
        net = pickup.network(faults=False)
        table = net.resistances(clips)
        root = {}
        for i, clip in enumerate(clips):
            root[clip] = next((root[c] for j, c in enumerate(clips[:i]) if table[i, j] < JOINED_ohm), clip)
        self.group_of = root
        self.groups = [[c for c in clips if root[c] == r] for r in sorted(set(root.values()))]
        # A lead on a bridged frame that no colour gives away is a tap for all that anyone can see.
        whole = pickup.network() if pickup.fault == "bridge_chassis" else net
        part = whole.components()
        self.component = {c: min(d for d in clips if part[whole.index[d]] == part[whole.index[c]]) for c in clips}
        self._find(net)

    def _find(self, net):
        pickup = self.pickup
        # Nodes that hang on a clip or are tied to one stand for its group.
        stands = {}
        for clip, node in pickup.leads.items():
            if node is not None:
                stands[node] = self.group_of[clip]
        for _ in range(len(pickup.ties) + 1):
            for a, b, _ohm in pickup.ties:
                for x, y in ((a, b), (b, a)):
                    if x in stands:
                        stands.setdefault(y, stands[x])
        parts = []  # [set of nodes, list of segments]
        for segment in pickup.segments():
            nodes = {("clip", stands[n]) if n in stands else n for n in segment[:2]}
            hidden = {n for n in nodes if not isinstance(n, tuple)}
            touching = [p for p in parts if hidden & p[0]]
            merged = (set(nodes), [segment])
            for p in touching:
                parts.remove(p)
                merged = (merged[0] | p[0], p[1] + merged[1])
            parts.append(merged)
        by_ends = {}
        for nodes, segments in parts:
            ends = tuple(sorted(n[1] for n in nodes if isinstance(n, tuple)))
            if len(ends) == 2:
                by_ends.setdefault(ends, []).extend(segments)
        self.coils = []
        for ends, segments in sorted(by_ends.items()):
            alone = Network()
            for a, b, ohm, name, share in segments:
                alone.add(stands.get(a, a), stands.get(b, b), ohm, name, share)
            names = [w.name for w in pickup.windings]
            v = alone.per_emf(names)
            self.coils.append({
                "ends": list(ends),
                "inside": sorted({s[3] for s in segments}),
                "ohm": float(alone.resistances(ends)[0, 1]),
                # Volts at ends[1] against ends[0] for a volt in each winding, and by reciprocity the current that each carries.
                "weight": v[alone.index[ends[1]]] - v[alone.index[ends[0]]],
            })

    def inductance(self, i, j):
        """Flux linkage at coil i for 1 A in coil j, both from ends[0] to ends[1], H."""
        ws = self.pickup.windings
        table = np.array([[a.henry * a.turns ** 2 if a is b else self.pickup.mutual(a, b) for b in ws] for a in ws])
        return float(self.coils[i]["weight"] @ table @ self.coils[j]["weight"])


def potentials(pickup):
    """For each place, what every clip does (relative to a touch of 1) as steel arrives there."""
    net = pickup.network()
    v = net.per_emf([w.name for w in pickup.windings])
    return {place: {clip: float(v[net.index[clip]] @ pickup.response(place)) for clip in sorted(pickup.leads)} for place in pickup.places}


def signs(pickup, stretches, potential):
    """Fills in each coil's place, pole, plus and minus."""
    for coil in stretches.coils:
        a, b = coil["ends"]
        inside = [pickup.winding(n) for n in coil["inside"]]
        places = sorted({w.place for w in inside}, key=pickup.places.index)
        swing = {p: potential[p][b] - potential[p][a] for p in places}
        top = max(abs(x) for x in swing.values())
        big = [x for x in swing.values() if abs(x) > 0.3 * top]
        coil["mixed"] = min(big) < 0 < max(big)
        coil["plus"], coil["minus"] = (None, None) if coil["mixed"] else (b, a) if big[0] > 0 else (a, b)
        coil["places"] = places
        coil["hidden"] = len(places) > 1
        coil["inner"] = all(w.inner for w in inside)
        coil["place"] = places[0] if len(places) == 1 else None
        poles = {w.pole for w in inside}
        coil["pole"] = ("N" if poles == {1} else "S") if len(poles) == 1 and len(places) == 1 else None
        coil["winding"] = {"N": "cw", "S": "ccw", None: None}[coil["pole"]] if len(inside) == 1 else None
        coil["swing"] = swing


def heard(pickup, captures, coil, group_of):
    """Sums up what the captures say of one coil: sigmas with everything, sigmas that tell the sign, and sigmas by place."""
    total, told = 0.0, 0.0
    by_place = {}
    for capture in captures:
        if capture.touched not in coil["places"]:
            continue
        at = [k for k, (p, m) in enumerate(capture.channels) if {group_of[p], group_of[m]} == set(coil["ends"])]
        if not at:
            continue
        whole, before = capture.sigmas[at[0]]
        total += (whole * capture.flux_Wb) ** 2
        if capture.murky:
            continue
        told += (before * capture.flux_Wb) ** 2
        by_place[capture.touched] = by_place.get(capture.touched, 0.0) + (before * capture.flux_Wb) ** 2
    return np.sqrt(total), np.sqrt(told), {p: np.sqrt(x) for p, x in by_place.items()}


def comparable(captures, coil, group_of, pickup, style):
    """Whether the record shows whose touch a coil's swing was: beside another coil in one capture, or, a channel at a time,
    against the same channel's share at the other places."""
    if pickup.kind == "stack4":
        # Both swing at every touch: the outer one is known by swinging far more, or by a coupling that only a shared axis gives.
        return min(abs(x) for x in coil["inner_share"].values()) * DOMINANT < 1 or coil["axis_shown"]
    if len(pickup.places) == 1 or coil["hidden"]:
        return True
    if style == "together":
        return True
    if style == "lazy":
        return False
    own, other = [], []
    for capture in captures:
        for p, m in capture.channels:
            if {group_of[p], group_of[m]} == set(coil["ends"]) and capture.touched is not None:
                size = abs(coil["swing_all"][capture.touched]) * capture.flux_Wb
                (own if capture.touched in coil["places"] else other).append(size)
    return bool(own) and bool(other) and min(own) > DOMINANT * max(other)
