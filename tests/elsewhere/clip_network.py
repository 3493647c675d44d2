"""Direct-current networks: nodal solution of resistors and windings."""
import numpy as np


class Network:
    """Branches between named nodes. A branch may hold an emf: `share` of the emf of winding `winding`, raising `b` against `a`."""

    def __init__(self):
        self.index = {}
        self.branches = []

    def node(self, name):
        """Declares a node, also one on which nothing hangs."""
        return self.index.setdefault(name, len(self.index))

    def add(self, a, b, ohm, winding=None, share=0.0):
        self.branches.append((self.node(a), self.node(b), float(ohm), winding, float(share)))

    def copy(self):
        other = Network()
        other.index, other.branches = dict(self.index), list(self.branches)
        return other

    def components(self):
        """For each node's number, the smallest number of the nodes that conduct to it."""
        root = list(range(len(self.index)))

        def find(i):
            while root[i] != i:
                root[i] = root[root[i]]
                i = root[i]
            return i

        for a, b, *_ in self.branches:
            ra, rb = find(a), find(b)
            root[max(ra, rb)] = min(ra, rb)
        return [find(i) for i in range(len(root))]

    def _conductances(self):
        n = len(self.index)
        g = np.zeros((n, n))
        for a, b, ohm, *_ in self.branches:
            if a == b:
                continue
            g[a, a] += 1 / ohm
            g[b, b] += 1 / ohm
            g[a, b] -= 1 / ohm
            g[b, a] -= 1 / ohm
        return g

    def _solve(self, currents):
        """Node potentials for the currents that enter each node, A; the first node of every component stands at 0 V."""
        part = self.components()
        free = [i for i in range(len(part)) if part[i] != i]
        v = np.zeros_like(currents)
        if free:
            v[free] = np.linalg.solve(self._conductances()[np.ix_(free, free)], currents[free])
        return v

    def resistances(self, names):
        """Table of the ohms between each two of the nodes, infinite where nothing conducts: R = (e_i - e_j)^T G^+ (e_i - e_j)."""
        at = [self.index[name] for name in names]
        part = self.components()
        drive = np.zeros((len(self.index), len(at)))
        for column, i in enumerate(at):
            drive[i, column] += 1
            drive[part[i], column] -= 1
        v = self._solve(drive)
        out = np.full((len(at), len(at)), np.inf)
        for p, i in enumerate(at):
            for q, j in enumerate(at):
                if part[i] == part[j]:
                    out[p, q] = v[i, p] - v[j, p] - v[i, q] + v[j, q]
        return out

    def per_emf(self, windings):
        """Potential of every node for 1 V of emf in each winding, V/V: a row per node, a column per winding."""
        drive = np.zeros((len(self.index), len(windings)))
        column = {name: k for k, name in enumerate(windings)}
        for a, b, ohm, winding, share in self.branches:
            if winding is not None and a != b:
                drive[b, column[winding]] += share / ohm
                drive[a, column[winding]] -= share / ohm
        return self._solve(drive)
