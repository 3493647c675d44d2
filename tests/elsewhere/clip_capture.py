"""What the listening channels take in: emfs, mains, drift, noise, the converter's steps and range, and leads that lose contact."""
import numpy as np

from clip_hand import Gesture, log_uniform, step

RATES_Hz = (1000, 2000, 2500, 4000, 5000, 8000, 10000, 20000, 44100, 48000, 100000)
RATE_SHARES = (0.07, 0.07, 0.06, 0.07, 0.15, 0.07, 0.43, 0.04, 0.015, 0.015, 0.01)
BREAK_F = 5e-11  # across the break of an open coil


class Workshop:
    """What stays the same for all captures of one record."""

    def __init__(self, rng):
        self.rate_Hz = int(rng.choice(RATES_Hz, p=RATE_SHARES))
        self.before_s = float(rng.choice((0.02, 0.03, 0.05, 0.1, 0.15, 0.2, 0.25), p=(0.06, 0.06, 0.28, 0.3, 0.1, 0.12, 0.08)))
        self.after_s = float(rng.uniform(0.3, 0.6)) if self.rate_Hz <= 20000 else float(rng.uniform(0.3, 0.4))
        self.input_ohm = float(rng.choice((1e6, 1e7), p=(0.6, 0.4)))
        self.noise_V = log_uniform(rng, 3e-5, 1e-3) * np.sqrt(self.rate_Hz / 1e4)
        self.hum_V = log_uniform(rng, 1e-4, 8e-3)
        self.hum_Hz = float(rng.choice((50, 60))) * (1 + float(rng.uniform(-1e-3, 1e-3)))
        self.harmonics = [(m, float(rng.uniform(0, s)), float(rng.uniform(0, 2 * np.pi)))
                          for m, s in ((2, 0.06), (3, 0.4), (5, 0.2), (7, 0.1))]
        self.step_V = float(rng.choice((1e-6, 5e-5, 0.000122, 0.000244))) if rng.random() < 0.6 else 1e-6
        while self.step_V > 2 * self.noise_V:
            self.step_V /= 2
        # Hum that changes as the hand comes near, in about a third of the workshops.
        self.hand_hum = float(rng.uniform(0.6, 1.8)) if rng.random() < 0.3 else 1.0

    def edges(self):
        """Times between which each sample averages, seconds; the converter's average is taken as over the whole sample."""
        count = int(round((self.before_s + self.after_s) * self.rate_Hz))
        return -self.before_s + (np.arange(count + 1) - 0.5) / self.rate_Hz


class Capture:
    """One capture. `asked` is the place the person was asked for, `touched` where the steel went (None: nowhere)."""

    def __init__(self, workshop, asked, touched, behaviour, channels):
        self.workshop, self.asked, self.touched, self.behaviour, self.channels = workshop, asked, touched, behaviour, channels
        self.gesture = None
        self.flux_Wb = 0.0
        self.beside = None             # place that a slide passes first
        self.lift = None               # (start_s, fall_s, flux of each winding, negative of what was left)
        self.burst = None              # (clip, from_s, to_s, times)
        self.murky = False             # lift or burst lies on the arrival: it tells no sign
        self.turned = False            # the meter's leads were plugged the other way round
        self.sigmas = [(0.0, 0.0)] * len(channels)     # per channel and Wb, as `evidence` tells
        self.values = []               # what stands in the record
        self.volts = []
        self.lost = []                 # per channel: samples that are no evidence of the coil

    def draw_hand(self, rng, late_share):
        self.gesture = Gesture(rng, self.workshop.after_s, late_share)
        while self.gesture.settled_s > self.workshop.after_s - 0.02:
            self.gesture = Gesture(rng, self.workshop.after_s, late_share)

    def left(self, pickup):
        """Flux of each winding that steel still rests on at the end, Wb; None when there is no steel."""
        if self.touched is None or self.gesture.leave_s is not None:
            return None
        return pickup.response(self.touched) * self.flux_Wb

    def parts(self, pickup, edges):
        """Per winding: emf of the arrival for 1 Wb, and of the departure, V/Wb; rows are windings."""
        g = self.gesture
        rate = self.workshop.rate_Hz
        own = pickup.response(self.touched)
        arrival = np.outer(own, np.diff(g.arrival(edges)) * rate)
        if g.approach == "slide" and self.beside is not None:
            arrival += np.outer(pickup.response(self.beside), np.diff(g.passing(edges)) * rate)
        return arrival, np.outer(own, np.diff(g.departure(edges)) * rate)

    def matrix(self, pickup):
        """Volts at each channel for a volt of emf in each winding, every channel's input loading the pickup."""
        net = pickup.network()
        for p, m in self.channels:
            net.add(p, m, self.workshop.input_ohm)
        v = net.per_emf([w.name for w in pickup.windings])
        return np.array([v[net.index[p]] - v[net.index[m]] for p, m in self.channels])

    def broken(self, pickup):
        """Per channel the open winding whose two ends it hears through the break's capacitance, or None."""
        out = []
        for p, m in self.channels:
            out.append(next((i for i, w in enumerate(pickup.windings)
                             if w.broken and {pickup.leads[p], pickup.leads[m]} == {w.start, w.end}), None))
        return out

    def through_break(self, pickup, channel, winding, emf):
        """A broken coil's emf at the channel: a first-order high-pass, far below its corner, R_in C de/dt."""
        sign = 1 if pickup.leads[self.channels[channel][0]] == winding.end else -1
        return sign * self.workshop.input_ohm * BREAK_F * np.gradient(emf) * self.workshop.rate_Hz

    def break_d(self, pickup, channel, winding):
        """Sigmas of the pulses that a broken winding sends through its break to a channel."""
        ws = self.workshop
        arrival, departure = self.parts(pickup, ws.edges())
        seen = self.through_break(pickup, channel, pickup.windings[winding], (arrival + departure)[winding]) * self.flux_Wb
        return float(np.sqrt(seen @ seen) / np.hypot(ws.noise_V, ws.step_V / np.sqrt(12)))

    def render(self, rng, pickup):
        """Draws the volts of every channel."""
        ws = self.workshop
        edges = ws.edges()
        t = (edges[1:] + edges[:-1]) / 2
        weights = self.matrix(pickup)
        emf = np.zeros((len(pickup.windings), len(t)))
        g = self.gesture
        if self.touched is not None:
            arrival, departure = self.parts(pickup, edges)
            emf += self.flux_Wb * (arrival + departure)
            ring = g.clack(t)
            emf += np.outer(np.abs(arrival).max(axis=1) * np.sign(pickup.response(self.touched)) * self.flux_Wb, ring)
        if self.lift is not None:
            start, fall, flux = self.lift
            emf += np.outer(-flux, np.diff(step(edges, start, fall)) * ws.rate_Hz)
        # Mains: one field over all coils; its sign follows the winding's sense alone, its size the root of the inductance.
        phase = float(rng.uniform(0, 2 * np.pi))
        near = 0.0 if g is None else g.contact_s
        swell = 1 + (ws.hand_hum - 1) * (0 if self.touched is None else 1) * step(t, near - 0.02, 0.02)
        x = 2 * np.pi * ws.hum_Hz * t + phase
        field = np.sin(x) + sum(a * np.sin(m * x + p) for m, a, p in ws.harmonics)
        hum = np.array([w.sense * np.sqrt(w.henry / 2.3) * w.turns for w in pickup.windings])
        quiet = weights @ np.outer(hum * ws.hum_V, field * swell)
        volts = weights @ emf
        for c, i in enumerate(self.broken(pickup)):
            if i is not None:
                volts[c] += self.through_break(pickup, c, pickup.windings[i], emf[i])
                quiet[c] += 0.2 * ws.hum_V * field * swell
        self.volts, self.lost = [], []
        for c, (p, m) in enumerate(self.channels):
            stray = 0.1 * ws.hum_V * np.sin(x + float(rng.uniform(0, 2 * np.pi)))
            offset = float(rng.normal(0, 5e-4)) + float(rng.uniform(-8e-4, 8e-4)) * t
            noise = rng.normal(0, ws.noise_V, len(t))
            y = volts[c] + quiet[c] + stray + offset + noise
            lost = np.zeros(len(t), bool)
            if self.burst is not None and self.burst[0] in (p, m):
                _, begin, end, times = self.burst
                lost = (t >= begin) & (t < end)
                hum_rms = max(float(np.std(quiet[c] + stray)), 0.3 * ws.hum_V)
                loose = times * np.sqrt(2) * hum_rms * np.sin(2 * np.pi * ws.hum_Hz * t + float(rng.uniform(0, 2 * np.pi)))
                y = np.where(lost, offset + loose + times * noise, y)
            self.volts.append(y)
            self.lost.append(lost)
        self.t = t

    def convert(self, range_V):
        """Rounds to the converter's steps; what is over its range becomes null."""
        q = self.workshop.step_V
        out = []
        for c, y in enumerate(self.volts):
            over = np.abs(y) > range_V
            self.lost[c] = self.lost[c] | over
            z = np.round(np.round(y / q) * q, 7)
            out.append([None if o else v for o, v in zip(over.tolist(), z.tolist())])
        return out

    def evidence(self, pickup):
        """Sigmas per Wb of a matched filter that knows every shape and the noise's size, with offset, drift and mains
        unknown: per channel (whole capture, what comes before the departure only)."""
        ws = self.workshop
        edges = ws.edges()
        t = (edges[1:] + edges[:-1]) / 2
        arrival, departure = self.parts(pickup, edges)
        weights = self.matrix(pickup)
        noise = np.sqrt(ws.noise_V ** 2 + ws.step_V ** 2 / 12)
        columns = [np.ones_like(t), t]
        windows = [np.ones_like(t)]
        if ws.hand_hum != 1:
            windows.append(step(t, self.gesture.contact_s - 0.02, 0.02))
        for m in (1, *(m for m, *_ in ws.harmonics)):
            for w in windows:
                columns += [w * np.cos(2 * np.pi * m * ws.hum_Hz * t), w * np.sin(2 * np.pi * m * ws.hum_Hz * t)]
        basis = np.column_stack(columns)
        leave = np.inf if self.gesture.leave_s is None else self.gesture.leave_s
        out = []
        for c in range(len(self.channels)):
            lost = self.lost[c] if len(self.lost) else np.zeros(len(t), bool)

            def sigmas(shape, keep):
                keep = keep & ~lost
                if keep.sum() < basis.shape[1] + 3:
                    return 0.0
                b, s = basis[keep], shape[keep]
                # Normal equations, solved so that columns which cannot be told apart in what is kept do no harm.
                left = s - b @ np.linalg.lstsq(b.T @ b, b.T @ s, rcond=1e-11)[0]
                return float(np.sqrt(left @ left) / noise)

            out.append((sigmas(weights[c] @ (arrival + departure), np.ones(len(t), bool)),
                        sigmas(weights[c] @ arrival, t < leave)))
        return out
