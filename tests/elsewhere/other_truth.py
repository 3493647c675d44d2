"""What was really there, and what a perfect reader of the record could say of it.

A perfect reader knows the conventions and the habits of hands, but not the shape of this touch; so a sign counts as `known` when
what comes before the departure stands KNOWN_d sigmas out of the noise in a channel across exactly that stretch, at each place of
a stretch that holds more than one coil, the record lets the reader tell the touched coil from its neighbours, and no lead loses
contact."""
import math

KNOWN_d = 8.0        # eight sigmas leave room for some ten thousand shapes and arrivals tried (P of one false below 1e-11)
CLEAR_d = 16.0       # from here on a sound pickup is called good
MATCH_d = 30.0       # the flux of a lift equals that of the touch before to some per cent: needs both this clear
NOTHING_d = 3.0      # below this nobody can say anything
JOINED_ohm = 2.0     # formats: the same node
MISMATCH_R = 1.25
MISMATCH_L = 1.15


def truth_of(bench, index, seed):
    p, net, node = bench.pickup, bench.net, bench.node
    clips = sorted(bench.clips)
    truth = {"id": f"other-{seed}-{index:04d}", "kind": p.kind, "fault_class": p.fault, "tags": p.tags + [bench.style], "clips": clips}
    group, groups = {}, []
    for c in clips:
        g = next((g for g in groups if (net.ohm(node[c], node[g[0]]) or 0.0) < JOINED_ohm and net.connected(node[c], node[g[0]])), None)
        if g is None:
            groups.append([c])
        else:
            g.append(c)
    for i, g in enumerate(groups):
        for c in g:
            group[c] = i
    firm = [(a, b, r) for a, b, r in p.ties if r < 1e5]
    leaky, p.ties = p.ties, firm
    bare_net = p.network()
    p.ties = leaky
    component = {c: bare_net.component[bare_net.at[node[c]]] for c in clips}
    potential = {}
    for place in p.places():
        emf = {x.name: x.touch * (1.0 if x.place == place else p.cross[place][x.name] if p.stacked else 0.0) for x in p.coils}
        v = p.lifts(bare_net, emf)
        potential[place] = {str(c): round(float(v[node[c]]), 5) for c in clips}
    bare = [c for c, colour, _ in p.leads if colour == "BARE"]
    chassis = sorted({c for c in clips if any(group[c] == group[b] for b in bare)})
    missing = bool(bench.missing)
    truth.update(group_of={str(c): g for c, g in group.items()}, component={str(c): int(g) for c, g in component.items()}, potential=potential,
                 chassis_ok=[chassis] + ([sorted(bare)] if missing or p.fault in ("live", "flaky") else []), joined=[g for g in groups if len(g) > 1],
                 joined_judged=not missing and p.fault != "flaky", missing=missing, flaky_resistances=bench.flaky, judge_claims=True)
    if bench.ohm_tol:
        truth["ohm_tol"] = bench.ohm_tol

    reader = Reader(bench, group)
    coils = [reader.coil(s) for s in p.stretches if reader.listed(s, bare_net)]
    parts = [[c["ends"] for c in coils]]
    if p.fault == "bridge_chassis" and not bare:
        # A coloured frame lead on a bridged winding looks like a tap, or like a hidden junction.
        bad = next(i for i, c in enumerate(coils) if p.fault_coil in c["members"])
        frame = bench.clip_on("chassis")
        a, b = coils[bad]["ends"]
        parts.append([e for i, e in enumerate(parts[0]) if i != bad] + [[a, frame], [frame, b]])
        # Read as a tap, the parts of a pair that opposes itself go ways that nothing in the record tells.
        truth["judge_claims"] = False
    reader.poles(coils)
    verdict, expect = reader.verdict(coils)
    for c in coils:
        # Where a lead loses contact no sign is due: to ask for it to be seated first is right too.
        c["known"] = c["known"] and p.fault != "intermittent"
        for key in ("members", "enough", "places_heard"):
            c.pop(key)
    truth.update(coils=[] if p.fault == "live" else coils, partitions=[[]] if p.fault == "live" else parts, verdict_ok=verdict, expect=expect,
                 behaviour=[h["name"] if not h["mistake"] else f"{h['mistake']}: {h['name']}" for h in bench.heard] + (["looked at a needle"] if bench.swings else []),
                 late_lift=any(h["rest"] for h in bench.heard), clean=verdict == ["good"])
    return truth


class Reader:
    """A perfect reader: what each coil of a record can be known for, and which verdicts are right."""

    def __init__(self, bench, group):
        self.bench, self.p, self.group = bench, bench.pickup, group

    def listed(self, s, net):
        """Whether a map should list this stretch: both ends on different clips, and direct current passes."""
        a, b = self.bench.clip_on(s.a), self.bench.clip_on(s.b)
        if a is None or b is None or not net.connected(s.a, s.b):
            return False
        # A broken winding may still be by-passed by nothing of its own: only the other one of a parallel pair.
        if self.p.kind != "par2" and any(self.p.coil(n).open for n in s.coils):
            return False
        return self.group[a] != self.group[b]

    def ohms_known(self, s):
        """All pairs inside the component were read, and one pair at least to each other component."""
        b, comp = self.bench, {}
        for c in b.clips:
            comp.setdefault(b.net.component[b.net.at[b.node[c]]], []).append(c)
        mine = next(cs for cs in comp.values() if b.clip_on(s.a) in cs)
        gone = {frozenset(x) for x in b.missing}
        if any(frozenset((x, y)) in gone for x in mine for y in mine if x != y):
            return False
        return all(any(frozenset((x, y)) not in gone for x in mine for y in cs) for cs in comp.values() if cs is not mine)

    def read(self, h, s):
        """Numbers of the channels of a capture that lie across exactly this stretch."""
        a, b = self.group[self.bench.clip_on(s.a)], self.group[self.bench.clip_on(s.b)]
        return [i for i, q in enumerate(h["pairs"]) if {self.group[q[0]], self.group[q[1]]} == {a, b}]

    def worth(self, s, name, place):
        """(d, d before the departure) of a coil's touches at its place in all channels, and the latter in the best one across the stretch."""
        every = before = across = 0.0
        for i, h in enumerate(self.bench.heard):
            if h["touched"] != place or h["touched"] is None:
                continue
            w = h["worth"][name]
            every += sum(d * d for d, _ in w)
            before += sum(k * k for _, k in w)
            if not self.lift_unclear(i, s, place):
                across = max([across] + [w[k][1] for k in self.read(h, s)])
        return math.sqrt(every), math.sqrt(before), across

    def lift_unclear(self, i, s, place):
        """Steel of the capture before leaves first, and nothing tells that from an arrival that opposes: neither the resting coil's own
        channel, nor a lift that is minus the flux heard on this channel before, both clear and in range."""
        h, b = self.bench.heard[i], self.bench
        if not h["rest"]:
            return False
        resting = h["resting"][0]
        if resting != place and not s.hidden and any(self.read(h, t) for x in self.p.coils if x.place == resting for t in self.stretch_of(x)):
            return False
        before = b.heard[i - 1]
        then = self.read(before, s)
        if not then or any(before["over"][k] for k in then) or any(h["over"][k] for k in self.read(h, s)):
            return True
        return min(max(w[k][1] for w in before["worth"].values()) for k in then) < MATCH_d

    def was_read(self, s, place):
        return any(h["touched"] == place and self.read(h, s) for h in self.bench.heard)

    def stretch_of(self, coil):
        return [t for t in self.p.stretches if coil.name in t.coils and self.bench.clip_on(t.a) and self.bench.clip_on(t.b)]

    def told_apart(self, s, coil):
        """The touched coil can be told from each neighbour: both were heard at one place, or this one at both."""
        for other in self.p.coils:
            if other.place in (None, coil.place) or other.name in s.coils:
                continue
            noted = [w for w in self.bench.swings if w["neighbours"] and w["place"] in (coil.place, other.place)]
            theirs = bool(noted) or any(self.was_read(t, coil.place) for t in self.stretch_of(other))
            if not theirs and not self.was_read(s, other.place):
                return False
        return True

    def swings(self, s, place):
        return [w for w in self.bench.swings if w["stretch"] is s and w["place"] == place and w["main"]]

    def coil(self, s):
        b, p = self.bench, self.p
        x, y = b.clip_on(s.a), b.clip_on(s.b)
        places, lifts = [], {}
        for name in s.coils:
            place = p.coil(name).place
            if place and place not in places:
                places.append(place)
        pot = {pl: p.lifts(b.net, {c.name: c.touch * (1.0 if c.place == pl else p.cross[pl][c.name] if p.stacked else 0.0) for c in p.coils}) for pl in p.places()}
        for pl in pot:
            lifts[pl] = pot[pl][s.b] - pot[pl][s.a]
        top = max(abs(v) for v in lifts.values())
        big = [v for v in lifts.values() if abs(v) > .3 * top]
        mixed = bool(min(big) < 0 < max(big))
        up = max(big, key=abs) > 0
        plus, minus = (y, x) if up else (x, y)
        first = p.coil(s.coils[0])
        inner = first.place is None
        hidden = s.hidden
        out = {"ends": [x, y], "plus": plus, "minus": minus, "mixed": mixed, "place": None if hidden or inner else first.place, "place_known": False,
               "pole": None if hidden else "N" if first.pole > 0 else "S", "pole_known": False,
               "winding": None if hidden else "cw" if first.pole > 0 else "ccw",
               "ohm": round(b.net.ohm(s.a, s.b), 4), "ohm_20C": round(b.net.ohm(s.a, s.b) / (1 + .00393 * (b.temperature_C - 20)), 4),
               "flux": {pl: float(f"{sum(abs(p.cross[pl][n]) * p.coil(n).flux_Wb for n in s.coils):.4g}") for pl in p.places()}, "members": s.coils}
        d2 = k2 = 0.0
        enough, heard = [], []
        for name in s.coils:
            c = p.coil(name)
            if c.place is None:
                continue
            every, before, across = self.worth(s, name, c.place)
            seen = self.swings(s, c.place)
            d2, k2 = d2 + every ** 2, k2 + before ** 2
            enough.append(across >= KNOWN_d or bool(seen) and not any(w["wrong"] for w in seen))
            heard.append((c.place, every, across, len(seen)))
        out["d"] = None if inner else round(math.sqrt(d2), 3)
        out["d_known"] = None if inner else round(math.sqrt(k2), 3)
        if b.only_observed:
            out["d"] = None
            seen = [w for pl in places for w in self.swings(s, pl)]
            if len(seen) == 1 and not seen[0]["neighbours"]:
                out["conf_cap"] = .98
            if any(w["wrong"] for w in seen):
                out["misled"] = True
        if any(h["lone"] and h["touched"] in places for h in b.heard):
            out["misled"] = True
            # The only sight of this coil may have been steel that left.
            enough = [False] * len(enough)
        out["enough"] = bool(enough) and all(enough)
        out["places_heard"] = heard
        # A pair that opposes itself and was not clearly touched at both places: nothing shows it, so no claim can be called wrong.
        out["judged"] = not mixed or out["enough"] and not any(h["mistake"] for h in b.heard)
        apart = hidden or p.stacked or self.told_apart(s, first)
        out["known"] = bool(out["enough"] and apart and not mixed and not inner and self.ohms_known(s)
                            and p.fault not in ("bridge_chassis", "bridge_coils", "live", "flaky"))
        slip_places = {q for h in self.slips() for q in (h["asked"], h["touched"])}
        out["place_known"] = bool(out["known"] and not hidden and not p.stacked and first.place not in slip_places
                                  and p.kind not in ("stack4", "stack2"))
        return out

    def poles(self, coils):
        """A compass at the coil's own place, or at one neighbour's with the coupling between them."""
        at = self.bench.magnet_at
        known = [c for c in coils if c["place_known"] and c["place"] in at]
        for c in coils:
            if not c["place_known"] or c["place"] is None:
                continue
            if c["place"] in at:
                c["pole_known"] = True
            elif any((c["members"][0], k["members"][0]) in self.bench.coupled or (k["members"][0], c["members"][0]) in self.bench.coupled for k in known):
                c["pole_known"] = True

    def derived(self, c, coils):
        """A coil that nobody touched has its plus from a touched neighbour's, the coupling and a compass at both: M at both plus
        terminals is positive exactly when the poles differ."""
        at, pairs = self.bench.magnet_at, self.bench.coupled
        return c["place"] in at and any(k["known"] and k["place"] in at and k["place"] != c["place"] and
                                        {(c["members"][0], k["members"][0]), (k["members"][0], c["members"][0])} & pairs for k in coils)

    # -- verdict ---------------------------------------------------------------------------------------------------

    def wrong_place_told(self):
        """A capture asked at i and touched at j is told when j's coil was heard in it and at j as well, or i's coil at i."""
        for h in self.slips():

            def clear(g, place):
                for s in self.p.stretches:
                    for n in s.coils:
                        if self.p.coil(n).place == place and not s.hidden:
                            if any(g["worth"][n][i][1] >= KNOWN_d for i in self.read(g, s)):
                                return True
                return False
            others = [s for s in self.p.stretches for n in s.coils if self.p.coil(n).place == h["asked"] and not s.hidden and self.read(h, s)]
            if not clear(h, h["touched"]) or not others:
                return False
            good = [g for g in self.bench.heard if g is not h and not g["mistake"]]
            return any(g["touched"] in (h["touched"], h["asked"]) and clear(g, g["touched"]) for g in good)
        return False

    def verdict(self, coils):
        b, p = self.bench, self.p
        expect = []

        def tell(name, kinds, identifiable=True):
            expect.append({"class": name, "kinds": kinds, "identifiable": bool(identifiable)})
        if p.fault == "live":
            tell("live", ["live"])
            return ["fault"], expect
        ok = {"good"}
        stops = []                                   # sets of verdicts that each cause leaves open
        slip = bool(self.slips())
        nobody = [h for h in b.heard if h["touched"] is None]
        mixed = any(c["mixed"] for c in coils)
        if p.fault == "open":
            told = self.open_told(coils)
            tell("open", ["open"], told)
            stops.append({"fault"} if told and not coils else {"fault", "unsure"} if told else {"good", "fault", "unsure"})
        elif p.fault == "bridge_chassis":
            bare = any(colour == "BARE" for _, colour, _ in p.leads)
            tell("bridge", ["bridge"], bare and not b.missing)
            stops.append({"fault"} if bare and not b.missing else {"good", "fault", "unsure"})
        elif p.fault == "bridge_coils":
            tell("bridge coils", ["bridge"], not b.missing)
            stops.append({"fault"} if not b.missing else {"fault", "unsure"})
        elif p.fault == "leak":
            seen = any(e["ohm"] is not None and e["ohm"] > 5e4 for e in b.record["resistances"])
            tell("leak", ["leak", "bridge"], seen)
            if seen and p.fault_ohm < 4.8e5:
                stops.append({"fault"})
            elif seen and p.fault_ohm < 1.05e7:
                stops.append({"good", "unsure", "fault"})
            elif not seen and b.missing:
                stops.append({"good", "unsure"})
        elif p.fault == "shorted_turns":
            tell("shorted turns", ["shorted_turns", "mismatch"], False)
            stops.append({"good", "unsure", "fault"})
        elif p.fault == "intermittent":
            seen = any(h["burst"] for h in b.heard)
            tell("lost contact", ["intermittent"], seen)
            stops.append({"unsure", "fault"} if seen else {"good", "unsure", "fault"})
        elif p.fault == "flaky":
            tell("readings disagree", ["intermittent", "contradiction"], b.flaky)
            stops.append({"unsure", "fault"} if b.flaky else {"good", "unsure", "fault"})
        if mixed:
            told = all(c["enough"] for c in coils if c["mixed"]) and not slip and not nobody and not b.missing
            tell("out of phase", ["out_of_phase"], told)
            stops.append({"fault"} if told and not b.only_observed and not any(h["burst"] for h in b.heard) else {"fault", "unsure", "good"})
        if slip:
            told = self.wrong_place_told() and not b.missing
            tell("wrong place", ["contradiction"], told)
            stops.append({"unsure"} if told or b.missing else {"good", "unsure"})
        if nobody:
            alone = any(not any(g["touched"] == h["asked"] for g in b.heard) for h in nobody)
            stops.append({"unsure"} if alone else {"good", "unsure"})
        if b.missing or b.only_observed or p.stacked:
            stops.append({"good", "unsure"})
        if any(w["wrong"] for w in b.swings):
            stops.append({"good", "unsure", "fault"})
        if "equal poles" in p.tags or self.mismatch(coils):
            stops.append({"good", "unsure"})
        if any(h["lone"] or not h["whole"] for h in b.heard):
            stops.append({"good", "unsure"})
        for c in coils:
            if c["known"] or c["mixed"] or not c["places_heard"] or p.fault in ("bridge_chassis", "bridge_coils"):
                continue
            unheard = any(every < NOTHING_d and not seen and not self.leaves_no_trace(c, place) for place, every, _, seen in c["places_heard"])
            stops.append({"unsure"} if unheard and not p.stacked and not b.only_observed and not self.derived(c, coils) else {"good", "unsure"})
        for c in coils:
            if any(not seen and across < CLEAR_d for _, _, across, seen in c["places_heard"]):
                stops.append({"good", "unsure"})
        for a in p.leads:
            # A coloured lead on nothing: spare, shield or broken, and the map cannot say which.
            if a[1] != "BARE" and not any(b.net.connected(a[2], o[2]) for o in p.leads if o is not a):
                stops.append({"good", "unsure"})
        # What is certain outweighs what is open; a fault that is certain outweighs all.
        if any(s == {"fault"} for s in stops):
            return ["fault"], expect
        if {"unsure", "fault"} in stops or any("fault" in s for s in stops):
            sure = [s for s in stops if "good" not in s]
            if sure:
                return sorted(set.union(*[set(s) for s in stops if "good" not in s]) | {"unsure", "fault"} & set().union(*stops)), expect
            return sorted(set().union(*stops) | {"unsure"}), expect
        if any(s == {"unsure"} for s in stops):
            return ["unsure"], expect
        if stops:
            return ["good", "unsure"], expect
        return sorted(ok), expect

    def slips(self):
        return [h for h in self.bench.heard if h["mistake"] == "wrong place"]

    def named(self):
        return {h["asked"] for h in self.bench.heard} | {w["place"] for w in self.bench.swings}

    def leaves_no_trace(self, c, place):
        """Coils in one winding move the same two leads: what a touch of the one shows is what a touch of the other would. So nothing tells
        that a coil was never touched where the hand slipped to the other, or where no place but the other's was named."""
        if len(c["members"]) < 2:
            return False
        places = {self.p.coil(m).place for m in c["members"]}
        return place not in self.named() or any(h["asked"] == place and h["touched"] in places for h in self.slips())

    def open_told(self, coils):
        """Nothing conducts at all; or more places were named than coils are left."""
        if not coils and not any(e["ohm"] is not None and e["ohm"] > JOINED_ohm for e in self.bench.record["resistances"]):
            return not self.bench.missing
        if self.p.kind == "par2" or self.bench.missing or self.p.stacked:
            return False
        return len(self.named()) > len({m for c in coils for m in c["members"]})

    def mismatch(self, coils):
        """Siblings that a map should remark on: 25 % in R, or 15 % in L/R^2, with a tenth of room."""
        items = [(self.p.coil(m).ohm, self.p.coil(m).henry) for c in coils if not c["members"][1:] for m in c["members"]]
        if len(items) < 2:
            return False
        rs = [r for r, _ in items]
        ls = [h / r ** 2 for r, h in items]
        return max(rs) / min(rs) > MISMATCH_R * .93 or max(ls) / min(ls) > MISMATCH_L * .93
