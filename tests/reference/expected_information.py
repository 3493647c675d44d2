"""Entropies by scipy.stats.entropy, mutual informations of mixtures of normal distributions by numerical integration, and what
is known of some windings after readings of sums of them, by the closed form of a linear model with normal errors (numpy):
JSON in, JSON out. Cases have a weight, a probability of no number at all, a mean and a standard deviation."""
import json
import sys
import numpy as np
from scipy.stats import entropy, norm


def mutual(cases):
    """Mutual information of case and reading, bits: H(reading) - H(reading | case), a number or none."""
    weight = np.array([c["weight"] for c in cases], float)
    weight /= weight.sum()
    none = np.array([c["open"] for c in cases], float)
    mean = np.array([c["mean_ohm"] for c in cases], float)
    sd = np.array([c["sd_ohm"] for c in cases], float)
    # A grid that is fine where anything is: 40 points to a standard deviation, 9 of them to each side.
    grid = np.unique(np.concatenate([m + s * np.linspace(-9, 9, 721) for m, s in zip(mean, sd)]))
    density = (weight * (1 - none))[:, None] * norm.pdf(grid[None, :], mean[:, None], sd[:, None])
    total = density.sum(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(density > 0, density * np.log2(density / total), 0).sum(axis=0)
    # I = H(case) - H(case | reading), the latter from the shares of each case at each reading.
    left = -np.trapezoid(part, grid) if hasattr(np, "trapezoid") else -np.trapz(part, grid)
    opened = weight * none
    left += opened.sum() * (entropy(opened, base=2) if opened.sum() > 0 else 0)
    return float(entropy(weight, base=2) - left)


def after(mean, common, own, paths, ohms, u, wanted):
    """Mean and standard deviation of a sum of windings. Each row of paths says which windings a reading goes through."""
    a, w, y = np.array(paths, float), np.array(wanted, float), np.array(ohms, float)
    prior = np.linalg.inv(common ** 2 * np.ones((a.shape[1],) * 2) + own ** 2 * np.eye(a.shape[1]))
    weight = np.diag(1 / np.array(u, float) ** 2)
    cov = np.linalg.inv(prior + a.T @ weight @ a)
    left = cov @ (prior @ np.full(a.shape[1], float(mean)) + a.T @ weight @ y)
    return [float(w @ left), float(np.sqrt(w @ cov @ w))]


question = json.load(sys.stdin)
print(json.dumps({
    "entropies": [float(entropy(p, base=2)) for p in question["shares"]],
    "tables": [float(entropy(np.sum(t, axis=0), base=2) + entropy(np.sum(t, axis=1), base=2) - entropy(np.ravel(t), base=2))
               for t in question["tables"]],
    "mixtures": [mutual(c) for c in question["mixtures"]],
    "windings": [after(**w) for w in question.get("windings", [])],
}))
