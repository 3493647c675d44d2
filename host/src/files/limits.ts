/**
 * Bounds of what a file may hold. They lie far outside anything a pickup can be, and inside what
 * single precision, memory and patience can bear; each is stated in the message that refuses.
 */

/** One record, whether a file of its own or one of many lines. */
export const RECORD_MOST_MiB = 128;
export const RECORD_MOST_bytes = RECORD_MOST_MiB * 1024 * 1024;
/** A document of which there is one: a pickup has no captures. */
export const DOCUMENT_MOST_MiB = 16;
/** Lists and objects in one record: bounds what reading it costs. */
export const BRACKETS_MOST = 200_000;
/** Fields of all objects of one record: ten million names would take gigabytes and minutes. */
export const FIELDS_MOST = 500_000;
/** Lists within lists in a field that is not ours; ours have their own shape. */
export const NESTING_MOST = 64;

/** A colour, a coil's id, a node, a place. */
export const NAME_MOST = 100;
/** A title or another text. */
export const TEXT_MOST = 1000;

/** Largest resistance, ohms; a teraohm is an open circuit to any meter. */
export const OHM_MOST = 1e12;
export const HENRY_MOST = 1e4;
export const FARAD_MOST = 1e-3;
export const VOLT_MOST = 1000;
export const TESLA_MOST = 100;
export const WEBER_MOST = 0.1;
/** The parts of one touch, seconds. */
export const TOUCH_s_MOST = 60;
/** Moments and other durations, seconds. */
export const SECONDS_MOST = 3600;
export const TEMPERATURE_C_LEAST = -60;
export const TEMPERATURE_C_MOST = 150;
export const RATE_Hz_LEAST = 1000;
export const RATE_Hz_MOST = 100_000;

export const CLIPS_MOST = 6;
export const SAMPLES_MOST = 1_000_000;
/** A channel for each pair of clips. */
export const CHANNELS_MOST = 15;
/** Entries of any other list of a record. */
export const ENTRIES_MOST = 1000;
export const COILS_MOST = 12;
