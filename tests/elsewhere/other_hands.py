"""Bench records made elsewhere, with their truth: a simulator of other habits than the virtual bench's.

    python3 tests/elsewhere/other_hands.py N SEED OUTDIR

writes bench.jsonl (one bench/1 a line) and truth.jsonl (same order), prints the seed and counts. The same seed gives the same
bytes, and record i of a seed does not depend on N. Seeds 1 to 99 are for work; seeds from 1000 up are for figures that are
published, and nothing may be changed after looking at their records one by one.

It reads neither the solver nor the virtual bench: the conventions and the physics are written down in hardware-notes/, and this
follows them from scratch, in another language."""
import json
import os
import re
import sys
from collections import Counter
# Small matrices: threads would only wait for one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")
import numpy as np  # noqa: E402

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from other_captures import Detector, Move, cut, draw_front_end, draw_hand, emf_of, high_pass, noise  # noqa: E402
from other_pickups import between, choose, draw_pickup  # noqa: E402
import other_truth  # noqa: E402

CAPTURE_SAMPLES_most = 36000     # of one record, all channels together: keeps a thousand records near a hundred megabytes


def written(code, over, lsb_V):
    """Samples as the text of a JSON list; a code that is out of range is null."""
    codes, at = np.unique(np.where(over, 1 << 20, code), return_inverse=True)
    texts = np.array(["null" if c == 1 << 20 else repr(float(f"{c * lsb_V:.6g}")) for c in codes.tolist()], dtype=object)
    return "[" + ",".join(texts[at].tolist()) + "]"


class Bench:
    """One pickup on one instrument with one person."""

    def __init__(self, rng):
        self.rng = rng
        self.pickup = draw_pickup(rng)
        self.net = self.pickup.network()
        self.whole = self.pickup.network(mend=True)
        self.node = {clip: node for clip, _, node in self.pickup.leads}
        self.clips = [clip for clip, _, _ in self.pickup.leads]
        self.style = choose(rng, {"tester": 45, "meter": 40, "observed": 15})
        self.temperature_C = round(float(rng.uniform(16, 30)), 1)
        warm = 1 + .00393 * (self.temperature_C - 20)
        for c in self.pickup.coils:
            c.ohm_20C = c.ohm
            c.ohm *= warm
        self.net, self.whole = self.pickup.network(), self.pickup.network(mend=True)
        self.record = {"format": "bench/1"}
        self.heard = []              # per capture: what was done and what each coil's evidence is worth
        self.swings = []             # observed entries with what really happened
        self.flaky = False
        self.missing = set()
        self.waves = []              # the samples as JSON text: written once, from a table of codes

    # -- ohms ------------------------------------------------------------------------------------------------------

    def ohms(self):
        rng, out = self.rng, []
        tester = self.style == "tester"
        scale = 1 + (.0006 if tester else .004) * rng.standard_normal()
        digits = 2000 if rng.random() < .45 else 6000 if rng.random() < .6 else 20000
        top = 1e8 if tester else choose(rng, {2e6: 2, 2e7: 4, 4e7: 3, 6e7: 1})
        with_u = tester and rng.random() < .75
        pairs = [(a, b) for i, a in enumerate(self.clips) for b in self.clips[i + 1:]]
        if rng.random() < .4:
            pairs = [pairs[i] for i in rng.permutation(len(pairs))]
        self.bad_pair = None
        if self.pickup.fault == "flaky":
            good = [p for p in pairs if self.pickup.bad_clip in p and (self.net.ohm(*map(self.node.get, p)) or 0) > 30]
            self.bad_pair = good[0] if good else None
        drop = float(choose(rng, {0: 88, .1: 7, .3: 5}))
        for a, b in pairs:
            if rng.random() < drop:
                self.missing.add((a, b))
                continue
            times = 2 + int(rng.integers(2)) if (a, b) == self.bad_pair else 1 + int(rng.random() < .12)
            for k in range(times):
                r = self.net.ohm(self.node[a], self.node[b])
                entry = {"a": a, "b": b} if rng.random() < .7 else {"a": b, "b": a}
                if r is not None and (a, b) == self.bad_pair and k == times - 1:
                    r *= between(rng, 1.15, 4)
                    self.flaky = True
                if r is not None:
                    r = r * scale + float(rng.uniform(.02, .25))
                if r is None or r > top:
                    entry.update(ohm=None, above_ohm=top)
                elif tester:
                    u = (2e-4 if r < 5e5 else 2e-3 if r < 1e7 else 1e-2) * r + .04
                    entry["ohm"] = float(f"{max(0, r + (u if with_u else .5 * u) * rng.standard_normal()):.7g}")
                    if with_u:
                        entry["u_ohm"] = float(f"{u:.3g}")
                else:
                    span = next(s for s in (200, 2000, 20000, 2e5, 2e6, 2e7, 2e8) if r < s * (digits / 2000 if digits != 20000 else 1) or s == 2e8)
                    unit = span * (digits / 2000 if digits == 6000 else 1) / digits
                    read = r * (1 + 8e-4 * rng.standard_normal())
                    entry["ohm"] = float(f"{round(read / unit) * unit:.10g}")
                out.append(entry)
        if not tester:
            self.ohm_tol = .016
        return out

    # -- what else was measured ------------------------------------------------------------------------------------

    def clip_on(self, node):
        return next((c for c in self.clips if self.node[c] == node), None)

    def measurable(self):
        """Stretches whose both ends are on clips and carry direct current, with their own inductance and coil senses."""
        out = []
        for s in self.pickup.stretches:
            p, q = self.clip_on(s.b), self.clip_on(s.a)
            if p is None or q is None or p == q or not self.net.connected(s.a, s.b):
                continue
            if self.pickup.fault and "bridge" in self.pickup.fault:
                continue
            out.append((s, p, q))
        return out

    def parts_of(self, s):
        """(coil, share of its turns, +1 when from s.a to s.b runs from the coil's first to its second node)."""
        out = []
        for name in s.coils:
            c = self.pickup.coil(name)
            if c.taps and not s.hidden and self.pickup.kind in ("tap", "hb5"):
                f, t = c.taps[0]
                out.append((c, f if s.a == c.a else 1 - f, 1))
            else:
                out.append((c, 1.0, 1))
        if s.hidden and self.pickup.kind != "par2":
            # Walk from s.a through the coils.
            here, out = s.a, []
            left = [self.pickup.coil(n) for n in s.coils]
            while left:
                c = next(x for x in left if here in (x.a, x.b))
                out.append((c, 1.0, 1 if c.a == here else -1))
                here = c.b if c.a == here else c.a
                left.remove(c)
        elif len(out) == 1 and not out[0][0].taps:
            c = out[0][0]
            out = [(c, 1.0, 1 if c.a == s.a else -1)]
        return out

    def mutual(self, c, d):
        """Mutual inductance of two windings, current into `to`, henry."""
        k = self.pickup.coupling.get((c.name, d.name), self.pickup.coupling.get((d.name, c.name), 0))
        return -c.winding * d.winding * k * np.sqrt(c.henry * d.henry)

    def stretch_mutual(self, s, t):
        if s is t and self.pickup.kind == "par2":
            u, v = (self.pickup.coil(n) for n in s.coils)
            m = self.mutual(u, v) * (1 if u.a == v.a else -1)
            return (u.henry * v.ohm ** 2 + v.henry * u.ohm ** 2 + 2 * m * u.ohm * v.ohm) / (u.ohm + v.ohm) ** 2
        total = 0.0
        for c, f, x in self.parts_of(s):
            for d, g, y in self.parts_of(t):
                if c is d:
                    total += c.henry * f * g * x * y * (1 if s is t else .99)
                else:
                    total += self.mutual(c, d) * f * g * x * y
        return total

    def electrical(self):
        rng, able = self.rng, self.measurable()
        tester = self.style == "tester"
        if self.pickup.fault == "intermittent" or not able:
            return
        if rng.random() < (.55 if tester else .12):
            self.record["inductances"] = out = []
            for s, p, q in able:
                h = self.stretch_mutual(s, s)
                if rng.random() < .15:
                    continue
                if rng.random() < .4:
                    p, q = q, p
                out.append({"plus": p, "minus": q, "henry_H": float(f"{h * (1 + .015 * rng.standard_normal()):.4g}"), "u_H": float(f"{.02 * h:.3g}")})
        self.coupled = set()
        if tester and len(able) > 1 and rng.random() < .5:
            self.record["couplings"] = out = []
            for i, (s, p, q) in enumerate(able):
                for t, r, v in able[i + 1:]:
                    m = self.stretch_mutual(s, t)
                    u = .04 * abs(m) + .002 * np.sqrt(self.stretch_mutual(s, s) * self.stretch_mutual(t, t))
                    if rng.random() < .15:
                        continue
                    sign = 1
                    a, b = {"plus": p, "minus": q}, {"plus": r, "minus": v}
                    if rng.random() < .4:
                        a, sign = {"plus": q, "minus": p}, -sign
                    if rng.random() < .4:
                        b, sign = {"plus": v, "minus": r}, -sign
                    if rng.random() < .5:
                        a, b = b, a
                    out.append({"drive": a, "sense": b, "mutual_H": float(f"{sign * m + u * rng.standard_normal():.4g}"), "u_H": float(f"{u:.3g}")})
                    self.coupled.add((s.coils[0], t.coils[0]))

    def magnets(self):
        rng = self.rng
        self.magnet_at = {}
        how = choose(rng, {"all": 50, "one": 18, "none": 32})
        places = self.pickup.places()
        if how == "one":
            places = [places[int(rng.integers(len(places)))]]
        if how == "none":
            return
        self.record["magnets"] = out = []
        for place in places:
            c = next(x for x in self.pickup.coils if x.place == place)
            entry = {"at": place, "pole": "N" if c.pole > 0 else "S"}
            if self.style == "tester" and rng.random() < .7:
                entry["field_T"] = round(between(rng, .008, .09), 4)
            self.magnet_at[place] = entry["pole"]
            for _ in range(1 + int(rng.random() < .08)):
                out.append(dict(entry))

    # -- touches ---------------------------------------------------------------------------------------------------

    def flux_vector(self, place):
        """coil -> emf at its second node per unit of the place's full flux and second."""
        return {name: share * self.pickup.coil(name).touch * self.pickup.coil(name).flux_Wb for name, share in self.pickup.cross[place].items()}

    def plan(self):
        """(place asked, place touched or None, mistake) of each capture."""
        rng, places = self.rng, self.pickup.places()
        asks = [(p, p, None) for p in places]
        if rng.random() < .15:
            asks = [asks[i] for i in rng.permutation(len(asks))]
        while rng.random() < .22 and len(asks) < 7:
            p = places[int(rng.integers(len(places)))]
            asks.append((p, p, None))
        slip = rng.random()
        i = int(rng.integers(len(asks)))
        if slip < .05 and len(places) > 1:
            other = [p for p in places if p != asks[i][0]]
            asks[i] = (asks[i][0], other[int(rng.integers(len(other)))], "wrong place")
        elif slip < .09:
            asks[i] = (asks[i][0], None, "nobody")
        elif slip < .11 and len(asks) > 1:
            asks.pop(i)
        return asks

    def channel_pairs(self):
        """Which clips are read, plus and minus, in one capture."""
        rng = self.rng
        ends = []
        for s in self.pickup.stretches:
            p, q = self.clip_on(s.b), self.clip_on(s.a)
            if p is not None and q is not None and p != q:
                ends.append((p, q))
        how = choose(rng, {"all": 62, "one": 12, "two": 14, "across": 6, "six": 6})
        pairs = list(ends)
        if how == "one":
            pairs = [ends[self.turn % len(ends)]]
        elif how == "two" and len(ends) > 2:
            k = int(rng.integers(len(ends)))
            pairs = [e for i, e in enumerate(ends) if i != k]
        elif how == "across":
            a, b = rng.choice(self.clips, 2, replace=False)
            pairs.append((int(a), int(b)))
        elif how == "six":
            every = [(a, b) for i, a in enumerate(self.clips) for b in self.clips[i + 1:]]
            pairs = [every[i] for i in rng.permutation(len(every))[:6]]
        pairs = [p if rng.random() < .5 else (p[1], p[0]) for p in pairs]
        if rng.random() < .3:
            pairs = [pairs[i] for i in rng.permutation(len(pairs))]
        return pairs

    def listen(self):
        rng = self.rng
        asks = self.plan()
        fe = draw_front_end(rng, self.pickup.coils, 2, self.pickup.tags)
        resting, out = None, []
        burst_at = int(rng.integers(len(asks))) if self.pickup.fault == "intermittent" and asks else None
        budget = between(rng, .2, 1) * CAPTURE_SAMPLES_most
        for i, (asked, touched, mistake) in enumerate(asks):
            self.turn = i
            pairs = self.channel_pairs()
            share = budget / max(1, len(asks) - i) / len(pairs)
            pre = between(rng, .03, .4)
            lasts = min(between(rng, .3, 3.0), max(.3, share / fe.rate_Hz))
            late_start = rng.random() < .03
            lasts = max(lasts, pre + .25)
            start = -pre
            until = start + lasts
            where = touched or asked
            others = [p for p in self.pickup.places() if p != where]
            aside = others[int(rng.integers(len(others)))] if others else None
            if touched is None:
                name, moves, left = "nobody", [], 0.0
                if resting and rng.random() < .7:
                    moves = [Move(float(rng.uniform(-.02, .1)), between(rng, .003, .02), -resting[1], resting[0], "rest")]
                    name = "lift of the last only"
                elif resting:
                    left = resting[1]
            else:
                patient = rng.random() < .95
                for attempt in range(12):
                    name, moves = draw_hand(rng, touched, aside, resting)
                    # Mostly the instrument waits until the steel lies there; a fast one stops before its memory is full.
                    there = max(m.start_s + m.lasts_s for m in moves if m.role == "in") + .06
                    if there <= until or not patient:
                        break
                    if (there - start) * fe.rate_Hz < 1.6 * share:
                        until = there
                        break
                moves, left = cut(moves, until)
            lone = False
            if late_start and touched and resting is None:
                last_in = max([m.start_s + m.lasts_s for m in moves if m.role == "in"], default=0)
                start = last_in + .02
                name, lone = "began after arrival: " + name, True
            lift_first = any(m.role == "rest" for m in moves)
            n = max(200, int((until + pre) * fe.rate_Hz) // 100 * 100)
            entry, worth = self.capture(fe, pairs, moves, start, n, i == burst_at, touched)
            entry = {"at": asked, **entry} if rng.random() < .96 or len(self.pickup.places()) > 1 else entry
            out.append(entry)
            self.heard.append({"asked": asked, "touched": touched, "mistake": mistake, "name": name, "pairs": pairs, "lone": lone,
                               "rest": lift_first, "resting": resting, "worth": worth, "whole": self.finished, "over": self.over, "burst": self.burst_seen})
            budget -= n * len(pairs)
            if rng.random() < .3:
                left = 0.0          # lifted between the captures, unheard
            resting = (where, left) if left > .02 else None
        self.record["touches"] = out

    def capture(self, fe, pairs, moves, start, n, burst, touched):
        rng, pickup = self.rng, self.pickup
        # A coupling capacitor remembers what was done shortly before the capture began.
        roll = int(min(1.0, .5 / fe.corner_Hz) * fe.rate_Hz) if fe.corner_Hz else 0
        edges = start + np.arange(-roll, n + 1) / fe.rate_Hz
        t = start + np.arange(n) / fe.rate_Hz
        first_out = min([m.start_s for m in moves if m.role == "out"], default=np.inf)
        emf = emf_of(moves, edges, fe.rate_Hz)
        known = emf_of([m for m in moves if m.role == "in" and m.start_s < first_out], edges, fe.rate_Hz)
        # Each coil alone with one volt: what every channel shows of it.
        look = []
        for a, b in pairs:
            na, nb = self.node[a], self.node[b]
            joined = self.net.connected(na, nb)
            row = {}
            for c in pickup.coils:
                net = self.net if joined else self.whole
                if net.connected(na, nb):
                    v = pickup.lifts(net, {c.name: 1.0})
                    r = (self.net.ohm(na, nb) or 0)
                    row[c.name] = (v[na] - v[nb]) * fe.load_ohm / (fe.load_ohm + min(r, fe.load_ohm * 4))
            look.append((joined, row))
        root_L = np.sqrt(max(c.henry for c in pickup.coils) / 2.3)
        steps = float(rng.uniform(-.3, .1)) if rng.random() < .35 else None
        amp = 1.0 if steps is None else np.where(t > steps, between(rng, .4, 3.5), 1.0)
        phase = rng.uniform(0, 2 * np.pi)
        hum = np.sin(2 * np.pi * fe.hum_Hz * t + phase)
        for h, x in zip((3, 5, 7), fe.harmonics):
            if h * fe.hum_Hz < .45 * fe.rate_Hz:
                hum = hum + x / h * np.sin(2 * np.pi * h * fe.hum_Hz * t + rng.uniform(0, 2 * np.pi))
        hum = hum * amp * fe.hum_V
        firing = float(rng.uniform(.2, .8))
        spikes = np.zeros(n)
        if fe.spikes_V:
            half = 1 / (2 * fe.hum_Hz)
            k = np.floor(t / half)
            since = t - (k + firing) * half
            since = np.where(since < 0, since + half, since)
            spikes = fe.spikes_V * np.where(k % 2 == 0, 1, -1) * np.exp(-since / 1.5e-4) * (since < .002)
        vectors = {p: self.flux_vector(p) for p in pickup.cross}
        channels, signals, known_signals, losts = [], {c.name: [] for c in pickup.coils}, {c.name: [] for c in pickup.coils}, []
        self.burst_seen, self.over = False, []
        gap, hidden = None, False
        if burst:
            lasts = float(rng.uniform(.02, .15))
            arrive = min([m.start_s for m in moves if m.role == "in"], default=0.0)
            when = choose(rng, {"quiet": 1, "arrival": 1, "any": 1})
            begin = {"quiet": start + float(rng.uniform(0, max(.001, -start - lasts))), "arrival": arrive - float(rng.uniform(.2, .8)) * lasts,
                     "any": float(rng.uniform(start, t[-1] - lasts))}[when]
            gap = (t >= begin) & (t < begin + lasts)
            hidden = any(m.role == "in" and m.start_s < min(first_out, begin + lasts) and m.start_s + m.lasts_s > begin for m in moves)
        for (a, b), (joined, row) in zip(pairs, look):
            def through(x):
                if not joined:
                    x = high_pass(x, 1 / (2 * np.pi * 5e-11 * fe.load_ohm), fe.rate_Hz)
                return high_pass(x, fe.corner_Hz, fe.rate_Hz)[roll:]
            total = np.zeros(n + roll)
            for place, e in emf.items():
                total = total + e * sum(vectors[place][c] * row.get(c, 0) for c in vectors[place])
            total = through(total)
            lift = sum(pickup.coil(c).winding * row.get(c, 0) * np.sqrt(pickup.coil(c).henry / 2.3) for c in row)
            if not joined:
                lift = root_L * (2 + .5 * rng.random())          # the hand's field on a clip that hangs free
            background = (hum + spikes) * lift
            lost = np.zeros(n, bool)
            y = total + background + noise(rng, n, fe)
            if gap is not None and pickup.bad_clip in (a, b):
                times = between(rng, 4, 12)
                level = max(fe.hum_V * abs(lift), fe.sigma_V)
                wild = times * (level * np.sin(2 * np.pi * fe.hum_Hz * t + rng.uniform(0, 6.3)) + max(fe.sigma_V, .3 * level) * rng.standard_normal(n))
                y = np.where(gap, background + wild, y)
                lost |= gap
                self.burst_seen |= bool(gap.sum() >= max(8, .012 * fe.rate_Hz))
            drift = fe.drift_V * (t - start) * rng.normal() + fe.drift_V * np.sin(2 * np.pi * rng.uniform(.05, .3) * t + rng.uniform(0, 6.3))
            y = y + fe.offset_V * (1 if fe.corner_Hz == 0 else .1) + (drift if fe.corner_Hz == 0 else 0)
            lsb = 2 * fe.range_V / 2 ** fe.bits
            code = np.round(y / lsb)
            over = np.abs(code) >= 2 ** (fe.bits - 1)
            lost |= over
            self.over.append(bool(over.any()))
            self.waves.append(written(code.astype(int), over, lsb))
            channels.append({"plus": a, "minus": b, "volts_V": f"wave {len(self.waves) - 1}"})
            losts.append(lost)
            for c in pickup.coils:
                own = c.place if c.place else pickup.places()[0]
                gain = vectors[own][c.name] * row.get(c.name, 0)
                for bag, source in ((signals, emf), (known_signals, known)):
                    e = source.get(own)
                    bag[c.name].append(through(e * gain) if e is not None and gain and joined else np.zeros(n))
        detector = Detector(fe, start, n, steps if steps is None or start < steps < t[-1] else None)
        worth = {c.name: [(detector.sigmas(s, lost), detector.sigmas(k, lost))
                          for s, k, lost in zip(signals[c.name], known_signals[c.name], losts)] for c in pickup.coils}
        # An arrival that is cut by the end of the capture or by a lost contact tells its sign to nobody for certain.
        self.finished = all(m.start_s + m.lasts_s < t[-1] for m in moves if m.role == "in" and m.start_s < first_out)
        if hidden or not self.finished:
            bad = [hidden and pickup.bad_clip in q or not self.finished for q in pairs]
            worth = {c: [(d, 0.0 if b else k) for (d, k), b in zip(w, bad)] for c, w in worth.items()}
        entry = {"rate_Hz": fe.rate_Hz, "start_s": round(start, 6), "channels": channels}
        return entry, worth

    # -- what a person saw on a needle -----------------------------------------------------------------------------

    def observe(self):
        rng, out = self.rng, []
        only = "touches" not in self.record
        rounds = 2 if rng.random() < .45 else 1
        neighbours = rng.random() < .75
        for _ in range(rounds):
            for place in self.pickup.places():
                v = self.pickup.lifts(self.net, self.flux_vector(place))
                size = max(abs(x) for x in self.flux_vector(place).values())
                for s, p, q in [(s, self.clip_on(s.b), self.clip_on(s.a)) for s in self.pickup.stretches]:
                    if p is None or q is None or p == q:
                        continue
                    if rng.random() < .4:
                        p, q = q, p
                    lift = (v[self.node[p]] - v[self.node[q]]) if self.net.connected(self.node[p], self.node[q]) else 0.0
                    main = abs(lift) > .3 * size
                    if not main and not neighbours:
                        continue
                    swing = "none" if abs(lift) < .06 * size else "positive" if lift > 0 else "negative"
                    wrong = False
                    if swing != "none" and main and rng.random() < .012:
                        swing, wrong = ("negative" if swing == "positive" else "positive"), True
                    entry = {"at": place, "plus": p, "minus": q, "swing": swing}
                    if swing != "none" and rng.random() < .6:
                        entry["peak_V"] = float(f"{abs(lift) / between(rng, .03, .1):.2g}")
                    out.append(entry)
                    self.swings.append({"place": place, "stretch": s, "main": main, "wrong": wrong, "neighbours": neighbours})
        self.record["observed"] = out
        self.only_observed = only

    def run(self, index, seed):
        rng, p = self.rng, self.pickup
        self.ohm_tol = None
        self.coupled = set()
        self.magnet_at = {}
        self.only_observed = False
        rec = self.record
        rec["taken"] = f"2026-{1 + index % 12:02d}-{1 + index % 28:02d}T{8 + index % 10:02d}:{index % 60:02d}:00Z"
        if self.style == "tester":
            rec["tester"] = {"serial": f"OTHER-{1 + seed % 9:04d}", "firmware": "elsewhere", "solver": "none"}
        if rng.random() < .8:
            rec["temperature_C"] = self.temperature_C
        bare_colours = rng.random() < .12
        rec["clips"] = [{"clip": c} if bare_colours and col != "BARE" else {"clip": c, "colour": col} for c, col, _ in p.leads]
        if rng.random() < .2:
            rec["clips"] = [rec["clips"][i] for i in rng.permutation(len(rec["clips"]))]
        if p.fault == "live":
            rec["resistances"] = []
            a, b = (self.clip_on(p.stretches[0].a), self.clip_on(p.stretches[0].b))
            rec["live"] = [{"a": a, "b": b, "volt_V": round(between(rng, .05, 6), 3)}]
        else:
            rec["resistances"] = self.ohms()
            self.electrical()
            self.magnets()
            if self.style == "observed":
                self.observe()
            else:
                self.listen()
                if rng.random() < .06:
                    self.observe()
        return rec, other_truth.truth_of(self, index, seed)


def main(argv):
    if len(argv) != 3 or not argv[0].isdigit() or not argv[1].isdigit():
        sys.exit("other_hands.py: expected N SEED OUTDIR, two whole numbers and a folder")
    n, seed, folder = int(argv[0]), int(argv[1]), argv[2]
    os.makedirs(folder, exist_ok=True)
    print(f"seed {seed}, {n} records")
    kinds, faults = Counter(), Counter()
    with open(f"{folder}/bench.jsonl", "w") as records, open(f"{folder}/truth.jsonl", "w") as truths:
        for i in range(n):
            bench = Bench(np.random.default_rng([seed, i]))
            record, truth = bench.run(i, seed)
            line = json.dumps(record, separators=(",", ":"), allow_nan=False)
            records.write(re.sub(r'"wave (\d+)"', lambda m: bench.waves[int(m[1])], line) + "\n")
            truths.write(json.dumps(truth, separators=(",", ":"), allow_nan=False) + "\n")
            kinds[truth["kind"]] += 1
            faults[truth["fault_class"] or "none"] += 1
    print("kinds: " + "  ".join(f"{k} {v}" for k, v in sorted(kinds.items())))
    print("faults: " + "  ".join(f"{k} {v}" for k, v in sorted(faults.items())))


if __name__ == "__main__":
    main(sys.argv[1:])
