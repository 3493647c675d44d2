"""The pickup as a resistive network with sources: what meters read between its nodes.

A stretch of winding is a resistance in series with its emf; at the frequencies of a touch (below 500 Hz) inductance and
capacitance change nothing that a meter of a megohm would see, so direct current is model enough."""
import numpy as np


class Network:
    """Nodes joined by resistances, some with an emf.

    edges: list of (node, node, ohm, coil or None); a coil's emf lifts the second node against the first."""

    def __init__(self, nodes, edges):
        self.nodes = list(nodes)
        self.at = {n: i for i, n in enumerate(self.nodes)}
        self.edges = [e for e in edges if e[2] is not None]
        n = len(self.nodes)
        laplacian = np.zeros((n, n))
        parent = list(range(n))

        def root(i):
            while parent[i] != i:
                i = parent[i]
            return i
        for a, b, ohm, _ in self.edges:
            i, j = self.at[a], self.at[b]
            if i == j:
                continue
            g = 1.0 / ohm
            laplacian[i, i] += g
            laplacian[j, j] += g
            laplacian[i, j] -= g
            laplacian[j, i] -= g
            parent[root(i)] = root(j)
        self.component = [root(i) for i in range(n)]
        # One component at a time, its last node as reference: the inverse stays well conditioned from 1 ohm to 100 Mohm.
        self.inverse = np.zeros((n, n))
        for c in set(self.component):
            inside = [i for i in range(n) if self.component[i] == c][:-1]
            if inside:
                self.inverse[np.ix_(inside, inside)] = np.linalg.inv(laplacian[np.ix_(inside, inside)])

    def connected(self, a, b):
        return self.component[self.at[a]] == self.component[self.at[b]]

    def ohm(self, a, b):
        """Resistance between two nodes in ohms, or None."""
        if not self.connected(a, b):
            return None
        i, j = self.at[a], self.at[b]
        k = self.inverse
        return float(k[i, i] + k[j, j] - 2 * k[i, j])

    def lift(self, emf):
        """Potential of every node (volts, relative within its component) for coil -> emf in volts."""
        current = np.zeros(len(self.nodes))
        for a, b, ohm, coil in self.edges:
            e = emf.get(coil, 0.0)
            if e and a != b:
                current[self.at[b]] += e / ohm
                current[self.at[a]] -= e / ohm
        return dict(zip(self.nodes, self.inverse @ current))
