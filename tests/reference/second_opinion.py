"""Second opinion of numpy and scipy on what the virtual bench and the solver work out. JSON in, JSON out."""
import json
import sys

import numpy as np
from scipy.optimize import curve_fit
from scipy.special import expit
from scipy.stats import norm

DRAWS = 100_000
CHANCE = np.random.default_rng(20261125)


def laplacian(count, edges):
    """Laplacian of a network. edges: from 1, to, ohms."""
    matrix = np.zeros((count, count))
    for a, b, ohm in edges:
        i, j = a - 1, b - 1
        matrix[i, i] += 1 / ohm
        matrix[j, j] += 1 / ohm
        matrix[i, j] -= 1 / ohm
        matrix[j, i] -= 1 / ohm
    return matrix


def resistances(network):
    """Resistance between every two nodes, by the pseudo-inverse of the Laplacian (Klein and Randic 1993)."""
    inverse = np.linalg.pinv(laplacian(network['count'], network['edges']), rcond=1e-10, hermitian=True)
    diagonal = np.diag(inverse)
    return (diagonal[:, None] + diagonal[None, :] - 2 * inverse).tolist()


def monte_carlo(model, mean, covariance):
    """Standard uncertainties and correlations of a model's results (JCGM 101:2008, GUM Supplement 1)."""
    results = model(CHANCE.multivariate_normal(mean, covariance, DRAWS))
    return {'u': np.std(results, axis=0, ddof=1).tolist(), 'r': np.corrcoef(results, rowvar=False).tolist()}


def resistance_and_reactance(x):
    """Measurement model of GUM H.2: R, X and Z from V, I and phi."""
    volts, amperes, phase = x[..., 0], x[..., 1], x[..., 2]
    ratio = volts / amperes
    return np.stack([ratio * np.cos(phase), ratio * np.sin(phase), ratio], axis=-1)


def gum_h2(readings):
    """GUM H.2 from its table of simultaneous readings, one row each for V, I and phi."""
    sets = np.array(readings).T
    mean = sets.mean(axis=0)
    covariance = np.cov(sets, rowvar=False) / len(sets)
    # The law of propagation (GUM 5.2) with derivatives by central differences.
    steps = np.sqrt(np.diag(covariance)) * 1e-3
    slopes = np.stack([
        (resistance_and_reactance(mean + step) - resistance_and_reactance(mean - step)) / (2 * step.sum())
        for step in np.diag(steps)], axis=-1)
    propagated = slopes @ covariance @ slopes.T
    u = np.sqrt(np.diag(propagated))
    return {
        'mean': mean.tolist(),
        's': np.sqrt(np.diag(covariance)).tolist(),
        'rOfReadings': np.corrcoef(sets, rowvar=False).tolist(),
        'value': resistance_and_reactance(mean).tolist(),
        'u': u.tolist(),
        'r': (propagated / np.outer(u, u)).tolist(),
        'monteCarlo': monte_carlo(resistance_and_reactance, mean, covariance),
    }


def windings(count, coils):
    """Measurement model of a record: ohms of the windings from the readings of all pairs (Fiedler; Bapat)."""
    pairs = [(i, j) for i in range(count) for j in range(i + 1, count)]

    def model(readings):
        bordered = np.zeros((len(readings), count + 1, count + 1))
        bordered[:, 0, 1:] = bordered[:, 1:, 0] = 1
        # In kilohms, so that the border of ones is of a size with the rest.
        for n, (i, j) in enumerate(pairs):
            bordered[:, i + 1, j + 1] = bordered[:, j + 1, i + 1] = readings[:, n] / 1000
        inverse = np.linalg.inv(bordered)
        return np.stack([1000 / (2 * inverse[:, a, b]) for a, b in coils], axis=-1)

    return model


def spread(record):
    """Uncertainty of each winding of a record: readings of their own u, and one scale error that all share."""
    ohm = np.array(record['ohm'])
    covariance = np.diag(np.square(record['u'])) + record['scale_u'] ** 2 * np.outer(ohm, ohm)
    return monte_carlo(windings(record['count'], record['coils']), ohm, covariance)['u']


def straight(samples):
    """Takes the four wide codes of the 12-bit converter out (erratum RP2040-E11). samples: units of 2^-20 V."""
    code = np.where(np.abs(samples) > 187392, 768, 96)
    x = samples / code
    size = np.abs(x)
    # A sample inside a wide code lies, as far as one can tell, in its middle.
    passed = sum((size >= edge) * 0.5 + (size > edge) * 0.5 for edge in (512, 1536))
    return (x * (1024 - 8.9) / 1024 + np.sign(x) * 8.9 * passed) * code


def rise(time_s, end, missing, tau_s):
    return end * (1 - missing * np.exp(-time_s / tau_s))


def fit_rise(step):
    """Rise of a coil's current after a voltage step, fitted as a jump and an exponential."""
    bursts = np.array(step['bursts'], dtype=float)
    volts = (straight(bursts[0]) - straight(bursts[1])) / 2 * 2.0 ** -20
    number = np.arange(bursts.shape[1])
    late = np.where(np.abs(bursts[0]) > 187392, 0.25, 0.75)
    time_s = (number - step['lead'] + late) / step['rate_Hz']
    used = number >= step['lead'] + 2
    (end, missing, tau_s), covariance = curve_fit(
        rise, time_s[used], volts[used], [volts[-240:].mean(), 0.9, 3e-4])
    return {'end_V': end, 'missing': missing, 'tau_s': tau_s, 'u': np.sqrt(np.diag(covariance)).tolist()}


def misra(data, start):
    """NIST StRD Misra1a: y = b1 (1 - exp(-b2 x))."""
    x, y = np.array(data).T
    model = lambda x, b1, b2: b1 * (1 - np.exp(-b2 * x))
    b, covariance = curve_fit(model, x, y, start, xtol=1e-14, ftol=1e-14)
    rest = np.sum((y - model(x, *b)) ** 2)
    return {'b': b.tolist(), 'sd': np.sqrt(np.diag(covariance)).tolist(), 'rss': rest}


def quiet(noise):
    """Captures of nothing but white normal noise, volts."""
    return CHANCE.normal(0, noise['sigma_V'], (noise['captures'], noise['samples'])).tolist()


asked = json.load(sys.stdin)
tail = np.array(asked['tail'])
json.dump({
    'resistances': [resistances(network) for network in asked['networks']],
    'gum': gum_h2(asked['gum']),
    'spread': [spread(record) for record in asked['records']],
    'rises': [fit_rise(step) for step in asked['steps']],
    'misra': [misra(asked['misra'], start) for start in ([500, 1e-4], [250, 5e-4])],
    'tail': norm.sf(tail).tolist(),
    'logTail': norm.logsf(tail).tolist(),
    'quantiles': norm.ppf(asked['shares']).tolist(),
    'quiet': quiet(asked['noise']),
    'expit': expit(np.abs(asked['logOdds'])).tolist(),
}, sys.stdout)
