/** What the router is asked and what it answers; millimetres from the board's top left corner, y down. */

export interface Point {
  readonly x: number;
  readonly y: number;
}

/** Signal layers: 0 the front, 1 the back; the two planes lie between. */
export type Layer = 0 | 1;

export interface RouterPad {
  readonly net: string | null;
  /** Layers that its copper is on. */
  readonly layers: readonly Layer[];
  /** Diameter of its hole; 0 for a pad that is soldered on the surface. */
  readonly drill: number;
  readonly centre: Point;
  /** Its copper and no less: what others keep away from. */
  readonly outline: readonly Point[];
  /** Its copper and no more: where a track that ends is joined to it. */
  readonly core: readonly Point[];
}

export interface Track {
  readonly net: string;
  readonly layer: Layer;
  readonly from: Point;
  readonly to: Point;
  readonly width: number;
}

export interface Via {
  readonly net: string;
  readonly at: Point;
}

/** A piece of copper on an inner layer that a net's vias may end in. */
export interface PlanePiece {
  readonly net: string;
  readonly inner: 1 | 2;
  readonly areas: readonly (readonly [x1: number, y1: number, x2: number, y2: number])[];
}

/** An area of a layer where no track, or no via, may be. */
export interface Keepout {
  readonly layer: Layer;
  readonly of: 'track' | 'via';
  readonly area: readonly [x1: number, y1: number, x2: number, y2: number];
}

export interface Job {
  readonly width: number;
  readonly height: number;
  readonly pads: readonly RouterPad[];
  readonly fixedTracks: readonly Track[];
  readonly fixedVias: readonly Via[];
  readonly planes: readonly PlanePiece[];
  readonly keepouts: readonly Keepout[];
  /** Nets that keep to one layer. */
  readonly noVia: (net: string) => boolean;
  /** Nets whose tracks are widened afterwards as far as their neighbours allow. */
  readonly wide: (net: string) => boolean;
  /** High-ohm nets keep away from digital ones and from each other where they can. */
  readonly kind: (net: string) => 'high-ohm' | 'digital' | 'plain';
  /** Net of the ground, whose pours on both outer layers are stitched together. */
  readonly ground: string;
}

export interface Routed {
  readonly tracks: readonly Track[];
  readonly vias: readonly Via[];
  /** What could not be joined, a sentence each. */
  readonly failures: readonly string[];
}
