"""What a listening instrument writes down while a person works with steel at the pickup.

The hand is a list of moves, each a smooth (raised cosine) change of the flux vector of one place. A sample is the mean over its
interval, so that no front end loses flux between samples."""
from dataclasses import dataclass
import numpy as np
from other_pickups import between, choose


@dataclass
class Move:
    start_s: float
    lasts_s: float
    amount: float          # of the place's full flux; steel that comes is positive
    place: str
    role: str              # "in", "out", "rest" (steel of the capture before), "aside" (another coil in passing)


@dataclass
class FrontEnd:
    rate_Hz: float
    corner_Hz: float       # 0: coupled to direct current
    range_V: float
    bits: int
    sigma_V: float
    pink_Hz: float         # below this the noise rises
    hum_Hz: float
    hum_V: float
    harmonics: list
    drift_V: float
    offset_V: float
    spikes_V: float
    load_ohm: float
    settle_s: float


def draw_front_end(rng, coils, channels, faint):
    rate = float(choose(rng, {1000: 10, 2000: 12, 4000: 12, 8000: 12, 10000: 22, 20000: 8, 48000: 8, 100000: 5}))
    span = between(rng, .1, 2.5)
    if "low" in faint:
        span = between(rng, .1, .5)
    lsb = 2 * span / 4096
    sigma = max(between(rng, 3e-5, 1.2e-3), .5 * lsb)
    hum = between(rng, 5e-5, 2e-2)
    if rng.random() < .5:
        hum = min(hum, between(rng, 5e-5, 4e-3))
    return FrontEnd(rate, 0.0 if rng.random() < .6 else between(rng, .3, 2.0), span, 12, sigma, between(rng, .5, 60),
                    50.0 if rng.random() < .5 else 60.0, hum, [float(rng.uniform(0, .5)) for _ in range(3)],
                    between(rng, 1e-5, 1.5e-3), float(rng.normal()) * .01 * span, between(rng, 1e-3, 2e-2) if rng.random() < .12 else 0.0,
                    choose(rng, {1e6: 3, 2e6: 1, 1e7: 3}), 0.0)


HANDS = {"plain": 26, "multi": 14, "slide": 9, "pendulum": 7, "two-stage": 9, "slow": 8, "pulled": 9, "kept": 9, "late": 4, "weak": 5}


def draw_hand(rng, place, aside, resting):
    """The name of what a person did at one ask, and the moves."""
    what = choose(rng, HANDS)
    at = float(rng.normal() * .006)
    size = between(rng, .7, 1.3)
    quick = between(rng, .002, .02)
    moves = []
    if resting:
        # The tool is taken off the last pole and carried over, mostly before the button is pressed for good.
        off = float(rng.uniform(-.09, -.03)) if rng.random() < .4 else float(rng.uniform(.0, .05))
        moves.append(Move(off, between(rng, .003, .02), -resting[1], resting[0], "rest"))
        at = max(at, off + .05 + between(rng, .08, .3))
    if what == "late":
        at += float(rng.uniform(.05, .3))
    if what == "weak":
        size *= between(rng, .002, .1)

    def add(t, lasts, amount, role, where=place):
        moves.append(Move(t, lasts, amount, where, role))
        return t + lasts
    here, end = 0.0, at
    if what == "slide":
        lasts = between(rng, .06, .35)
        if aside and rng.random() < .6:
            share = float(rng.uniform(.15, .5)) * size
            middle = add(at, lasts * .5, share, "aside", aside)
            add(middle, lasts * .6, -share, "aside", aside)
        first = float(rng.uniform(.1, .5)) * size
        add(at + .3 * lasts, .5 * lasts, first, "in")
        end = add(at + .8 * lasts, .5 * lasts, size - first, "in")
        here = size
    elif what == "pendulum":
        t = at
        for i in range(int(rng.integers(1, 4))):
            half = float(rng.uniform(.06, .2))
            near = float(rng.uniform(.05, .3)) * size
            t = add(t, half, near, "in")
            t = add(t + float(rng.uniform(0, .02)), half, -near, "in")
        end = add(t + float(rng.uniform(0, .1)), between(rng, .005, .05), size, "in")
        here = size
    elif what == "two-stage":
        first = float(rng.uniform(.22, .38)) * size
        t = add(at, between(rng, .003, .03), first, "in")
        end = add(t + float(rng.uniform(.08, .3)), between(rng, .003, .03), size - first, "in")
        here = size
    elif what == "slow":
        end = add(at - float(rng.uniform(0, .1)), float(rng.uniform(.3, .8)), size, "in")
        here = size
    elif what == "multi":
        t = at
        for i in range(int(rng.integers(2, 5))):
            s = size * between(rng, .6, 1.3)
            t = add(t, between(rng, .003, .025), s, "in") + between(rng, .05, .3)
            here = s
            if i == 0 or rng.random() < .9:
                t = add(t, between(rng, .002, .03), -s, "out") + between(rng, .05, .3)
                here = 0.0
            else:
                break
        end = t
    else:
        end = add(at, quick, size, "in")
        here = size
        if rng.random() < .2:
            lost = float(rng.uniform(.1, .6)) * size
            t = add(end + float(rng.uniform(.002, .01)), .003, -lost, "in")
            end = add(t + float(rng.uniform(.001, .008)), .003, lost, "in")
    if here and what != "kept" and rng.random() < .8:
        hold = between(rng, .08, .9)
        if what == "pulled":
            more = float(rng.uniform(.2, .9)) * size
            add(end, hold, more, "in")
            here += more
        add(end + hold, between(rng, .0015, .006) if what == "pulled" else between(rng, .003, .06), -here, "out")
    return what, moves


def cut(moves, until_s):
    """Moves that begin before the capture ends, and how much steel then still lies at the place."""
    kept = [m for m in moves if m.start_s < until_s]
    here = sum(m.amount for m in kept if m.role in ("in", "out"))
    return kept, max(0.0, here)


def smooth_step(u):
    return .5 - .5 * np.cos(np.pi * np.clip(u, 0, 1))


def high_pass(x, corner_Hz, rate_Hz):
    """First order, exact for a step held over each sample; nothing came before x[0]."""
    if corner_Hz <= 0 or len(x) == 0:
        return x
    n = len(x)
    decay = np.exp(-2 * np.pi * corner_Hz / rate_Hz * np.arange(n))
    padded = 1 << (2 * n).bit_length()
    steps = np.diff(x, prepend=0.0)
    return np.fft.irfft(np.fft.rfft(steps, padded) * np.fft.rfft(decay, padded), padded)[:n]


def emf_of(moves, edges_s, rate_Hz):
    """place -> mean emf per sample for one weber of full flux."""
    out = {}
    for m in moves:
        steps = np.diff(smooth_step((edges_s - m.start_s) / m.lasts_s)) * rate_Hz * m.amount
        out[m.place] = out.get(m.place, 0) + steps
    return out


def noise(rng, n, fe):
    """White noise of sigma_V a sample, rising as 1/f in power below pink_Hz."""
    spectrum = np.fft.rfft(rng.standard_normal(n))
    f = np.fft.rfftfreq(n, 1 / fe.rate_Hz)
    f[0] = f[1] if n > 1 else 1.0
    return fe.sigma_V * np.fft.irfft(spectrum * np.sqrt(1 + fe.pink_Hz / np.maximum(f, .3)), n)


class Detector:
    """Sigmas of a matched filter that knows the shape, the noise's colour and the hum's frequency, but neither the hum's size and
    phase, nor offset and drift; a sample that is no evidence counts for nothing."""

    def __init__(self, fe, start_s, n, hum_steps_s):
        """hum_steps_s: when the hand changes the hum, or None; the hum before and after are then two unknowns."""
        t = np.arange(n) / fe.rate_Hz + start_s
        u = np.linspace(-1, 1, n)
        basis = [np.ones(n), u, u * u]
        for h in (1, 3, 5, 7):
            f = h * fe.hum_Hz
            if f < fe.rate_Hz / 2:
                waves = [np.cos(2 * np.pi * f * t), np.sin(2 * np.pi * f * t)]
                basis += waves if hum_steps_s is None else waves + [w * (t > hum_steps_s) for w in waves]
        f = np.fft.rfftfreq(n, 1 / fe.rate_Hz)
        f[0] = f[1]
        self.n = n
        self.whiten = 1 / np.sqrt(1 + fe.pink_Hz / np.maximum(f, .3))
        self.basis = self.white(np.array(basis))
        self.sigma = np.hypot(fe.sigma_V, 2 * fe.range_V / 2 ** fe.bits / np.sqrt(12))

    def white(self, x):
        return np.fft.irfft(np.fft.rfft(x) * self.whiten, self.n)

    def sigmas(self, signal, lost):
        """The nuisances are projected out of the whitened signal by their normal equations."""
        if np.max(np.abs(signal)) < 1e-3 * self.sigma:
            return 0.0
        keep = ~lost
        b = self.basis * keep if lost.any() else self.basis
        y = self.white(signal * keep) * keep
        seen = b @ y
        return float(np.sqrt(max(0.0, y @ y - seen @ np.linalg.lstsq(b @ b.T, seen, rcond=1e-9)[0])) / self.sigma)
