/**
 * The board's commands: the only imports of the module. Each returns at once; answers come as events (`index.ts`).
 * The firmware, the board twin and the specs' fake board implement exactly these.
 */

/** Sets the eight clip switches at once, break before make. @param word - as `sequence/ground/matrix.ts` makes it, 0 = all off */
@external("board", "switches")
export declare function boardSwitches(word: u32): void;

/** Sets the converter's current source. @param current_nA - 0 (off), 10000, 50000, 100000 or 250000 */
@external("board", "drive")
export declare function boardDrive(current_nA: u32): void;

/** Starts one conversion; `onConversion` answers. @param input - `Input` @param rate - `Rate` */
@external("board", "convert")
export declare function boardConvert(input: u32, rate: u32): void;

/**
 * Captures both listening channels at 120 kS/s into BURST_A and BURST_B; `onBurst` answers.
 * After `lead` samples the switches go to `stepWord` (no step when it equals the present word).
 * With BURST_X1 in `lead` both channels are of the x1 inputs alone.
 * @param count - samples per channel, 1 to BURST_SAMPLES @param lead - samples before the step, below count
 */
@external("board", "burst")
export declare function boardBurst(count: u32, lead: u32, stepWord: u32): void;

/** Starts (1) or stops (0) listening at 10 kHz; `onSamples` comes for each block of LISTEN_BLOCK samples. */
@external("board", "listen")
export declare function boardListen(on: u32): void;

/** Asks for one `onTime` after `delay_us`; a new call replaces the old one, 0 cancels it. */
@external("board", "wake")
export declare function boardWake(delay_us: u32): void;

/** Shows a pattern. @param pattern - `Light`; for `Light.touch` and `Light.magnet` the place index in bits 8 to 15 and the ask's number from 16 on */
@external("board", "light")
export declare function boardLight(pattern: u32): void;

/** Hands the 64 bytes at REPORT_OUT to the host. @returns 1 when taken, 0 when busy (`onReportSent` comes when free) */
@external("board", "send")
export declare function boardSend(): u32;

/**
 * Writes the calibration at CALIBRATION_NEW into the flash, unless it is damaged or not numbered next, then brings CALIBRATION and the
 * board's block up to it. The one command that takes its time, half a second at most: nothing may be under way.
 * @returns 1 when it is in use now, 0 when it was not taken
 */
@external("board", "store")
export declare function boardStore(): u32;

/** Tells whether the magnet probe is plugged in. @returns 1 or 0 */
@external("board", "wand")
export declare function boardWand(): u32;
