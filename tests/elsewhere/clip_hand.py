"""What the person does with the steel during one capture, as parts of the flux of one touch over time."""
import numpy as np


def step(t, start, rise):
    """Raised cosine from 0 to 1 that begins at `start` and takes `rise` seconds."""
    x = np.clip((t - start) / rise, 0, 1)
    return (1 - np.cos(np.pi * x)) / 2


def nearing(t, start, contact):
    """From 0 at `start` to 1 at `contact`: steel moving up at even speed; its flux goes by the inverse cube of the distance
    (the field of a dipole on its axis), cut at the distance at which the movement began."""
    far = 4.0
    d = 1 + (far - 1) * np.clip((contact - t) / (contact - start), 0, 1)
    return (d ** -3 - far ** -3) / (1 - far ** -3)


def log_uniform(rng, low, high):
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


APPROACHES = ("normal", "slow", "creep", "staged", "pendulum", "slide")
APPROACH_SHARES = (0.62, 0.11, 0.06, 0.09, 0.05, 0.07)


class Gesture:
    """One touch, drawn. All times in seconds from the trigger; a flux of 1 is what the steel brings in sight of the capture."""

    def __init__(self, rng, window_end_s, late_share):
        self.approach = str(rng.choice(APPROACHES, p=APPROACH_SHARES))
        self.late = rng.random() < late_share
        self.rise_s = log_uniform(rng, 0.002, 0.015)
        self.begin_s = float(rng.uniform(0.03, 0.25) if self.late else rng.uniform(-0.006, 0.03))
        self.share = float(rng.uniform(0.2, 0.7))
        self.lead_s = log_uniform(rng, 0.03, 0.2)
        self.back = float(rng.uniform(0.1, 0.45))
        self.gap_s = float(rng.uniform(0.02, 0.12))
        self.beside = float(rng.uniform(0.1, 0.35)) if rng.random() < 0.6 else 0.0
        # The clack shakes the coil in its frame: a ring that dies within tens of milliseconds.
        self.ring = (log_uniform(rng, 0.002, 0.06) if rng.random() < 0.5 else 0.0,
                     float(rng.uniform(200, 900)), log_uniform(rng, 0.003, 0.02), float(rng.uniform(0, 2 * np.pi)))
        if self.approach == "slow":
            # The last of the way is the contact: the trigger falls on it, what came before lies before the trigger.
            self.contact_s, self.full_s = self.begin_s, self.begin_s + self.rise_s
            self.begin_s -= self.lead_s
        elif self.approach == "creep":
            self.lead_s = float(rng.uniform(0.04, 0.15))
            self.begin_s -= self.lead_s * float(rng.uniform(0, 0.5))
            self.contact_s, self.full_s = self.begin_s, self.begin_s + self.lead_s
        elif self.approach == "staged":
            self.contact_s = self.begin_s + self.rise_s + self.gap_s
            self.full_s = self.contact_s + self.rise_s
        elif self.approach == "pendulum":
            self.swing_s = float(rng.uniform(0.04, 0.09))
            self.contact_s = self.begin_s + 2 * self.swing_s
            self.full_s = self.contact_s + self.swing_s
        elif self.approach == "slide":
            self.lead_s = float(rng.uniform(0.04, 0.12))
            self.contact_s, self.full_s = self.begin_s, self.begin_s + self.lead_s
        else:
            self.contact_s, self.full_s = self.begin_s, self.begin_s + self.rise_s
        # Bounces come with a hard contact, and only on arrival: partial losses that are regained within 30 ms.
        self.bounces = []
        if self.approach in ("normal", "slow") and rng.random() < 0.45:
            at = self.full_s
            for _ in range(int(rng.integers(1, 4))):
                at += float(rng.uniform(0.0005, 0.004))
                down, up = (float(x) for x in rng.uniform(0.0015, 0.005, 2))
                if at + down + up > self.full_s + 0.03:
                    break
                self.bounces.append((at, down, up, float(rng.uniform(0.2, 0.8))))
                at += down + up
        self.settled_s = max([self.full_s] + [at + down + up for at, down, up, _ in self.bounces])
        leave_s = self.settled_s + log_uniform(rng, 0.06, 0.9)
        self.fall_s = log_uniform(rng, 0.0015, 0.05)
        self.leave_s = leave_s if leave_s + self.fall_s < window_end_s - 0.01 else None
        # Steel that hovered near before the capture began takes that flux away too when it leaves.
        self.hover = float(rng.uniform(0.1, 0.6)) if self.leave_s is not None and rng.random() < 0.35 else 0.0

    def arrival(self, t):
        """Flux of the arrival at the touched place, 0 to 1."""
        a = self.approach
        if a == "slow":
            y = self.share * nearing(t, self.begin_s, self.contact_s + self.rise_s / 2)
            y = y + (1 - self.share) * step(t, self.contact_s, self.rise_s)
        elif a == "creep":
            y = step(t, self.begin_s, self.lead_s)
        elif a == "staged":
            y = self.share * step(t, self.begin_s, self.rise_s) + (1 - self.share) * step(t, self.contact_s, self.rise_s)
        elif a == "pendulum":
            y = (self.share * step(t, self.begin_s, self.swing_s)
                 - self.share * (1 - self.back) * step(t, self.begin_s + self.swing_s, self.swing_s)
                 + (1 - self.share * self.back) * step(t, self.contact_s, self.swing_s))
        elif a == "slide":
            y = step(t, self.begin_s, self.lead_s)
        else:
            y = step(t, self.begin_s, self.rise_s)
        for at, down, up, depth in self.bounces:
            y = y - depth * (step(t, at, down) - step(t, at + down, up))
        return y

    def passing(self, t):
        """Flux at the neighbour's pole that steel sliding on passes first: it rises and is gone when the steel has arrived."""
        half = self.lead_s / 2
        return self.beside * (step(t, self.begin_s - half, half) - step(t, self.begin_s, self.lead_s))

    def departure(self, t):
        """Change of flux as the steel leaves, 0 or less."""
        if self.leave_s is None:
            return np.zeros_like(t)
        return -(1 + self.hover) * step(t, self.leave_s, self.fall_s)

    def clack(self, t):
        """The ring as a rate, relative to the arrival's greatest rate."""
        size, freq_Hz, decay_s, phase = self.ring
        x = np.clip(t - self.contact_s, 0, None)
        return size * np.where(t > self.contact_s, np.exp(-x / decay_s) * np.sin(2 * np.pi * freq_Hz * x + phase), 0.0)
