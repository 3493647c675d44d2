/** Limits of a cheap fab, millimetres: the router keeps them and KiCad's rule check holds the board to them. */
export const FAB = {
  track: 0.15, clearance: 0.13, via: 0.5, viaDrill: 0.3, holeToHole: 0.25, holeClearance: 0.25, edge: 0.3, annulus: 0.1,
} as const;
