/** What a finding or an open question is called in one plain sentence: what was seen, what to do. */
import type { WireMapPart } from '../wiremap/wiremap.ts';
import { Calibrated, CoilText, ConverterFault, FindingText, Note, UnknownText } from '../logic/layout.generated.ts';

/** A finding's numbers, with the names that the sentence needs. */
export interface FindingFacts {
  readonly text: number;
  /** Name of the coil concerned, '' when none. */
  readonly coil: string;
  readonly otherCoil: string;
  readonly place: string;
  /** Another place that the finding is about, '' when none. */
  readonly otherPlace: string;
  readonly clips: readonly number[];
  /** Whether these clips are one node. */
  readonly areJoined: boolean;
  /** What is inside the coil, where it has a hidden junction. */
  readonly parts: readonly WireMapPart[];
  /** Of the coil, from `countedFrom`; null when it could not be placed. */
  readonly fraction: number | null;
  /** The end that the fraction counts from: `its minus (clip 1)`. */
  readonly countedFrom: string;
  /** The end of the other coil that its fraction counts from. */
  readonly otherCountedFrom: string;
  readonly value: number;
  readonly value2: number;
  readonly value3: number;
}

/** An open question's subjects, with the names that the sentence needs. */
export interface UnknownFacts {
  readonly text: number;
  readonly coil: string;
  readonly otherCoil: string;
  readonly place: string;
  readonly clips: readonly number[];
  readonly clips2: readonly number[];
}

/** `clip 1`, `clips 1 and 2`. */
export function clipsInWords(clips: readonly number[]): string {
  if (clips.length === 0) return 'no clip';
  if (clips.length === 1) return `clip ${clips[0]}`;
  return `clips ${clips.slice(0, -1).join(', ')} and ${clips.at(-1)}`;
}

/** Ohms as a person writes them: `0.5 ohm`, `4.13 kilohm`, `12 megohm`. */
export function ohmsInWords(ohm: number): string {
  if (ohm >= 1e6) return `${Number((ohm / 1e6).toPrecision(3))} megohm`;
  if (ohm >= 1e4) return `${Number((ohm / 1e3).toPrecision(3))} kilohm`;
  return `${Number(ohm.toPrecision(ohm < 10 ? 2 : 4))} ohm`;
}

/** A reading, 0 for one that was open. */
function ohmsOrOpen(ohm: number): string {
  return ohm > 0 ? ohmsInWords(ohm) : 'open';
}

/** A loss as a resistance across the inductance; 0 is too little to tell. */
function lossInWords(ohm: number): string {
  return ohm > 0 ? ohmsInWords(ohm) : 'too little to tell';
}

function percent(share: number): string {
  return `${Number((share * 100).toPrecision(2))} %`;
}

function where(facts: FindingFacts): string {
  return facts.fraction === null
    ? ''
    : ` at ${percent(facts.fraction)} of its winding counted from ${facts.countedFrom}`;
}

/** A place, or the coil, or words for neither. */
function spot({ place, coil }: { readonly place: string; readonly coil: string }): string {
  if (place !== '') return `the place "${place}"`;
  return coil === '' ? 'a place that was not noted' : coil;
}

/** Only a magnet of its own turns one coil alone. */
const TURN_ONE = 'turn the magnet of one (one that both share would turn both and cure nothing)';

/** ` (N at "upper", S at "lower")`, or nothing where a pole was not read. */
function polesInWords(parts: readonly WireMapPart[]): string {
  if (parts.length === 0 || parts.some(({ pole }) => pole === null)) return '';
  return ` (${parts.map(({ place, pole }) => `${pole} at "${place}"`).join(', ')})`;
}

/**
 * What brings two opposed coils with a hidden junction together. At the far end the string of a coil is s, its hum s times
 * its pole (file-formats.md, "Sign conventions"). Poles that differ: exchanged ends turn s, and both are in phase with hum
 * cancelled; a turned magnet turns s and the pole, which leaves the hum. Equal poles: the other way round.
 */
function outOfPhaseCure(parts: readonly WireMapPart[]): string {
  const [a, b, third] = parts.map(({ pole }) => pole);
  if (a == null || b == null || third !== undefined) {
    return 'read the poles at its places, and where they differ exchange the ends of one coil inside, where they are equal turn the magnet of one, if it has its own.';
  }
  return a === b
    ? `${TURN_ONE}; exchanged ends would put them in phase but add their hum.`
    : 'exchange the ends of one of them inside, after which hum cancels too; a turned magnet would leave the hum.';
}

/** A whole coil of less is rare (common practice, no published source); more than the second is none (`WINDING_MOST_ohm` of the solver). */
const COIL_least_ohm = 1000;
const COIL_most_ohm = 8e4;

type Sentence = (facts: FindingFacts) => string;

const FINDING: Record<number, Sentence> = {
  [FindingText.bridgeToChassis]: (f) =>
    `${f.coil} touches the frame inside${where(f)}, nearest to ${clipsInWords(f.clips.slice(1, 2))} (contact of ${ohmsInWords(f.value)}): ` +
    'open the pickup there and insulate the winding, or replace the coil.',
  [FindingText.bridgeToClip]: (f) =>
    `The lead on ${clipsInWords(f.clips.slice(0, 1))} hangs on the winding of ${f.coil}${where(f)} by ${ohmsInWords(f.value)}: ` +
    'this is no sound lead of the pickup; look for bare wire where the leads enter, and insulate it.',
  [FindingText.bridgeAtEnd]: (f) =>
    f.value >= COIL_least_ohm && f.value <= COIL_most_ohm
      ? `${cap(clipsInWords(f.clips))} are connected by ${ohmsInWords(f.value)}, and nothing that was read makes a coil of it: if one may lie there, ` +
        'touch every place and test again; if it stays silent, look for a bad solder joint or a stray strand where these leads end, and mend it.'
      : `${cap(clipsInWords(f.clips))} are connected by ${ohmsInWords(f.value)}, too much for a joint and too ${f.value > COIL_most_ohm ? 'much' : 'little'} for a coil: ` +
    'look for a bad solder joint or a stray strand where these leads end, and mend it.',
  [FindingText.bridgeBetweenCoils]: (f) =>
    `${f.coil}${where(f)} touches ${f.otherCoil}${f.value3 >= 0 ? ` at ${percent(f.value3)} of its winding counted from ${f.otherCountedFrom}` : ''} ` +
    `(contact of ${ohmsInWords(f.value)}): separate and insulate the two windings, or replace a coil.`,
  [FindingText.bridgeUnplaced]: (f) =>
    `${cap(clipsInWords(f.clips))} are connected by a bridge of ${ohmsInWords(f.value)} whose place the readings cannot tell: ` +
    'look for bare wire between these leads inside the pickup.',
  [FindingText.leakToChassis]: (f) =>
    `${ohmsInWords(f.value)} leak between the frame (${clipsInWords(f.clips.slice(0, 1))}) and ` +
    `${f.coil === '' ? clipsInWords(f.clips.slice(1)) : `${f.coil}${where(f)}`}: dry and clean the pickup and test again; ` +
    'if it stays, the insulation is hurt.',
  [FindingText.leakBetween]: (f) =>
    `${ohmsInWords(f.value)} leak between ${clipsInWords(f.clips)}: dry and clean the leads and test again; if it stays, the insulation is hurt.`,
  [FindingText.openPeaks]: (f) =>
    `Touches are heard between ${clipsInWords(f.clips)}, where nothing conducts: the winding between them is broken; ` +
    'look for a torn wire where the leads are soldered to the coil, else have it rewound.',
  [FindingText.openNoCoil]: (f) => {
    const loose = `${clipsInWords(f.clips)} ${f.clips.length === 1 ? 'is' : 'are'} connected to ${f.areJoined ? 'each other and to nothing else' : 'nothing'}`;
    // Leads that touch each other short the coil between them, which then looks as if it were not there.
    const look = `look for ${f.areJoined ? 'bare wire or a stray strand that joins these leads, then for ' : ''}a torn wire where the leads are soldered to`;
    const silent = `stays silent ${look} its coil.`;
    // A place that was touched beside its pole is as silent as one whose coil is broken, and a lone lead may be a frame's.
    if (f.place !== '') {
      return `Touches at ${spot(f)} drive no coil, and ${loose}: most likely a coil there is broken; touch that place again, ` +
        `firmly on the pole, and if it ${silent}`;
    }
    return f.value > 0
      ? `Some touches drive no coil, and ${loose}: most likely a coil is broken; touch each place once more, firmly, and where one ${silent}`
      : `${cap(loose)}, and no coil was found: ${look} the coil.`;
  },
  [FindingText.shortedTurns]: (f) =>
    `${f.coil} has shorted turns, about ${percent(f.value)} of them: its inductance is ${percent(f.value2)} of ${f.otherCoil || 'its sibling'} ` +
    `and its loss ${ohmsInWords(f.value3)}; replace or rewind the coil.`,
  [FindingText.lossAlone]: (f) =>
    `${f.coil} loses as much as ${ohmsInWords(f.value3)} across its inductance would: without a metal cover that is shorted turns, ` +
    `about ${percent(f.value)} of them, and the coil is to be replaced or rewound; under a cover it may be sound.`,
  [FindingText.contactLost]: (f) =>
    `${cap(clipsInWords(f.clips))} read ${ohmsInWords(f.value)} at one time and open at another: ` +
    'seat the clips and test again; if it comes back, a joint or the lead is broken inside.',
  [FindingText.contactBurst]: (f) =>
    `${f.clips.length === 1 ? `Clip ${f.clips[0]}` : `One of ${clipsInWords(f.clips)}`} lost contact during the touch at ${spot(f)}: ` +
    'seat the clips and test again; if it comes back, a joint or the lead is broken inside.',
  [FindingText.readingsApart]: (f) =>
    `${cap(clipsInWords(f.clips))} read ${ohmsInWords(f.value)} at one time and ${ohmsInWords(f.value2)} at another: ` +
    'seat the clips and test again; if it comes back, a joint or the lead is bad.',
  [FindingText.liveVoltage]: (f) =>
    `${signed(f.value)} V stood on ${clipsInWords(f.clips.slice(0, 1))} against ${clipsInWords(f.clips.slice(1))} before anything was driven, ` +
    'so nothing was: take the pickup out of its circuit, batteries and amplifier off, and test again.',
  [FindingText.joinedClips]: (f) =>
    `${cap(clipsInWords(f.clips))} are joined: any of them stands for the others.`,
  [FindingText.chassisTied]: (f) =>
    `The frame (${clipsInWords(f.clips.slice(0, 1))}) is tied to ${clipsInWords(f.clips.slice(1))}, an end of a coil: that end must go to ground.`,
  [FindingText.resistanceDiffers]: (f) =>
    `${f.coil} has ${f.value.toFixed(2)} times the resistance of ${f.otherCoil}: coils of one pickup are usually alike; ` +
    'check that both are meant to be so before you fit it.',
  [FindingText.inductanceDiffers]: (f) =>
    `For its resistance ${f.otherCoil} has little inductance; ${f.coil} has ${f.value.toFixed(2)} times as much, compared so: ` +
    'shorted turns look like this; compare with a coil known to be sound.',
  [FindingText.lossDiffers]: (f) =>
    `${f.coil} loses more in its core than ${f.otherCoil} (${lossInWords(f.value)} against ${lossInWords(f.value2)}): ` +
    `other metal in its core does this, and shorted turns do${f.value3 > 0 ? ` (about ${percent(f.value3)} of them)` : ''}; ` +
    'compare with a coil known to be sound.',
  [FindingText.polesEqual]: (f) =>
    f.otherCoil === ''
      ? `${f.coil} holds two coils of one pole${polesInWords(f.parts)}, which add their hum; to cancel it, ${TURN_ONE}, and exchange the ends of that coil inside.`
      : `${f.coil} and ${f.otherCoil} show the same pole: they add their hum, and no exchange of leads changes that; to cancel it, ${TURN_ONE}, ` +
        'whose plus and minus then exchange, and test again.',
  [FindingText.triangleBroken]: (f) =>
    `${cap(clipsInWords(f.clips.slice(0, 2)))} read ${ohmsInWords(f.value)}, more than by way of ${clipsInWords(f.clips.slice(2))} ` +
    `(${ohmsInWords(f.value2)}), which cannot be: seat the clips and read them again.`,
  [FindingText.networkImpossible]: (f) =>
    `No network of coils gives the readings among ${clipsInWords(f.clips)} (off by ${f.value.toPrecision(2)} times the uncertainty): ` +
    'seat the clips and test again.',
  [FindingText.openInside]: (f) =>
    `${cap(clipsInWords(f.clips.slice(0, 2)))} read open above ${ohmsInWords(f.value)}, but ${ohmsInWords(f.value2)} by way of ` +
    `${clipsInWords(f.clips.slice(2))}: seat the clips and test again.`,
  [FindingText.signsDisagree]: (f) =>
    `Touches of ${f.coil} contradict each other about plus and minus: touch it again with plain steel, once and firmly, with the magnet probe away.`,
  [FindingText.placesDisagree]: (f) =>
    `The touch asked for at ${spot({ ...f, coil: '' })} was heard on ${f.coil === '' ? 'another coil' : f.coil}` +
    `${f.otherPlace === '' ? '' : `, as was the one at ${spot({ place: f.otherPlace, coil: '' })}`}: ` +
    'one of the touches was on the wrong place; touch again where the light asks, one coil at a time.',
  [FindingText.polesDisagree]: (f) =>
    `Coupling and magnet readings say different things about the poles of ${f.coil} and ${f.otherCoil}: ` +
    'read the magnets again; if it stays, the coils may be stacked and not side by side.',
  [FindingText.magnetsDisagree]: (f) =>
    `Magnet readings at ${spot(f)} contradict each other: hold the probe flat on the face, over that coil alone, and read again.`,
  [FindingText.couplingImpossible]: (f) =>
    `The couplings of ${[f.coil, f.otherCoil].filter((name) => name !== '').join(' and ')} with the others contradict each other: test again; ` +
    'if it stays, the coils may not lie side by side.',
  [FindingText.inductanceDisagree]: (f) =>
    `Readings of the inductance of ${f.coil} differ (${f.value.toPrecision(3)} and ${f.value2.toPrecision(3)} henry): test again.`,
  [FindingText.joinedApart]: (f) =>
    `${cap(clipsInWords(f.clips.slice(0, 2)))} are joined, yet against ${clipsInWords(f.clips.slice(2))} one reads ${ohmsOrOpen(f.value)} ` +
    `and the other ${ohmsOrOpen(f.value2)}: read both again.`,
  [FindingText.swingMisplaced]: (f) =>
    `A swing at ${spot({ ...f, coil: '' })}${f.coil === '' ? '' : ` across ${f.coil}`} does not fit the others: ` +
    'it may have been noted at the wrong place or across the wrong leads; touch there once more and look at each coil.',
  [FindingText.overrangeTouch]: (f) =>
    `The touch at ${spot(f)} was stronger than the tester can follow: the sign holds, the size is a lower bound; touch more gently to have it all.`,
  [FindingText.weakTouch]: (f) =>
    `The touch at ${spot(f)} was too faint to be sure of plus and minus: touch again with a larger piece of steel, faster, right on the pole.`,
  [FindingText.noTouch]: (f) =>
    `No touch was seen at ${spot(f)}: touch again with a larger piece of steel, right on the pole, or look for a broken coil.`,
  [FindingText.hiddenOutOfPhase]: (f) =>
    `${f.coil} holds two coils that work against each other${polesInWords(f.parts)}: ${outOfPhaseCure(f.parts)}`,
  [FindingText.linkOutOfPhase]: (f) =>
    `${f.coil} and ${f.otherCoil} meet at ${clipsInWords(f.clips)} with the same polarity: do not use them in series through this link; ` +
    'in parallel they are in phase.',
};

/** A finding as one sentence. */
export function findingSentence(facts: FindingFacts): string {
  const sentence = FINDING[facts.text];
  if (sentence === undefined) throw new Error(`finding text ${facts.text} has no sentence`);
  return sentence(facts);
}

const UNKNOWN: Record<number, (facts: UnknownFacts) => string> = {
  [UnknownText.polarityNoTouch]: (u) =>
    `Plus and minus of ${u.coil}: no touch or swing drove it; test again and touch it with steel.`,
  [UnknownText.polarityFaint]: (u) =>
    `Plus and minus of ${u.coil}: what drove it was too faint or contradicts itself; touch it again with a larger piece of steel.`,
  [UnknownText.polarityNeighbour]: (u) =>
    `Plus and minus of ${u.coil}: the swing at ${spot({ ...u, coil: '' })} may be no more than a share of ${u.otherCoil}, of which nothing was noted there; ` +
    `touch there again with the meter on ${clipsInWords(u.clips)}.`,
  [UnknownText.polarityUnread]: (u) =>
    `Plus and minus of ${u.coil}: its swing may belong to a coil among ${clipsInWords(u.clips)}, which were not read; read that resistance first.`,
  [UnknownText.polarityDisagrees]: (u) =>
    `Plus and minus of ${u.coil}: what was seen of it contradicts itself, so one swing was seen or noted wrong; touch it once more with the meter on ${clipsInWords(u.clips)}.`,
  [UnknownText.polarityUnlistened]: (u) =>
    `Plus and minus of ${u.coil}: nothing was noted of it at ${spot({ ...u, coil: '' })}; touch there with the meter on ${clipsInWords(u.clips)}.`,
  [UnknownText.polarityShared]: (u) =>
    `Plus and minus of ${u.coil}: it and ${u.otherCoil} both swung at ${spot({ ...u, coil: '' })}; touch there again and note how large each swing is: ` +
    'the larger one is that of the touched coil.',
  [UnknownText.polarityOpposed]: (u) =>
    `Plus and minus of ${u.coil}: its places drove it opposite ways, once each; either two coils in it work against each other or one swing was noted wrong; ` +
    'touch each place once more.',
  [UnknownText.readingsOdd]: (u) =>
    `Plus and minus of ${u.coil} (${clipsInWords(u.clips)}): resistances here contradict each other, so one was read or typed wrong; read those again first.`,
  [UnknownText.oppositeSwings]: (u) =>
    `Plus and minus of ${u.coil} and ${u.otherCoil}: the swings on both sides of ${clipsInWords(u.clips)} go opposite ways, so this is no tap of one winding; ` +
    'either two coils lie one over the other or a swing was noted wrong; touch again and note how large each swing is.',
  [UnknownText.ohmsOrKilohms]: (u) =>
    `Whether ${clipsInWords(u.clips)} read ohms or kilohms: as ohms that is too little for a coil; look at the meter's range and read once more.`,
  [UnknownText.kilohmsTaken]: (u) =>
    `Whether ${clipsInWords(u.clips)} read kilohms: they were typed as ohms and are taken as kilohms, since only so do they fit the readings beside them; read once more.`,
  [UnknownText.poleUnknown]: (u) =>
    `The pole of ${u.coil} and the sense of its winding: no magnet reading is known to be its own; hold the probe or a compass to its face.`,
  [UnknownText.placeUnknown]: (u) =>
    `Where ${u.coil} sits: no touch tells; touch each place by itself and look at every coil.`,
  [UnknownText.isolatedClips]: (u) =>
    `What ${clipsInWords(u.clips)} ${u.clips.length === 1 ? 'is' : 'are'}: connected to nothing; a shield, a spare and a broken lead look the same; look inside.`,
  [UnknownText.pairNotRead]: (u) =>
    `Whether ${clipsInWords(u.clips)} and ${clipsInWords(u.clips2)} are connected: nothing was read between them; read one resistance there.`,
  [UnknownText.readingsMissing]: (u) =>
    `Some pairs among ${clipsInWords(u.clips)} were not read: the simplest reading is shown; read the missing pairs to be sure.`,
  [UnknownText.starOrDelta]: (u) =>
    `Whether the three coils among ${clipsInWords(u.clips)} form a ring, as listed, or a star with a hidden middle: resistances cannot tell; look inside.`,
  [UnknownText.deltaOrStar]: (u) =>
    `Whether the three coils among ${clipsInWords(u.clips)} form a star with a hidden middle, as listed, or a ring: resistances cannot tell; look inside.`,
  [UnknownText.tapOrLink]: (u) =>
    `Whether ${u.coil} and ${u.otherCoil} are one tapped winding or two coils with their link brought out: touch each place by itself, or look inside.`,
  [UnknownText.bridgeOrLink]: (u) =>
    `Whether ${u.coil} touches the frame inside, as listed, or two coils meet at the frame (${clipsInWords(u.clips)}): touch each place by itself, or look inside.`,
  [UnknownText.linkOrBridge]: (u) =>
    `Whether ${u.coil} and ${u.otherCoil} are two coils that meet at the frame, as listed, or one winding that touches the frame: touch each place by itself, or look inside.`,
  [UnknownText.bridgeOrTap]: (u) =>
    `Whether ${clipsInWords(u.clips)} ${u.clips.length === 1 ? 'is' : 'are'} a tap of ${u.coil || 'a coil'} with resistance in its lead, or a contact inside the winding: look inside.`,
  [UnknownText.hiddenOrSingle]: (u) =>
    `Whether ${u.coil} is one coil or two with a hidden junction: touch each place by itself, or look inside.`,
  [UnknownText.polesDiffer]: (u) =>
    `Whether the poles of ${u.coil} and ${u.otherCoil} differ, and with it whether together they cancel hum: hold the probe or a compass to both faces.`,
  [UnknownText.stackedOrSide]: (u) =>
    `Whether ${u.coil} and ${u.otherCoil} are stacked or side by side: look at the pickup.`,
  [UnknownText.heardUnread]: (u) =>
    `Plus, minus, place and pole of ${u.coil}: its touches were heard across pairs of clips that were not read; read the missing pairs.`,
  [UnknownText.stackedInner]: (u) =>
    `Plus and minus of ${u.coil}: no steel reaches an inner stacked coil; it is wired by its coupling with the coil above it.`,
  [UnknownText.openLimitLow]: (u) =>
    `Whether something lies between ${clipsInWords(u.clips)} and ${clipsInWords(u.clips2)}: it was read as open only up to a low limit; read it again with a higher range.`,
  [UnknownText.pairingUnknown]: (u) =>
    `Which of ${clipsInWords(u.clips)} belong to one coil: read the resistances among them.`,
  [UnknownText.placeNoCoil]: (u) =>
    `What sits at ${spot({ place: u.place, coil: '' })}: touches there drove no coil; touch it again, or look for a broken coil.`,
  [UnknownText.networkUnsolved]: (u) =>
    `The coils among ${clipsInWords(u.clips)}: the readings fit no network; seat the clips and test again.`,
  [UnknownText.noResistances]: () =>
    'Everything about the coils: no resistance was read; read each pair of clips.',
  [UnknownText.evidenceFull]: () =>
    'What the last readings say: more was measured than the solver holds; start a new test.',
  [UnknownText.testCancelled]: () =>
    'What was left to measure: the test was stopped before its end; start it again to have the rest.',
  [UnknownText.coverOrTurns]: (u) =>
    `Whether turns of ${u.coil} are shorted: its loss is that of a metal cover too; say whether it has one, take it off, or compare with a like pickup.`,
  [UnknownText.turnsUnderCover]: (u) =>
    `Whether a few turns of ${u.coil} are shorted: alone under a metal cover nothing tells; take the cover off and test again.`,
  [UnknownText.ringNotSimple]: (u) =>
    `The capacitance of ${u.coil} to better than 20 pF: its ring is not that of one simple loss, as with steel or metal near it; the loss stands for this frequency only.`,
  [UnknownText.ringHeavy]: (u) =>
    `Capacitance and loss of ${u.coil}: it loses too much to ring as a coil does; look for metal round it, or shorted turns.`,
  [UnknownText.networkLoop]: (u) =>
    `How ${clipsInWords(u.clips)} are connected in full: they form a loop, and each stretch listed is the simplest network with these readings.`,
};

/** An open question as one sentence. */
export function unknownSentence(facts: UnknownFacts): string {
  const sentence = UNKNOWN[facts.text];
  if (sentence === undefined) throw new Error(`unknown text ${facts.text} has no sentence`);
  return sentence(facts);
}

const CONVERTER_FAULTS: Readonly<Record<number, string>> = {
  [ConverterFault.notReady]: 'it did not get ready after its reset, so it has no supply or a line to it is cut',
  [ConverterFault.otherPart]: 'another part than the one of this board answers',
  [ConverterFault.notSet]: 'it does not keep its settings',
  [ConverterFault.silent]: 'it did not end a conversion',
  [ConverterFault.disturbed]: 'its results came disturbed',
};

/** What is wrong with a converter that failed, in brackets behind a space, or an empty string. @param fault - `ConverterFault` */
export function converterFaultWords(fault: number): string {
  const why = CONVERTER_FAULTS[fault];
  return why === undefined ? '' : ` (${why})`;
}

const UNCALIBRATED: Readonly<Record<number, string>> = {
  [Calibrated.missing]:
    'How far all figures are off by the tester itself: its ohms were never calibrated, and all rest on the nominal values of its parts, as their uncertainties say; tapstone calibrate gives it its own.',
  [Calibrated.corrupt]:
    'How far all figures are off by the tester itself: its calibration is damaged and was not used, so they rest on the nominal values of its parts.',
  [Calibrated.old]:
    'How far all ohms are off by the tester itself: its calibration is more than a year old, as their wider uncertainties say; tapstone calibrate gives it a new one.',
};

/** What the tester's calibration leaves open. @param calibrated - `Calibrated` of the evidence */
export function calibrationSentences(calibrated: number): string[] {
  const sentence = UNCALIBRATED[calibrated];
  return sentence === undefined ? [] : [sentence];
}

/** Places at which something was asked for and did not come. */
export interface Missed {
  readonly touches: readonly string[];
  readonly magnets: readonly string[];
}

/**
 * Why a test ended early or left something out, where that is not the pickup's fault.
 * @param noteMask - bit n is `Note` n @param fault - `ConverterFault` of the evidence @param missed - places without a touch, without a magnet
 */
export function noteSentences(noteMask: number, fault: number, missed: Missed): string[] {
  const sentences: string[] = [];
  if (noteMask & (1 << Note.cancelled)) {
    sentences.push('Everything after the moment at which the test was broken off: start it again to know more.');
  } else if (noteMask & (1 << Note.timedOut)) {
    const { touches, magnets } = missed;
    sentences.push(...touches.map((place) => `What a touch at the place "${place}" shows: nobody touched there when the tester asked; test again.`));
    sentences.push(...magnets.map((place) => `What a magnet shows at the place "${place}": the wait for the probe was skipped, or the tester has none.`));
  }
  if (noteMask & (1 << Note.converterFailed)) {
    sentences.push(
      `Everything after the test ended early: the tester's converter did not answer as it must${converterFaultWords(fault)}; look at it with tapstone check, and test again.`,
    );
  }
  if (noteMask & (1 << Note.captureOverrun)) {
    sentences.push('What was listened to when samples were lost: the tester could not keep up; test again.');
  }
  return sentences;
}

/** What is said beside a coil, or undefined.
 * @param text - `CoilText` @param places - that drive it
 */
export function coilSentence(text: number, places: readonly string[]): string | undefined {
  const driven =
    places.length === 0
      ? 'touches'
      : `touches at ${places.map((place) => `"${place}"`).join(' and ')}`;
  switch (text) {
    case CoilText.hiddenInPhase:
      return `Two coils with a hidden junction: ${driven} drive it the same way.`;
    case CoilText.hiddenOutOfPhase:
      return `Two coils with a hidden junction: ${driven} drive it opposite ways.`;
    case CoilText.hiddenUnknown:
      return `More than one coil drives this stretch: ${driven} do, and which way could not be told.`;
    case CoilText.tappedSection:
      return 'Part of a tapped winding.';
    case CoilText.networkEdge:
      return 'One stretch of a network: the simplest one with these readings.';
    case CoilText.stackedInner:
      return 'The inner one of two stacked coils: it cannot be touched.';
    default:
      return undefined;
  }
}

function cap(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function signed(volts: number): string {
  return `${volts < 0 ? '' : '+'}${Number(volts.toPrecision(2))}`;
}
