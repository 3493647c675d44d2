"""Bench records from a careful workshop, with their truth. Shares nothing with the product: written from the formats and the physics alone.

  python3 tests/elsewhere/clip_bench.py N SEED OUTDIR     writes OUTDIR/bench.jsonl and OUTDIR/truth.jsonl

Seeds 1 to 99 are for work on the solver; figures are made with seeds from 1000 up. Record i of a seed does not depend on N.
"""
import json
import os
import sys
from collections import Counter

import numpy as np

from clip_capture import Capture, Workshop
from clip_hand import log_uniform
from clip_judgement import judge_record
from clip_pickup import KIND_SHARES, KINDS, draw_pickup
from clip_truth import Stretches, potentials, signs

ABOVE_ohm = 1e8
FAULTS = (None, "intermittent", "open", "shorted_turns", "bridge_chassis", "bridge_coils", "leak", "reversed_reading", "live")
FAULT_SHARES = (0.62, 0.12, 0.06, 0.05, 0.055, 0.02, 0.045, 0.02, 0.01)
MEETING = ("hb4", "tri6")          # kinds with two coils that can be touched and share no lead


def possible(kind, fault):
    """Whether a kind can have a fault that some clip shows."""
    if fault == "bridge_coils":
        return kind in MEETING
    if fault == "bridge_chassis":
        return kind not in ("tri6", "tap", "hb5", "stack2", "stack4", "unused")
    if fault == "leak":
        return kind not in ("unused", "stack2", "stack4")
    if fault == "shorted_turns":
        return kind not in ("stack2", "stack4", "tap", "hb5")
    if fault == "reversed_reading":
        return kind in ("hb4", "hb3link", "tri6", "single2")
    if fault == "open":
        return kind not in ("par2", "unused")
    return True


class Record:
    """One record on its way."""

    def __init__(self, seed, number):
        self.rng = rng = np.random.default_rng([seed, number])
        self.id = f"{seed}-{number:05d}"
        kind = str(rng.choice(KINDS, p=KIND_SHARES))
        fault = FAULTS[int(rng.choice(len(FAULTS), p=FAULT_SHARES))]
        self.fault = fault if possible(kind, fault) else None
        self.pickup = draw_pickup(rng, kind, self.fault)
        self.stretches = Stretches(self.pickup)
        self.potential = potentials(self.pickup)
        signs(self.pickup, self.stretches, self.potential)
        for coil in self.stretches.coils:
            a, b = coil["ends"]
            coil["swing_all"] = {p: v[b] - v[a] for p, v in self.potential.items()}
            coil["inner_share"] = {p: max((abs(s) for (q, n), s in self.pickup.share.items() if q == p and self.pickup.winding(n).inner), default=0.0)
                                   for p in self.pickup.places}
        self.meters = self.fault is None and kind != "stack4" and rng.random() < 0.025
        self.style = "together"
        self.over = False
        self.unread = []
        self.captures, self.observed, self.magnets, self.rings = [], [], [], []
        self.expect, self.flaky, self.missing, self.reversed = [], False, False, None
        self.known_misled = set()
        self.ring_loss_s = {}
        self.has_temperature = rng.random() < 0.88
        self._ohms()
        self._lcm()
        if self.fault == "live":
            self._live()
        elif self.meters:
            self._needles()
        else:
            self._listen()
        if self.fault == "reversed_reading":
            self._reverse()

    # ---- readings

    def _ohms(self):
        rng, pickup = self.rng, self.pickup
        clips = sorted(pickup.leads)
        table = pickup.network().resistances(clips)
        # The reference resistor, which all readings share: 0.1 per cent, anywhere within.
        scale = 1 + float(rng.uniform(-1e-3, 1e-3))
        relative, floor = log_uniform(rng, 2e-5, 2e-4), log_uniform(rng, 0.02, 0.1)
        says_u = rng.random() < 0.9
        self.resistances = []

        def reading(a, b, ohm):
            row = {"a": int(a), "b": int(b)} if rng.random() < 0.8 else {"a": int(b), "b": int(a)}
            if self.meters:
                if ohm > 2e7:
                    return {**row, "ohm": None, "above_ohm": 2e7}
                digits = max(0.1, 10.0 ** (np.floor(np.log10(max(ohm, 1))) - 2))
                return {**row, "ohm": float(np.round(np.round(ohm * (1 + float(rng.normal(0, 2e-4))) / digits) * digits, 1))}
            if ohm * scale > ABOVE_ohm:
                return {**row, "ohm": None, "above_ohm": ABOVE_ohm}
            u = np.hypot(relative * ohm, floor) if ohm < 1e6 else 0.004 * ohm
            if not says_u:
                u = min(u, 1.5e-4 * ohm + 0.02)
            value = {**row, "ohm": float(np.round(max(0.0, ohm * scale + float(rng.normal(0, u))), 4))}
            if says_u:
                value["u_ohm"] = float(f"{u * float(rng.uniform(1.0, 1.3)):.3g}")
            return value

        for i, a in enumerate(clips):
            for j in range(i + 1, len(clips)):
                self.resistances.append(reading(a, clips[j], table[i, j]))
                if rng.random() < 0.04:
                    self.resistances.append(reading(a, clips[j], table[i, j]))
        finite = [k for k, r in enumerate(self.resistances) if r["ohm"] is not None and 100 < r["ohm"] < 1e6]
        self.burst_wanted = False
        if self.fault == "intermittent":
            if finite and rng.random() < 0.3:
                # Read again, the lead has no contact, or a poor one.
                row = dict(self.resistances[finite[int(rng.integers(len(finite)))]])
                if rng.random() < 0.5:
                    row = {"a": row["a"], "b": row["b"], "ohm": None, "above_ohm": ABOVE_ohm}
                else:
                    row["ohm"] = float(np.round(row["ohm"] + log_uniform(rng, 60, 5000), 3))
                self.resistances.insert(int(rng.integers(len(self.resistances) + 1)), row)
                self.flaky = True
            else:
                self.burst_wanted = True
        elif self.fault is None and len(clips) > 2 and rng.random() < 0.04:
            for _ in range(int(rng.integers(1, 3))):
                self.resistances.pop(int(rng.integers(len(self.resistances))))
            read = {frozenset((row["a"], row["b"])) for row in self.resistances}
            self.unread = [(a, b) for a in clips for b in clips if a < b and frozenset((a, b)) not in read]
            self.missing = bool(self.unread)
        # Whether a leak was within the range of the meter, wherever it hangs on a winding.
        leaks = table[(table > 5e5) & (table < ABOVE_ohm)]
        self.leak_read = len(leaks) > 0 and not self.meters

    def _lcm(self):
        rng, coils = self.rng, self.stretches.coils
        self.inductances, self.couplings = [], []
        self.coupled = {}
        for coil in coils:
            coil["axis_shown"] = False
        if self.meters or self.fault == "live":
            return
        turn = [int(rng.choice((-1, 1))) for _ in coils]

        def pair(i):
            low, high = (int(self.rng.choice(next(g for g in self.stretches.groups if e in g))) for e in coils[i]["ends"])
            return {"plus": high, "minus": low} if turn[i] > 0 else {"plus": low, "minus": high}

        read_l, read_m = rng.random() < 0.78, rng.random() < 0.72
        u_rel = log_uniform(rng, 0.005, 0.025)
        for i, coil in enumerate(coils):
            henry = self.stretches.inductance(i, i)
            if read_l and not coil["mixed"] and henry > 0:
                self.inductances.append({**pair(i), "henry_H": float(f"{henry * (1 + float(rng.normal(0, u_rel))):.6g}"),
                                         "u_H": float(f"{u_rel * henry:.3g}")})
            for j in range(i + 1, len(coils)):
                mutual = self.stretches.inductance(i, j) * turn[i] * turn[j]
                u = 0.003 * np.sqrt(henry * self.stretches.inductance(j, j)) * float(rng.uniform(0.3, 1.5)) + 0.01 * abs(mutual)
                if read_m:
                    coil["axis_shown"] = coils[j]["axis_shown"] = abs(mutual) > 0.4 * np.sqrt(henry * self.stretches.inductance(j, j))
                    self.coupled[frozenset((i, j))] = abs(mutual) / u
                    drive, sense = (i, j) if rng.random() < 0.5 else (j, i)
                    self.couplings.append({"drive": pair(drive), "sense": pair(sense),
                                           "mutual_H": float(f"{mutual + float(rng.normal(0, u)):.5g}"), "u_H": float(f"{u:.3g}")})
        self.read_m = read_m
        draw = rng.random()
        field = rng.random() < 0.7
        if draw < 0.72:
            for place in self.pickup.places:
                if draw < 0.66 or rng.random() < 0.5:
                    pole = next(w.pole for w in self.pickup.windings if w.place == place)
                    self.magnets.append({"at": place, "pole": "N" if pole > 0 else "S",
                                         **({"field_T": float(f"{log_uniform(rng, 0.006, 0.1):.3g}")} if field else {})})
        self._ring_out()

    def _ring_out(self):
        """What each whole winding does by itself: R in series with (L parallel to the loss), across all the capacitance."""
        rng, pickup, coils = self.rng, self.pickup, self.stretches.coils
        if pickup.kind not in ("hb4", "single2", "tri6") or pickup.extra or rng.random() > 0.3:
            return
        fixture_F, path_ohm = float(rng.uniform(1.5e-10, 3.5e-10)), 1225.0
        for coil in coils:
            w = pickup.winding(coil["inside"][0])
            others = [c for c in coils if c is not coil]
            ohm, loss = coil["ohm"], w.loss_ohm
            henry = w.henry * w.turns ** 2
            if w.shorted:
                loss = 1 / (1 / loss + w.shorted / (pickup.warm(w.ohm_20C) * w.turns ** 2))
            if len(others) == 1:
                henry *= 1 - pickup.coupling[frozenset((w.name, others[0]["inside"][0]))] ** 2
            total_F = w.farad + fixture_F
            w0 = np.sqrt(1 / (henry * total_F * (1 + ohm / loss)))
            loss_s = (ohm + path_ohm * (fixture_F / total_F) ** 2) * total_F + henry / loss
            self.ring_loss_s[w.name] = henry / loss
            a, b = coil["ends"]
            self.rings.append({"plus": b, "minus": a, "grounded": sorted({e for c in others for e in c["ends"]} - {a, b})[:2],
                               "natural_Hz": float(f"{w0 / 2 / np.pi * (1 + float(rng.normal(0, 3e-4))):.6g}"), "u_Hz": float(f"{3e-4 * w0 / 2 / np.pi:.3g}"),
                               "loss_s": float(f"{loss_s * (1 + float(rng.normal(0, 4e-3))):.5g}"), "u_s": float(f"{4e-3 * loss_s:.3g}"),
                               "total_F": float(f"{total_F + float(rng.normal(0, 3e-12)):.5g}"), "u_F": 3e-12,
                               "fixture_F": float(f"{fixture_F:.5g}"), "u_fixture_F": 3e-12, "series_ohm": path_ohm,
                               "misfit": float(f"{log_uniform(rng, 4e-4, 1.4e-3):.2g}")})

    def _live(self):
        a, b = (int(c) for c in self.rng.choice(sorted(self.pickup.leads), 2, replace=False))
        self.live = [{"a": a, "b": b, "volt_V": float(np.round(log_uniform(self.rng, 0.05, 5), 3))}]
        self.resistances, self.inductances, self.couplings, self.magnets, self.rings = [], [], [], [], []

    def _needles(self):
        """No tester: somebody looked at a needle, and now and then saw it wrongly."""
        rng = self.rng
        for place in self.pickup.places:
            for number, coil in enumerate(self.stretches.coils):
                swing = coil["swing_all"][place]
                a, b = coil["ends"]
                peak = abs(swing) * log_uniform(rng, 0.04, 0.14)
                own = place in coil["places"]
                if not own and rng.random() < 0.5:
                    continue
                direction = 1 if swing > 0 else -1
                if own and rng.random() < 0.005:
                    direction = -direction
                    self.known_misled.add(number)
                saw = "none" if peak < 0.004 else "positive" if direction > 0 else "negative"
                flip = rng.random() < 0.5
                if flip and saw != "none":
                    saw = "negative" if saw == "positive" else "positive"
                row = {"at": place, "plus": a if flip else b, "minus": b if flip else a, "swing": saw}
                if saw != "none" and rng.random() < 0.6:
                    row["peak_V"] = float(np.round(peak, 3))
                coil.setdefault("noted", []).append((saw != "none", own, place))
                self.observed.append(row)
            if rng.random() < 0.6:
                pole = next(w.pole for w in self.pickup.windings if w.place == place)
                self.magnets.append({"at": place, "pole": "N" if pole > 0 else "S"})

    # ---- listening

    def _channel_sets(self):
        """The channels of the captures at one place, as lists of (plus, minus)."""
        rng = self.rng
        turn = {}
        pairs = []
        for number, coil in enumerate(self.stretches.coils):
            turn[number] = rng.random() < 0.5
            low, high = (int(rng.choice(next(g for g in self.stretches.groups if e in g))) for e in coil["ends"])
            pairs.append((high, low) if turn[number] else (low, high))
        # A tester that finds just two clips without contact listens across them too.
        lone = [c for c in sorted(self.pickup.leads) if sum(self.stretches.component[d] == self.stretches.component[c] for d in self.pickup.leads) == 1
                and self.pickup.colours[c] != "BARE"]
        if len(lone) == 2 and self.fault == "open" and rng.random() < 0.6:
            pairs.append((lone[0], lone[1]))
        order = [int(k) for k in rng.permutation(len(pairs))]
        pairs = [pairs[k] for k in order]
        if len(pairs) <= 1:
            self.style = "together"
            return {p: [pairs] for p in self.pickup.places}
        draw = rng.random()
        if len(pairs) == 2 and draw < 0.12 and self.fault is None:
            self.style = "round" if draw < 0.08 else "lazy"
            if self.style == "round":
                return {p: [[x] for x in pairs] for p in self.pickup.places}
            return {p: [[pairs[k % len(pairs)]]] for k, p in enumerate(self.pickup.places)}
        self.style = "together"
        if len(pairs) == 2 or rng.random() < 0.15:
            return {p: [pairs] for p in self.pickup.places}
        return {p: [pairs[:2], [pairs[2], pairs[0]] if len(pairs) == 3 else pairs[2:]] for p in self.pickup.places}

    def _listen(self):
        rng, pickup = self.rng, self.pickup
        self.workshop = ws = Workshop(rng)
        sets = self._channel_sets()
        places = pickup.places
        rounds = int(rng.choice((1, 2, 3), p=(0.62, 0.27, 0.11)))
        if len(sets[places[0]]) > 1:
            rounds = min(rounds, 2)
        asks = [(p, channels) for _ in range(rounds) for p in places for channels in sets[p] if channels]
        mixed = any(c["mixed"] for c in self.stretches.coils)
        goes_wrong = {}
        if asks and self.fault in (None, "leak", "reversed_reading") and not mixed:
            draw = rng.random()
            at = int(rng.integers(len(asks)))
            if draw < 0.05 and len(places) > 1 and self.style == "together" and not self.fault:
                goes_wrong[at] = "wrong_place"
            elif draw < 0.09:
                goes_wrong[at] = "no_touch"
                if rng.random() < 0.3:
                    goes_wrong = {k: "no_touch" for k, (p, _) in enumerate(asks) if p == asks[at][0]}
        late_share = float(rng.choice((0.0, 0.12, 0.5), p=(0.35, 0.5, 0.15)))
        usual_Wb = log_uniform(rng, 3e-4, 5e-3)
        faint = rng.random() < 0.16 and self.fault in (None, "leak")
        faint_place = str(rng.choice(places)) if rng.random() < 0.5 else None
        if faint:
            pickup.tags.append("faint")
        lifts = rng.random() < 0.35
        before = None
        for k, (place, channels) in enumerate(asks):
            touched, behaviour = place, None
            if goes_wrong.get(k) == "no_touch":
                touched, behaviour = None, "no_touch"
            elif goes_wrong.get(k) == "wrong_place":
                others = [p for p in places if p != place]
                touched = asks[k - 1][0] if k > 0 and asks[k - 1][0] != place and rng.random() < 0.6 else str(rng.choice(others))
                behaviour = "wrong_place"
            capture = Capture(ws, place, touched, behaviour, channels)
            capture.draw_hand(rng, late_share)
            if len(places) > 1 and touched is not None:
                capture.beside = str(rng.choice([p for p in places if p != touched]))
            if behaviour is None:
                capture.behaviour = capture.gesture.approach
            if touched is not None:
                capture.sigmas = capture.evidence(pickup)
                capture.flux_Wb = usual_Wb * log_uniform(rng, 0.5, 2)
            if faint and touched is not None and faint_place in (None, place):
                best = max(before_d for _, before_d in capture.sigmas)
                capture.flux_Wb = min(capture.flux_Wb, log_uniform(rng, 0.3, 40) / max(best, 1e-9))
            if before is not None and lifts and rng.random() < 0.6:
                self._lift(capture, before)
            self.captures.append(capture)
            before = capture.left(pickup)
        if self.burst_wanted and self.captures:
            self._burst()
        range_V = 0.0
        for capture in self.captures:
            capture.render(rng, pickup)
            range_V = max([range_V] + [float(np.abs(v).max()) for v in capture.volts])
        range_V = max(0.25, range_V * float(rng.uniform(1.05, 2.5)))
        if rng.random() < 0.05:
            range_V = max(0.05, range_V * float(rng.uniform(0.2, 0.5)))
        self.over = False
        for capture in self.captures:
            capture.values = capture.convert(range_V)
            lost = any(np.any(x) for x in capture.lost)
            self.over = self.over or any(v is None for row in capture.values for v in row)
            if lost and capture.touched is not None:
                capture.sigmas = capture.evidence(pickup)

    def _lift(self, capture, left):
        """The steel of the capture before rests until now, and leaves before or while the new arrival comes."""
        rng, ws = self.rng, self.workshop
        fall_s = log_uniform(rng, 0.002, 0.03)
        begin_s = capture.gesture.begin_s if capture.touched is not None else ws.after_s - 0.1
        if rng.random() < 0.25 and capture.touched is not None:
            start_s = begin_s + float(rng.uniform(-0.02, 0.01))
        else:
            start_s = float(rng.uniform(-ws.before_s + 0.004, max(begin_s - fall_s - 0.005, -ws.before_s + 0.006)))
        capture.lift = (start_s, fall_s, left)
        # Lift and arrival on top of one another, of like size on a channel: nobody can part them.
        if capture.touched is not None and start_s + fall_s > begin_s - 0.002:
            new = np.abs(self.pickup.response(capture.touched)) * capture.flux_Wb
            capture.murky = bool(np.any(np.abs(left) > 0.3 * new.max()))

    def _burst(self):
        rng, ws = self.rng, self.workshop
        used = sorted({c for capture in self.captures for pair in capture.channels for c in pair})
        clip = int(rng.choice(used))
        having = [c for c in self.captures if any(clip in pair for pair in c.channels)]
        for capture in having if rng.random() < 0.2 else [having[int(rng.integers(len(having)))]]:
            length_s = float(rng.uniform(0.02, 0.15))
            start_s = float(rng.uniform(-ws.before_s, ws.after_s - length_s))
            capture.burst = (clip, start_s, start_s + length_s, float(rng.uniform(4, 12)))
            g = capture.gesture
            # A burst over the arrival hides which way the steel went: what is seen later may be its leaving.
            if capture.touched is not None and start_s < g.full_s + 0.002 and start_s + length_s > g.begin_s - 0.002:
                capture.murky = True

    def _reverse(self):
        """One reading taken the wrong way round."""
        rng = self.rng
        by_place = {}
        for c in self.captures:
            if c.touched == c.asked:
                by_place.setdefault(c.asked, []).append(c)
        twice = [p for p, cs in by_place.items() if len(cs) > 1]
        if self.magnets and rng.random() < 0.5:
            first = self.magnets[int(rng.integers(len(self.magnets)))]
            again = {**first, "pole": "S" if first["pole"] == "N" else "N"}
            self.magnets.append(again)
            self.reversed = ("magnet", first["at"])
        elif twice:
            place = str(rng.choice(twice))
            capture = by_place[place][int(rng.integers(len(by_place[place])))]
            # Each channel is turned: the meter's two leads were plugged the other way.
            capture.turned = True
            self.reversed = ("capture", place)
        else:
            self.fault = self.pickup.fault = None

    # ---- the two lines

    def bench(self):
        out = {"format": "bench/1", "taken": "2026-03-14T10:22:31Z"}
        if not self.meters:
            out["tester"] = {"serial": f"CLIP-{self.id}", "firmware": "0.0.0", "solver": "sha256:0"}
        if self.has_temperature:
            out["temperature_C"] = self.pickup.temperature_C
        out["clips"] = [{"clip": int(c), **({"colour": self.pickup.colours[c]} if self.pickup.colours[c] else {})} for c in sorted(self.pickup.leads)]
        out["resistances"] = self.resistances
        if self.captures:
            out["touches"] = [{"at": c.asked, "rate_Hz": c.workshop.rate_Hz, "start_s": -c.workshop.before_s,
                               "channels": [{"plus": int(p), "minus": int(m),
                                             "volts_V": [None if v is None else -v for v in row] if c.turned else row}
                                            for (p, m), row in zip(c.channels, c.values)]} for c in self.captures]
        for name in ("inductances", "couplings", "magnets", "observed", "rings"):
            if getattr(self, name):
                out[name] = getattr(self, name)
        if self.fault == "live":
            out["live"] = self.live
        return out

    def truth(self):
        return judge_record(self)


def main(argv):
    if len(argv) != 3 or not argv[0].isdigit() or not argv[1].isdigit() or int(argv[0]) < 1:
        sys.stderr.write("clip_bench.py: expected N SEED OUTDIR, such as 200 7 /tmp/set\n")
        return 64
    count, seed, folder = int(argv[0]), int(argv[1]), argv[2]
    os.makedirs(folder, exist_ok=True)
    kinds, faults = Counter(), Counter()
    with open(os.path.join(folder, "bench.jsonl"), "w") as bench, open(os.path.join(folder, "truth.jsonl"), "w") as truth:
        for number in range(count):
            record = Record(seed, number)
            bench.write(json.dumps(record.bench(), separators=(",", ":"), allow_nan=False) + "\n")
            told = record.truth()
            truth.write(json.dumps(told, separators=(",", ":"), allow_nan=False) + "\n")
            kinds[told["kind"]] += 1
            faults[str(told["fault_class"])] += 1
    print(f"clip_bench seed {seed}, {count} records")
    for title, counts in (("kinds", kinds), ("faults", faults)):
        print(f"{title}: " + "  ".join(f"{k} {v}" for k, v in sorted(counts.items())))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
