"""The truth line of a record: what was there, what a perfect reader must find, and which verdicts are right."""
from clip_pickup import COPPER_PER_K
from clip_truth import CLEAR_d, GUESS_d, KNOWN_d, comparable, heard

TELLS = {"open": ["open"], "shorted_turns": ["shorted_turns", "mismatch"], "bridge_chassis": ["bridge"], "bridge_coils": ["bridge"],
         "leak": ["leak", "bridge"], "intermittent": ["intermittent", "contradiction", "open"], "live": ["live"],
         "reversed_reading": ["contradiction"], "no_touch": ["weak_touch", "contradiction"], "wrong_place": ["contradiction", "weak_touch"],
         "mismatch": ["mismatch", "shorted_turns"], "out_of_phase": ["out_of_phase", "contradiction"]}
ANY = {"good", "unsure", "fault"}
BARE_LOSS_ohm = 1e5   # rings.md: no coil without a metal cover loses more


class Judgement:
    def __init__(self, record):
        self.r, self.pickup, self.coils = record, record.pickup, record.stretches.coils
        self.group_of = record.stretches.group_of
        self._hear()
        self._poles()

    def _hear(self):
        r = self.r
        for number, coil in enumerate(self.coils):
            d, told, by_place = heard(self.pickup, r.captures, coil, self.group_of)
            coil["d"], coil["d_known"], coil["by_place"] = d, told, by_place
            coil["judged"] = True
            coil["misled"] = number in r.known_misled
            coil["comparable"] = comparable(r.captures, coil, self.group_of, self.pickup, r.style) if r.captures else True
            # Two coils in one winding may work against each other: both places tell its sign, or none.
            coil["least"] = min(by_place.get(p, 0.0) for p in coil["places"]) if coil["hidden"] else told
            sign = coil["least"] >= KNOWN_d and coil["comparable"] and not coil["inner"]
            if r.meters:
                noted = coil.get("noted", [])
                sign = any(seen and own for seen, own, _ in noted) and not coil["misled"]
                # One swing and nothing beside it at that place; a neighbour that was looked at too adds to it.
                alone = len(noted) == 1 and sum(o["at"] == noted[0][2] for o in r.observed) == 1
                coil["conf_cap"] = 0.98 if alone and noted[0][0] else None
            # Where a lead loses contact no sign is due: the tool that asks for the lead to be seated first is right too.
            due = r.fault not in ("live", "bridge_coils", "intermittent")
            coil["known"] = bool(sign and due and not coil["mixed"] and not self._unread(coil))
        # Touched twice, and one of the captures turned about: nobody can say which.
        if r.reversed is not None and r.reversed[0] == "capture":
            for coil in self.coils:
                if any(c.touched in coil["places"] and c.turned for c in r.captures):
                    coil["judged"], coil["known"] = False, False

    def _unread(self, coil):
        """Whether a pair of clips on the coil's network was not read: then the coil itself may not be known."""
        part = self.r.stretches.component
        return any(part[a] == part[b] == part[coil["ends"][0]] for a, b in self.r.unread)

    def _wrong_places(self):
        """Captures whose steel went elsewhere than asked, and whether each can be told: the coil that was touched stands out
        beside one that lies at the place asked for."""
        out = []
        for c in self.r.captures:
            if c.behaviour != "wrong_place":
                continue
            ends = [{self.group_of[p], self.group_of[m]} for p, m in c.channels]
            there = [x for x in self.coils if not x["hidden"] and x["place"] == c.touched and set(x["ends"]) in ends]
            asked = [x for x in self.coils if not x["hidden"] and x["place"] == c.asked and set(x["ends"]) in ends]
            clear = any(c.sigmas[ends.index(set(x["ends"]))][1] * c.flux_Wb >= CLEAR_d for x in there)
            out.append((c, clear and bool(asked) and not c.murky))
        return out

    def _poles(self):
        r = self.r
        wrong = any(c.behaviour == "wrong_place" for c in r.captures)
        read = {m["at"] for m in r.magnets}
        if r.reversed is not None and r.reversed[0] == "magnet":
            read.discard(r.reversed[1])
        for coil in self.coils:
            coil["place_known"] = bool(coil["known"] and coil["place"] and not wrong and not coil["hidden"])
            coil["pole_known"] = bool(coil["place_known"] and coil["pole"] and coil["place"] in read)

    # ---- what there is to find

    def expectations(self):
        r, pickup = self.r, self.pickup
        out = []

        def expect(name, identifiable):
            out.append({"class": name, "kinds": TELLS[name], "identifiable": bool(identifiable)})

        if r.fault == "open":
            expect("open", self._open_shows())
        elif r.fault == "shorted_turns":
            expect("shorted_turns", self._turns_show())
        elif r.fault == "bridge_chassis":
            bare = any(pickup.leads[c] == "frame" and pickup.colours[c] == "BARE" for c in pickup.leads)
            expect("bridge_chassis", bare)
        elif r.fault == "bridge_coils":
            expect("bridge_coils", True)
        elif r.fault == "leak":
            expect("leak", r.leak_read)
        elif r.fault == "intermittent":
            expect("intermittent", r.flaky or any(c.burst for c in r.captures))
        elif r.fault == "live":
            expect("live", True)
        elif r.fault == "reversed_reading":
            expect("reversed_reading", self._turn_shows())
        for c, clear in self._wrong_places():
            expect("wrong_place", clear)
        empty = [p for p in pickup.places if any(c.asked == p for c in r.captures) and not any(c.touched == p for c in r.captures)
                 and any(c.behaviour == "no_touch" and c.asked == p for c in r.captures)]
        if any(c.behaviour == "no_touch" for c in r.captures):
            expect("no_touch", bool(empty) and not any(c["hidden"] for c in self.coils))
        if "mismatch" in pickup.tags:
            expect("mismatch", not r.missing)
        if any(c["mixed"] for c in self.coils):
            expect("out_of_phase", self._fight_shows())
        return out

    def _open_shows(self):
        """Nothing conducts at all, or the broken coil was heard through its break as its place was touched."""
        r = self.r
        if not self.coils:
            return True
        for c in r.captures:
            for k, i in enumerate(c.broken(self.pickup)):
                if i is not None and c.touched == self.pickup.windings[i].place and c.break_d(self.pickup, k, i) >= CLEAR_d:
                    return True
        return False

    def _turns_show(self):
        """A sibling differs by more than the formats allow, or its ring dies at less than half the rate."""
        r, victim = self.r, self.pickup.winding(self.pickup.detail["victim"])
        siblings = [w for w in self.pickup.windings if w is not victim]
        whole = [c for c in self.coils if c["inside"] == [victim.name]]
        if not siblings or not whole:
            return False
        shows = []
        for w in siblings:
            other = [c for c in self.coils if c["inside"] == [w.name]]
            if not other:
                continue
            ratio = other[0]["ohm"] / whole[0]["ohm"]
            # Past the 25 per cent of the formats by more than their wording leaves open (of which of the two).
            shows.append(ratio > 1.36 or ratio < 1 / 1.36)
            if victim.name in r.ring_loss_s and w.name in r.ring_loss_s:
                shows.append(r.ring_loss_s[victim.name] > 2 * r.ring_loss_s[w.name])
        return any(shows) and not r.missing

    def _turn_shows(self):
        if self.r.reversed[0] == "magnet":
            return True
        place = self.r.reversed[1]
        group = self.group_of
        for coil in self.coils:
            turned, straight = 0.0, 0.0
            for c in self.r.captures:
                if c.touched != place or coil["place"] != place or c.murky:
                    continue
                for k, (p, m) in enumerate(c.channels):
                    if {group[p], group[m]} == set(coil["ends"]):
                        d = c.sigmas[k][1] * c.flux_Wb
                        if c.turned:
                            turned = max(turned, d)
                        else:
                            straight = max(straight, d)
            if min(turned, straight) >= CLEAR_d:
                return True
        return False

    def _fight_shows(self):
        """Every place of a hidden pair was clearly heard."""
        return all(min((c["by_place"].get(p, 0.0) for p in c["places"]), default=0) >= CLEAR_d for c in self.coils if c["mixed"])

    # ---- verdict

    def _touched_verdicts(self):
        """Verdicts that the touches allow on a pickup without a fault."""
        r = self.r
        if r.meters or r.style == "lazy":
            return {"good", "unsure"}
        ok = {"good"}
        for coil in self.coils:
            if coil["mixed"]:
                continue
            if coil["inner"] or not coil["comparable"]:
                ok.add("unsure")
                continue
            if coil["d_known"] < GUESS_d and coil["d"] < GUESS_d:
                if self._follows(coil):
                    ok.add("unsure")
                    continue
                ok = {"unsure"} if ok == {"good"} else ok - {"good"} | {"unsure"}
            elif coil["least"] < CLEAR_d:
                ok.add("unsure")
        return ok

    def _follows(self, coil):
        """Whether a coil that was not heard has its sign from another: its other part by the winding they share, or its
        sibling by the poles of both and the sign of their coupling."""
        r = self.r
        here = self.coils.index(coil)
        for i, other in enumerate(self.coils):
            if other is coil or other["d_known"] < KNOWN_d or r.coupled.get(frozenset((here, i)), 0) < 5:
                continue
            if other["inside"] == coil["inside"] or {other["place"], coil["place"]} <= {m["at"] for m in r.magnets}:
                return True
        return False

    def verdicts(self, expect):
        r, pickup = self.r, self.pickup
        shows = {e["class"] for e in expect if e["identifiable"]}
        hidden = {e["class"] for e in expect if not e["identifiable"]}
        if "live" in shows or shows & {"open", "bridge_chassis", "bridge_coils"}:
            return {"fault"}
        if hidden & {"open", "bridge_chassis", "bridge_coils"}:
            return ANY
        if "out_of_phase" in shows:
            return {"fault", "unsure"} if shows & {"intermittent"} else {"fault"}
        if "out_of_phase" in hidden or r.fault == "shorted_turns" or "mismatch" in pickup.tags:
            return ANY - {"good"} if "intermittent" in shows else ANY
        if shows & {"intermittent", "reversed_reading"}:
            return {"unsure", "fault"}
        ok = self._touched_verdicts()
        if "wrong_place" in shows:
            ok = {"unsure"}
        elif (shows | hidden) & {"no_touch", "wrong_place", "reversed_reading", "intermittent"}:
            ok = ok | {"unsure"}
        if r.fault == "leak" and pickup.detail["leak_ohm"] < 1e7:
            ok = ok | ANY
        if r.missing or r.over or "same_pole" in pickup.tags:
            ok = ok | {"unsure"}
        lone = [c for c in pickup.leads if pickup.colours[c] != "BARE"
                and sum(r.stretches.component[d] == r.stretches.component[c] for d in pickup.leads) == 1]
        if len(lone) == 1:
            ok = ok | {"unsure"}
        elif len(lone) > 1:
            ok = ok | ANY
        # One number stands for a cover and for shorted turns, which nothing splits in a coil alone (rings.md).
        if len(r.ring_loss_s) == 1 and any(w.name in r.ring_loss_s and w.loss_ohm < BARE_LOSS_ohm for w in pickup.windings):
            ok = ok | {"unsure"}
        if len(self.coils) > 1 and not r.couplings and (not r.magnets or pickup.kind in ("tap", "hb5")):
            ok = ok | {"unsure"}
        return ok

    def line(self):
        r, pickup, coils = self.r, self.pickup, self.coils
        expect = self.expectations()
        ok = self.verdicts(expect)
        group = self.group_of
        whole = [c["ends"] for c in coils]
        partitions = [whole]
        if r.fault == "bridge_chassis":
            # The frame's lead looks like a tap where no colour says that it is the frame.
            frame = next(c for c in pickup.leads if pickup.leads[c] == "frame")
            hit = next(c for c in coils if pickup.detail["victim"] in c["inside"])
            split = [e for e in whole if e != hit["ends"]] + [sorted((e, group[frame])) for e in hit["ends"]]
            if pickup.colours[frame] != "BARE":
                partitions.append(split)
        bare = [c for c in pickup.leads if pickup.colours[c] == "BARE"]
        chassis = sorted(c for c in pickup.leads if any(group[c] == group[b] for b in bare))
        chassis_ok = [chassis]
        # What is joined to the frame shows only where it was read.
        if bare and (r.missing or r.fault == "live"):
            chassis_ok.append(sorted(bare))
        if not bare:
            for c in pickup.leads:
                if sum(r.stretches.component[d] == r.stretches.component[c] for d in pickup.leads) == 1:
                    chassis_ok.append([c])
        clean = ok == {"good"} and not expect
        return {
            "id": r.id, "kind": pickup.kind, "tags": pickup.tags, "fault_class": r.fault,
            "behaviour": [c.behaviour + ("+late" if c.gesture.late and c.touched else "")
                          + ("+leaves" if c.touched and c.gesture.leave_s is not None else "") for c in r.captures],
            "late_lift": any(c.lift is not None for c in r.captures),
            "clips": [int(c) for c in sorted(pickup.leads)],
            "groups": [g for g in r.stretches.groups if len(g) > 1],
            "partitions": partitions,
            "coils": [self._coil(c) for c in coils],
            "potential": {p: {str(c): round(x, 5) for c, x in v.items()} for p, v in r.potential.items()},
            "component": {str(c): int(x) for c, x in r.stretches.component.items()},
            "group_of": {str(c): int(x) for c, x in group.items()},
            "chassis_ok": chassis_ok, "joined": [g for g in r.stretches.groups if len(g) > 1], "joined_judged": not r.missing,
            "verdict_ok": sorted(ok), "expect": expect, "clean": clean, "missing": r.missing, "flaky_resistances": r.flaky,
            "judge_claims": r.fault != "live", **({"ohm_tol": 0.012} if r.meters else {}),
        }

    def _coil(self, c):
        pickup = self.pickup
        flux = {p: float(f"{max((abs(c['swing_all'][p]) * x.flux_Wb for x in self.r.captures if x.touched == p), default=0.0):.4g}") for p in pickup.places}
        return {"ends": c["ends"], "inside": c["inside"], "plus": c["plus"], "minus": c["minus"], "mixed": c["mixed"], "judged": c["judged"],
                "inner": c["inner"], "misled": c["misled"], "place": c["place"], "place_known": c["place_known"], "pole": c["pole"],
                "pole_known": c["pole_known"], "winding": c["winding"], "ohm": round(c["ohm"], 3),
                "ohm_20C": round(c["ohm"] / (1 + COPPER_PER_K * (pickup.temperature_C - 20)), 3),
                "d": None if c["mixed"] or self.r.meters or self.r.fault == "live" else round(float(c["d"]), 2),
                "d_known": round(float(c["d_known"]), 2), "known": c["known"], "flux": flux,
                **({"conf_cap": c["conf_cap"]} if c.get("conf_cap") else {})}


def judge_record(record):
    return Judgement(record).line()
