/**
 * Every number that the solver judges by, with where it comes from: physics (hardware-notes/physics.md), the formats
 * (hardware-notes/file-formats.md), practice of the trade, or a measurement named beside it.
 */

// ---------------------------------------------------------------- Readings of resistance

/** Clips closer than this are one node (file-formats.md). */
export const JOINED_ohm: f32 = 2;
/** Contacts below this are merged before the inverse, which f32 would otherwise spoil (physics.md 2). */
export const MERGED_ohm: f32 = 5;
/** From here up a connection is a leak (file-formats.md) and parts stay apart. */
export const LEAK_ohm: f32 = 5e5;
/** Leaks above this are insulation. */
export const INSULATION_ohm: f32 = 2e8;
/** A leak below this is a warning, above a note (file-formats.md). */
export const LEAK_WARNING_ohm: f32 = 1e7;
/** A check is violated beyond this many standard uncertainties. */
export const VIOLATED_u: f32 = 4;
/** Readings of one pair that lie within this share of each other may be warmth or a wiped contact, not a lost one. */
export const SMALL_CHANGE: f32 = 0.02;

/** Joined clips read alike against a third one within this share: a hand warms a coil (physics.md 1), a contact comes and goes. */
export const JOINED_SHARE: f32 = 0.02;
/** Typed ohms from the first up and below the second are a coil's if kilohms were meant (2 to 25 kohm; common practice). */
export const KILOHM_LEAST: f32 = 1;
export const KILOHM_MOST: f32 = 100;
/**
 * Less than this is a coil of so many ohms, more is one of so many kilohms: half way, in logarithms, between 2.3 H and 1.5 mWb
 * at 4 kohm (physics.md 1 and 4) scaled to either, with the square of the ohms and with the ohms.
 */
export const OHMS_H_per_ohm2: f32 = 1.4e-4;
export const OHMS_Wb_per_ohm: f32 = 1.2e-5;
/** What a wrong digit of one typed reading may leave between it and the way round, as a share (judgement; a meter and warmth leave 3 %). */
export const MISREAD_SHARE: f32 = 0.1;
/** A way round that is shorter than the straight one by this share is no uncertainty any more but a wrong reading. */
export const ODD_SHARE: f32 = 0.05;

/** Of two ways between the same clips the ohms differ by no more than this factor, besides what is not known of them (judgement). */
export const WAYS_APART: f32 = 1.01;
/** A ratio of potentials known worse than this places no leak; one so far outside 0 to 1 is none of a winding (judgement). */
export const RATIO_MOST_u: f32 = 0.15;
export const RATIO_BEYOND: f32 = 0.1;

// ---------------------------------------------------------------- Trees and loops

/** A winding has at least this between its ends, a contact usually less: common practice, no published source. */
export const CONTACT_MOST_ohm: f32 = 100;
/** More than this is no winding: a coil has 2 to 25 kohm, three in series 75 (common practice, no published source). */
export const WINDING_MOST_ohm: f32 = 8e4;
/** A soldered tap has less than this: leads of 0.1 to 0.2 ohm. */
export const TAP_LEAD_ohm: f32 = 0.3;

// ---------------------------------------------------------------- Contacts

/** Less inductance than this for each ohm is a resistor: coils have 3e-4 and up (common practice, no published source). */
export const RESISTOR_H_per_ohm: f32 = 4e-5;
/** Of less resistance even a coil has less for each ohm: inductance goes with the square of the turns, resistance with the turns. */
export const RESISTOR_FULL_ohm: f32 = 1500;
/** An inductance of so many of its own uncertainties is there. */
export const WOUND_u: f32 = 3;
/** Inductance that a coil has for each ohm at least (common practice, no published source), and a coupling that no coil beside another has. */
export const COIL_H_per_ohm: f32 = 3e-4;
export const UNCOUPLED_k: f32 = 0.01;
/** A piece of wire below this share of another one, of which no inductance was read, is a contact rather than a tap. */
export const CONTACT_SHARE: f32 = 0.02;
/** A wire that is this many times any other one is no coil beside them when nothing drives it. */
export const UNLIKE: f32 = 2.5;

/** Wire that moved no steel is a contact beside a winding of so many times its ohms (judgement). */
export const BESIDE_CONTACT: f32 = 5;

// ---------------------------------------------------------------- Hidden points

/** Coils that touch, read as coils, couple less than this: side by side 0.05 to 0.2 (physics.md 1). */
export const APART_k: f32 = 0.2;

// ---------------------------------------------------------------- Clips where wires meet

/** Parts of one winding couple at least this much (physics.md 2). */
export const ONE_WINDING_k: f32 = 0.7;
/** and a factor is below that when it is so by this many of its standard uncertainties: small sections are read coarsely. */
export const BELOW_u: f32 = 3.5;
/** A third coil that is coupled to one piece, per root of its inductance, so many times as much as to the other sees two coils (judgement). */
export const UNEVEN_k: f32 = 2;
/** Hardly any stacked coils surpass this (physics.md 1: up to 0.95), and sections of one winding do (0.9 to 1): judgement between two ranges that meet. */
export const STACKED_MOST_k: f32 = 0.93;
/**
 * Coils beside each other, each with a place of its own, never couple as much: where only the frame lies between, it touches
 * a winding, which may well hold two coils with their junction inside.
 */
export const APART_MOST_k: f32 = 0.4;
/** Halves of the frame's junction within this ratio look like two sibling coils. */
export const SIBLINGS: f32 = 0.75;

// ---------------------------------------------------------------- Coupling and geometry

/**
 * Coupling factors up to the first are side by side, even of blades that share a plate (physics.md 1: 0.05 to 0.2; stacked
 * ones from 0.2 on, file-formats.md), unless touches say otherwise; beyond the second three coils prove nothing of each other.
 */
export const SIDE_k: f32 = 0.35;
export const STACKED_k: f32 = 0.3;
/** Nothing side by side couples as much as this, whatever a touch shows: 0.41 in the closest case (physics.md 5). */
export const STACKED_SURE_k: f32 = 0.5;
/** Of a touch on one of two stacked coils the other shows more than the first share, of two side by side less than the second. */
export const STACKED_SHARE: f32 = 0.25;
export const SIDE_SHARE: f32 = 0.15;
/** Stacked coils couple at least this much (file-formats.md). */
export const STACKED_LEAST_k: f32 = 0.2;
/** A coupling whose kind was said may be this far off. */
export const SAID_MOST_k: f32 = 0.4;
/** Coils side by side see up to 0.2 of each other's touches (physics.md 1), stacked ones most. */
export const CLOSE_SHARE: f32 = 0.5;
/** Inductance for each ohm of a usual coil, for a coupling factor without inductances: common practice, no published source. */
export const USUAL_H_per_ohm: f32 = 5.6e-4;
/** A mutual inductance counts from this many standard uncertainties. */
export const COUPLED_u: f32 = 4;

// ---------------------------------------------------------------- What one touch says of a winding

/** Share of a touch that other coils see, as a spread: about 8 % (common practice, no published source), up to 20. */
export const SHARE: f32 = 0.08;
export const SHARE_SPREAD: f32 = 0.12;
/** The same between coils coupled as stacked ones are. */
export const CLOSE_SPREAD: f32 = 0.7;
/** Relative error of a winding's own response. */
export const OWN_SPREAD: f32 = 0.04;
/** Spread of a meter's peak readings from one touch to the next. */
export const METER_SPREAD: f32 = 0.3;
/** A meter's peak times this is about the flux: it averages over 50 to 300 ms, of which a touch fills a part (physics.md 4). */
export const METER_s: f32 = 0.05;
/** What a meter does not show, as flux. */
export const METER_COUNT_Wb: f32 = 2.5e-5;
/**
 * Spread of a flux near the noise, in its own u: the largest of many filters' outputs below the first d, a settled
 * arrival above the second (measured on synthetic touches: 68 % within 3.2 u at d below 4.5, within 1.5 u from d = 6 on).
 */
export const NOISE_u: f32 = 3.2;
export const SETTLED_u: f32 = 1.6;
export const NOISE_d: f32 = 4.2;
export const SETTLED_d: f32 = 6.2;
/** One person's swing is worth at most 0.98 (file-formats.md). */
export const SWING_LOG_ODDS: f32 = 3.8918;
/** One touch is worth at most 0.9999 (file-formats.md). */
export const TOUCH_LOG_ODDS: f32 = 9.2102;
/** A winding is heard on channels that show at least this share of its emf. */
export const HEARD: f32 = 0.15;
/** and alone on channels that show at least this share of its own emf and less than the last one of any other's. */
export const ALONE: f32 = 0.9;
/** What a touch of the one of two stacked coils says of the other at most: 0.98, as sure as that they lie so. */
export const STACKED_LOG_ODDS: f32 = 3.8918;
/** ln of the usual flux, 1.5 mWb, and its spread over people: 0.2 to 15 mWb (physics.md 4). */
export const HAND_LOG: f32 = -6.502;
export const HAND_SPREAD: f32 = 1.1;
/** That is of coils of this many ohms (physics.md 1); of fewer ohms it goes with this power of them, between 1 and the root. */
export const HAND_ohm: f32 = 4000;
export const HAND_PER_OHM: f32 = 0.75;
/** The part of that between persons. */
export const HAND_BETWEEN: f32 = 0.85;
export const SHARE_LOG_SPREAD: f32 = 0.6;
export const UNUSUAL_MOST: f32 = 2.8;
/** A size that is a lower bound only may be off by this share of itself. */
export const BOUND_SPREAD: f32 = 0.5;
/** ln of how much likelier a swing of unknown size is on the touched coil than on one that sees its share: of these every second is noted (judgement). */
export const SHARE_UNSEEN: f32 = 0.7;
/** The same beside a swing of which the size was noted: of two it is the larger one that gets it (judgement). */
export const SHARE_BESIDE: f32 = 2;
/** ln odds of a touch that another coil shows more of than the touched one itself: no share is above 1. */
export const OUTDONE_LOG: f32 = 4;
/**
 * A touch was on a broken coil, or one that was not read, where the peak between clips that nothing connects is more than this share of
 * the highest along wires: of a sound coil's touch a neighbour sees 0.2 at most, and its break lets less than all of that through.
 */
export const APART_SHARE: f32 = 0.25;
/**
 * What is cut off at the range keeps its order, as far as ranges are alike: a lower bound that another one is above by this factor is
 * not likely the touched coil's, by these ln odds (measured on records made elsewhere: 18 of 20 such pairs).
 */
export const BOUND_OUTDONE: f32 = 1.25;
export const BOUND_OUTDONE_LOG: f32 = 2;
/** Only a coil's own touch goes over the range: ln odds of it on a channel that sees a share. */
export const OVERRANGE_LOG: f32 = 6;

// ---------------------------------------------------------------- The table of hearings

/** A touch says something of the hand when the winding it is taken for is this near the likeliest, ln. */
export const PLAUSIBLE: f32 = 2.5;
/** ln likelihood, against none, from which a touch says something of the hand. */
export const AUDIBLE: f32 = 2;

// ---------------------------------------------------------------- Networks judged by touches

/** ln odds by which one set must explain the touches better than another to be believed: 20 to 1. */
export const FITS_BETTER: f32 = 3;
/** Prior that a touch was on none of the windings at all, and sees all of them as shares. */
export const ELSEWHERE: f32 = 0.05;

// ---------------------------------------------------------------- Places, signs and mistakes

/**
 * Prior that a person touches the place that was asked for, each other winding, nothing at all: of touches in records made elsewhere
 * 0.7 to 3.1 % were on another place, 1.5 to 2.8 % on nothing.
 */
export const ASKED: f32 = 0.946;
export const MISTAKEN: f32 = 0.014;
export const NOTHING_TOUCHED: f32 = 0.04;
/** and, after a capture that began too late to hear steel come, that this one hears it leave most (11 of 56 on records made elsewhere). */
export const LEFT_BEHIND: f32 = 0.2;
/**
 * The same after a capture that heard no steel leave, though it may have come too slowly to be heard, where this one shows no lift by
 * itself: half as often as a slip.
 */
export const LEFT_ON: f32 = 0.01;
/** ln of the prior that a place has no winding when each place could have its own. */
export const NO_COIL_LOG: f32 = -8;
/**
 * The same with more coils than windings and no lead loose: a broken coil would leave one, but for a parallel pair's; and
 * with one loose, which a shield may be as well, and two.
 */
export const NO_COIL_NOWHERE_LOG: f32 = -3.2;
export const NO_COIL_ONE_LOOSE_LOG: f32 = -1;
export const NO_COIL_LOOSE_LOG: f32 = -0.2;
/** ln of the prior that two places have one winding: when each could have its own, and when two leads hang loose. */
export const SHARED_LOG: f32 = -5;
export const SHARED_LOOSE_LOG: f32 = -2;
/** ln of the prior that nobody touched a winding though its places were asked. */
export const UNDRIVEN_LOG: f32 = -2.5;
/**
 * Prior that coils inside one winding work together: 702 of 751 on records made elsewhere, and more in practice. So what was heard of
 * one of them is worth a plus of both, never a verdict "good".
 */
export const TOGETHER: f32 = 0.93;
/** Spread of ln flux of one person's own touches, and of what other coils see of one. */
export const SAME_HAND_SPREAD: f32 = 0.7;
export const SAME_SHARE_SPREAD: f32 = 0.92;
/** ln of how seldom a touch is not of a kind with the person's others: it slid off, or only came near; one in twenty (common practice). */
export const ODD_TOUCH: f32 = 3;
/** ln((0.85^2 + 0.7^2) / 0.7^2) and ln((0.85^2 + 0.92^2) / 0.92^2). */
export const OWN_LOG: f32 = 0.9061;
export const SHARE_LOG: f32 = 0.6172;
/** States this far below the heaviest, ln, add nothing. */
export const NEGLIGIBLE: f32 = 14;

// ---------------------------------------------------------------- What is read off the margins

/** Signs are never surer than this, 0.99999; and than 0.97 through a lead that lost contact during the test. */
export const SIGN_MOST: f32 = 11.5;
export const SHAKY_MOST: f32 = 3.476;
/** A place is given a winding from this probability; two places share one from the second each. */
export const PLACE_SURE: f32 = 0.9;
export const SHARED_SURE: f32 = 0.75;
/**
 * Which way a coil inside a winding is turned is told from this probability; that two work against each other from the second,
 * which wants what was heard to be 40 times likelier of such a pair (by TOGETHER).
 */
export const SENSE_SURE: f32 = 0.9;
export const OPPOSED_SURE: f32 = 0.76;
/** A hand that slipped is told from this probability; from the second where a sign is open, since then it may be why. */
export const SLIPPED_SURE: f32 = 0.5;
export const SLIPPED_SUSPECTED: f32 = 0.33;
/** What one hearing says of a sign is set against what others say from these ln odds. */
export const SAYS: f32 = 3;
/** So sure must the winding of a place be, where leads hang loose and a coil is missing, for a verdict "good". */
export const SETTLED_LOOSE: f32 = 0.85;
/** A touch is faint below these ln odds of any. */
export const FAINT: f32 = TOUCH_LOG_ODDS / 2;
/** A coil this sure after a faint touch all the same needs no other. */
export const SURE_ALL_THE_SAME: f32 = 0.95;

// ---------------------------------------------------------------- Magnets

/** Fields below this say nothing: the sensor's own offset (physics.md 6). */
export const FIELD_LEAST_T: f32 = 3e-3;
/** Coupling and both magnets together are right: a probe may be turned round. The same where stacked coils share a magnet by guess. */
export const RELATION: f32 = 0.98;
export const RELATION_GUESSED: f32 = 0.95;

// ---------------------------------------------------------------- Readings looked up

/** Uncertainty of an inductance or coupling that came without one: 2 % (physics.md 5: quote u_L of 2 % or more). */
export const ASSUMED_u: f32 = 0.02;
/** A touch speaks about a network when its flux is this many standard uncertainties. */
export const CLEAR_u: f32 = 12;

/** Readings of one thing that are further apart than so many standard uncertainties of each are of two. */
export const ASUNDER_u: f32 = 5;

// ---------------------------------------------------------------- Coils and bridges

/** IEC 60028:1925, copper: 0.00393 per kelvin at 20 C. */
export const COPPER_per_K: f32 = 0.00393;
/** Scale uncertainty of all resistances when the record does not say: a 0.1 % reference (physics.md 7). */
export const SCALE_u: f32 = 0.0006;
/** Plus and minus are given from this probability; below it null is better: of 40 that simulators' records gave between 0.9 and it, 5 were wrong. */
export const SIGN_GIVEN: f32 = 0.92;
/** A contact of more ohms than this is believed only where nothing around it was filled in. */
export const BELIEVED_CONTACT_ohm: f32 = 500;

// ---------------------------------------------------------------- Coils against each other

/** Siblings differ from these ratios on (file-formats.md: 25 % in R, 15 % in L/R^2). */
export const RESISTANCE_RATIO: f32 = 1.25;
export const INDUCTANCE_RATIO: f32 = 1.15;
/** Shorted turns are told from this estimated share of the turns on. */
export const SHORTED_LEAST: f32 = 0.05;
/** and only when its resistance is not above the sibling's by more than coils differ anyway. */
export const SHORTED_MOST_R: f32 = 1.03;
/** Less inductance than this of what the shorted turns leave is not theirs. */
export const SHORTED_LEAST_L: f32 = 0.6;
/** A loss alone is told when it is this much of what shorted turns would make, and this many times the sibling's. */
export const LOSS_ALONE: f32 = 0.1;
export const LOSS_RATIO: f32 = 4;
/** A piece of a tapped winding with less than one part in this many of its wire says little of the whole. */
export const TAPPED_MOST: f32 = 2;

// ---------------------------------------------------------------- Losses and shorted turns by the ring

/** Uncertainties of a record that does not say, as shares. */
export const ASSUMED_u_loss: f32 = 0.01;
export const ASSUMED_u_total: f32 = 0.02;
export const ASSUMED_u_fixture: f32 = 0.05;
/**
 * What one loss across one coil leaves out of a real ring, as a share of the loss: the converter's codes under a cover (1.3 to 1.9 % too
 * little is read), the second coil's own capacitance beside a loss of 700 kilohm and more (1 to 2 % too much); whole tests on the virtual bench.
 */
export const MODEL_u_loss: f32 = 0.01;
/**
 * What a coil that was left open beside it adds to a ring's time of loss, as a share for each square of the coupling; and a coupling that nobody
 * read. Whole tests of three like coils on the virtual bench: 0.6 % more at 0.05, 2.0 % at 0.1, 11 % at 0.2 (rings.md).
 */
export const OPEN_LOSS: f32 = 2.7;
export const OPEN_USUAL_k: f32 = 0.1;
/** A fit that leaves more than this of the peak is no single loop of loss: the capacitance is worth 20 pF, no more. */
export const SIMPLE_most: f32 = 3e-3;
export const NOT_SIMPLE_u_F: f32 = 2e-11;
/** More than this, and no two-pole ring is left: heavy loss, no numbers. */
export const RING_most: f32 = 1e-2;
/** What model, fixture and ADC leave of a time of loss at best, seconds: 0.06 % of the turns of 4 kilohm and 2.3 henry. */
export const TAU_FLOOR_s: f32 = 4e-7;
/** Losses and inductances of like coils lie 10 % and 3 % apart (one sigma), so ln(tau1/tau2) 0.104; 0.3 % are 2.97 of these apart. */
export const ALIKE_u: f32 = 0.104;
export const APART: f32 = 2.97;
/** Like coils differ less in resistance (judgement). */
export const ALIKE_ohm: f32 = 1.25;
/** No coil without a cover loses as much as this resistance across its inductance does (from memory: 100 kilohm to 1 megohm). */
export const BARE_least_ohm: f32 = 99000;
/** Of a bare coil with a usual core: what is more than its loss is the turns'. */
export const USUAL_ohm: f32 = 250000;

// ---------------------------------------------------------------- Verdict and broken wires

/** A sign is set against couplings and magnets from these ln odds on: 0.95. */
export const KNOWN_SIGN: f32 = 2.94;
/** A verdict "good" wants each sign at least this sure. */
export const GOOD_SIGN: f32 = 0.95;
/** Some place is said to have no coil from this probability. */
export const BARE_SURE: f32 = 0.7;
/** Below this both places were heard on one winding: what peaks between it and a spare lead is no missing coil's. */
export const BARE_LEAST: f32 = 0.05;
/** Odds of a sign that something was heard of, ln. */
export const HEARD_SIGN: f32 = 0.2;
/** Between two loose leads this is a broken wire's capacitive peak (physics.md 4: 5 mV and more), not noise. */
export const ALIVE_LOG_ODDS: f32 = 6;
export const ALIVE_d: f32 = 20;
export const ALIVE_V: f32 = 0.004;
