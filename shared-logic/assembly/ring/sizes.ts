/** Samples of the two kinds of burst. */

/** A ring: 0.53 ms of the resting current, 3.2 ms of the ring. */
export const RING_SAMPLES: u32 = 448;
export const RING_LEAD: u32 = 64;
/** An open clip: it is down in 0.1 ms. */
export const FIXTURE_SAMPLES: u32 = 48;
export const FIXTURE_LEAD: u32 = 16;
